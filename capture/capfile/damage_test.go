package capfile

import (
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"zombiezen.com/go/sqlite"
	"zombiezen.com/go/sqlite/sqlitex"
)

// copyCapture copies a capture and what stands beside it, as it is at this moment, into a new folder.
func copyCapture(t testing.TB, path string) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), filepath.Base(path))
	for _, suffix := range []string{"", "-wal", "-shm", sideSuffix} {
		b, err := os.ReadFile(path + suffix)
		if errors.Is(err, os.ErrNotExist) {
			continue
		}
		must(t, err)
		must(t, os.WriteFile(to+suffix, b, 0o644))
	}
	return to
}

// whole makes a capture of one file: closed, or with an unsealed tail in it.
func whole(t testing.TB, tail bool) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "a.capture")
	small(t, path, !tail)
	if !tail {
		return path
	}
	conn, err := sqlite.OpenConn(path, sqlite.OpenReadWrite)
	must(t, err)
	must(t, pragmas(conn, "wal_checkpoint(TRUNCATE)", "journal_mode=DELETE"))
	must(t, conn.Close())
	if p := verify(t, path); p.Tail < 3 {
		t.Fatalf("tail of %d rows, want at least 3", p.Tail)
	}
	return path
}

// TestChangedByte holds the promise of the format: after any changed byte either Verify fails or everything a
// Reader yields is as before.
func TestChangedByte(t *testing.T) {
	for name, tail := range map[string]bool{"closed": false, "with a tail": true} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			path := whole(t, tail)
			want := mustDump(t, path)
			good, err := os.ReadFile(path)
			must(t, err)
			side, err := os.ReadFile(path + sideSuffix)
			if !tail {
				side, err = nil, nil
			}
			must(t, err)
			caught, harmless, inBlocks := 0, 0, 0
			inBlock := bodiesIn(t, path, good)
			const step = 53 // prime to the page size, so that every kind of place is met
			changed := filepath.Join(t.TempDir(), "b.capture")
			for i := 0; i < len(good); i++ {
				// The file's header is tried byte by byte, the half-empty schema page thinly.
				if i >= 108 && i%step != 0 || i > 108 && i < 4096 && i%3 != 0 {
					continue
				}
				bad := bytes.Clone(good)
				bad[i] ^= 1 << (i * 7 % 8)
				for _, suffix := range []string{"-wal", "-shm", "-journal"} {
					os.Remove(changed + suffix)
				}
				must(t, os.WriteFile(changed, bad, 0o644))
				if side != nil {
					must(t, os.WriteFile(changed+sideSuffix, side, 0o644))
				}
				if inBlock(i) {
					inBlocks++
				}
				if _, err := Verify(context.Background(), changed); err != nil {
					caught++
					continue
				}
				harmless++
				if inBlock(i) {
					t.Errorf("byte %d is part of a block, and its change is not noticed", i)
				}
				if d := difference(want, mustDump(t, changed)); d != "" {
					t.Fatalf("byte %d: Verify passes, but the Reader yields (-want +got):\n%s", i, d)
				}
			}
			t.Logf("%d bytes: %d changes caught, %d harmless; %d in blocks", len(good), caught, harmless, inBlocks)
			if inBlocks < 50 {
				t.Errorf("only %d changes lay in a block", inBlocks)
			}
		})
	}
}

// bodiesIn tells the places in the file that hold a block's body, as far as it lies in one piece.
func bodiesIn(t *testing.T, path string, file []byte) func(int) bool {
	r, err := Open(path)
	must(t, err)
	defer r.Close()
	held := map[int]bool{}
	for i := range r.index.blocks {
		body, err := r.index.blocks[i].loadBody(r.body, nil)
		must(t, err)
		if at := bytes.Index(file, body); at >= 0 && bytes.Count(file, body) == 1 {
			for k := range body {
				held[at+k] = true
			}
		}
	}
	return func(i int) bool { return held[i] }
}

func TestTruncated(t *testing.T) {
	path := whole(t, false)
	want := mustDump(t, path)
	good, err := os.ReadFile(path)
	must(t, err)
	cut := filepath.Join(t.TempDir(), "b.capture")
	for n := 0; n < len(good); n += 701 {
		must(t, os.WriteFile(cut, good[:n], 0o644))
		if _, err := Verify(context.Background(), cut); err == nil {
			if d := cmp.Diff(want, mustDump(t, cut)); d != "" {
				t.Fatalf("%d of %d bytes: Verify passes, but (-want +got):\n%s", n, len(good), d)
			}
		}
	}
}

// TestDamagedBlock changes a byte in one block's body: the others still come, and the error names the place.
func TestDamagedBlock(t *testing.T) {
	path := whole(t, false)
	want := mustDump(t, path)
	r, err := Open(path)
	must(t, err)
	var hit blockRow
	for _, b := range r.index.blocks {
		if b.source == "probes" && b.run == 2 {
			hit = b
			break
		}
	}
	must(t, r.Close())
	change(t, path, "UPDATE body SET body = substr(body, 1, 20) || x'ff' || substr(body, 22) WHERE n = ?", hit.n)

	got, err := dumpOf(path)
	d, ok := errors.AsType[*DamageError](err)
	if !ok {
		t.Fatalf("reading gives %v, want a *DamageError", err)
	}
	if d.Block != int(hit.n) || d.Run != 2 || d.Source != "probes" || d.From.IsZero() || d.To.Before(d.From) {
		t.Errorf("damage told as %+v", d)
	}
	missing := len(want.Records) - len(got.Records)
	if missing != int(hit.count) {
		t.Errorf("%d records left out, the block holds %d", missing, hit.count)
	}
	if last := got.Records[len(got.Records)-1].Seq; last != uint64(len(want.Records)) {
		t.Errorf("last record %d, want %d", last, len(want.Records))
	}
	_, err = Verify(context.Background(), path)
	if b, ok := errors.AsType[*BrokenError](err); !ok || b.Block != int(hit.n) {
		t.Errorf("Verify: %v, want block %d named", err, hit.n)
	}
}

// change runs one statement on a capture, as somebody with an SQLite client would.
func change(t testing.TB, path, statement string, args ...any) {
	t.Helper()
	conn, err := sqlite.OpenConn(path, sqlite.OpenReadWrite)
	must(t, err)
	must(t, sqlitex.ExecuteTransient(conn, statement, &sqlitex.ExecOptions{Args: args}))
	must(t, conn.Close())
}

// TestTampered changes rows with an SQLite client.
func TestTampered(t *testing.T) {
	good := whole(t, true)
	last := verify(t, good).Blocks
	for name, c := range map[string]struct {
		statement string
		block     int
	}{
		"run":              {"UPDATE block SET run = 7 WHERE n = 3", 3},
		"source":           {"UPDATE block SET source = 'other' WHERE n = 2", 2},
		"time":             {"UPDATE block SET last_at = last_at + 1 WHERE n = 4", 4},
		"hash":             {"UPDATE block SET hash = zeroblob(32) WHERE n = 4", 4},
		"journal":          {"UPDATE body SET body = replace(body, 'Mill Row 0', 'Mill Row 9') WHERE n = 1", 1},
		"block gone":       {"DELETE FROM block WHERE n = 5", 5},
		"body gone":        {"DELETE FROM body WHERE n = 5", 5},
		"last block gone":  {"DELETE FROM block WHERE n = (SELECT max(n) FROM block)", last},
		"block added":      {"INSERT INTO block SELECT max(n)+1, grp, run, source, coding, first_seq, last_seq, first_at, last_at, count, body_hash, hash, hash FROM block", last + 1},
		"body added":       {"INSERT INTO body VALUES (99999, 'x')", 0},
		"tail row gone":    {"DELETE FROM tail WHERE n = 2", 0},
		"last tail gone":   {"DELETE FROM tail WHERE n = (SELECT max(n) FROM tail)", 0},
		"tail row changed": {"UPDATE tail SET body = body || x'00' WHERE n = 1", 0},
		"head":             {"UPDATE head SET records = records - 1", 0},
		"head gone":        {"DELETE FROM head", 0},
	} {
		t.Run(name, func(t *testing.T) {
			path := copyCapture(t, good)
			change(t, path, c.statement)
			_, err := Verify(t.Context(), path)
			if b, ok := errors.AsType[*BrokenError](err); !ok || b.Block != c.block {
				t.Errorf("Verify: %v, want a *BrokenError at block %d", err, c.block)
			}
		})
	}
	for name, c := range map[string]struct {
		statement string
		is        func(error) bool
	}{
		"newer": {"PRAGMA user_version = 2", func(err error) bool {
			v, ok := errors.AsType[*VersionError](err)
			return ok && v.Has == 2 && strings.Contains(err.Error(), "newer tundish")
		}},
		"magic":   {"PRAGMA application_id = 1", func(err error) bool { return errors.Is(err, ErrNotCapture) }},
		"trigger": {"CREATE TRIGGER x AFTER INSERT ON tail BEGIN DELETE FROM tail; END", func(err error) bool { return errors.Is(err, ErrNotCapture) }},
		"index":   {"CREATE INDEX x ON block (source)", func(err error) bool { return errors.Is(err, ErrNotCapture) }},
	} {
		t.Run(name, func(t *testing.T) {
			path := copyCapture(t, good)
			change(t, path, c.statement)
			if _, err := Open(path); !c.is(err) {
				t.Errorf("Open: %v", err)
			}
			if _, err := Continue(path, Options{}); !c.is(err) {
				t.Errorf("Continue: %v", err)
			}
		})
	}
}

// TestDamagedTail goes on with a capture whose tail was damaged: nothing is thrown away in silence.
func TestDamagedTail(t *testing.T) {
	good := whole(t, true)
	want := mustDump(t, good)
	r, err := Open(good)
	must(t, err)
	tail := r.index.tail
	must(t, r.Close())
	path := copyCapture(t, good)
	change(t, path, "UPDATE tail SET body = body || x'07' WHERE n = 1")
	w, err := Continue(path, Options{})
	must(t, err)
	must(t, w.Close())
	verify(t, path)
	got := mustDump(t, path)
	if lost := len(want.Records) - len(got.Records); lost != int(tail[0].records) || lost == 0 {
		t.Errorf("%d records lost, the row held %d", lost, tail[0].records)
	}
	if len(got.Losses) != 1 || !bytes.Equal(got.Losses[0].Bytes, append(bytes.Clone(tail[0].body), 7)) {
		t.Errorf("losses %+v, want the row's bytes", got.Losses)
	}

	path = copyCapture(t, good)
	change(t, path, "DELETE FROM tail WHERE n >= 2")
	w, err = Continue(path, Options{})
	must(t, err)
	must(t, w.Close())
	verify(t, path)
	if got = mustDump(t, path); len(got.Losses) == 0 || !strings.Contains(got.Losses[0].What, "lost: ") {
		t.Errorf("losses %+v, want the missing rows told", got.Losses)
	}
}

// TestAnyClient reads a capture with the sqlite3 command line client (Debian package sqlite3).
func TestAnyClient(t *testing.T) {
	client, err := exec.LookPath("sqlite3")
	if err != nil {
		t.Fatalf("this test needs the sqlite3 command line client (apt-get install sqlite3): %v", err)
	}
	path := whole(t, false)
	p := verify(t, path)
	ask := func(query string) string {
		t.Helper()
		out, err := exec.CommandContext(t.Context(), client, "-readonly", path, query).CombinedOutput()
		if err != nil {
			t.Fatalf("%s: %v: %s", query, err, out)
		}
		return strings.TrimSpace(string(out))
	}
	for query, want := range map[string]string{
		"PRAGMA integrity_check":                                     "ok",
		"PRAGMA application_id":                                      strconv.Itoa(applicationID),
		"PRAGMA journal_mode":                                        "delete",
		"SELECT count(*) FROM block":                                 strconv.Itoa(p.Blocks),
		"SELECT max(n) FROM block":                                   strconv.Itoa(p.Blocks),
		"SELECT sum(count) FROM block WHERE source <> ''":            strconv.FormatUint(p.Records, 10),
		"SELECT lower(hex(hash)) FROM block ORDER BY n DESC LIMIT 1": p.Head.String(),
		"SELECT lower(hex(hash)) FROM head":                          p.Head.String(),
		"SELECT count(*) FROM block a JOIN block b ON b.n = a.n + 1 WHERE b.prev <> a.hash": "0",
		"SELECT lower(hex(prev)) FROM block WHERE n = 1":                                    hex.EncodeToString(func() []byte { g := genesis(); return g[:] }()),
		"SELECT count(*) FROM journal WHERE lines LIKE '%householder: cold shower%'":        strconv.Itoa(strings.Count(ask("SELECT lines FROM journal"), "cold shower")),
	} {
		if got := ask(query); got != want {
			t.Errorf("%s: %s, want %s", query, got, want)
		}
	}
	text := ask("SELECT lines FROM journal")
	for _, want := range []string{`{"kind":"run-start","run":1,"run_kind":"record","program":"tundish test","started":"2026-01-12T12:00:00Z"`,
		`"text":"householder: cold shower"`, `{"kind":"run-end","run":1,"at_us":60000000,"text":"stopped"}`} {
		if !strings.Contains(text, want) {
			t.Errorf("journal lacks %s:\n%s", want, text)
		}
	}
}

// TestWrongNumbers: a number gone astray neither hides what stands before it nor makes a reader count for ever.
func TestWrongNumbers(t *testing.T) {
	good := whole(t, true)
	want := mustDump(t, good)
	for _, statement := range []string{
		"UPDATE block SET n = 1 << 60 WHERE n = (SELECT max(n) FROM block)",
		"UPDATE tail SET n = 1 << 60 WHERE n = (SELECT max(n) FROM tail)",
		"UPDATE head SET blocks = 1 << 60",
		"UPDATE head SET tail = 1 << 60",
	} {
		path := copyCapture(t, good)
		change(t, path, statement)
		if _, err := Verify(t.Context(), path); !isBroken(err) {
			t.Errorf("%s: Verify says %v", statement, err)
		}
		got, _ := dumpOf(path)
		if len(got.Records) < len(want.Records)-45 { // the last block, and the tail that no longer has it before it
			t.Errorf("%s: %d of %d records", statement, len(got.Records), len(want.Records))
		}
	}
}

// TestInterruptedClose: a rollback journal left by a kill in Close keeps a reader out with a clear word, and the
// next Continue mends it.
func TestInterruptedClose(t *testing.T) {
	path := whole(t, false)
	want := mustDump(t, path)
	conn, err := sqlite.OpenConn(path, sqlite.OpenReadWrite)
	must(t, err)
	must(t, pragmas(conn, "cache_size=1", "synchronous=FULL"))
	for _, q := range []string{"PRAGMA cache_spill=1", "BEGIN IMMEDIATE", "UPDATE body SET body = zeroblob(5000)", "UPDATE head SET records = 0"} {
		must(t, sqlitex.ExecuteTransient(conn, q, nil))
	}
	hot := filepath.Join(t.TempDir(), "a.capture")
	for _, suffix := range []string{"", "-journal"} {
		b, err := os.ReadFile(path + suffix)
		must(t, err)
		must(t, os.WriteFile(hot+suffix, b, 0o644))
	}
	must(t, conn.Close())
	if _, err := Open(hot); !errors.Is(err, ErrReadOnly) || !strings.Contains(err.Error(), "go on recording") {
		t.Errorf("Open says %v", err)
	}
	w, err := Continue(hot, Options{})
	must(t, err)
	must(t, w.Close())
	verify(t, hot)
	if d := difference(want.Records, mustDump(t, hot).Records); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

// TestContinueRefuses leaves a capture with a broken block as it is.
func TestContinueRefuses(t *testing.T) {
	path := whole(t, false)
	change(t, path, "UPDATE block SET run = 7 WHERE n = 3")
	before, err := os.ReadFile(path)
	must(t, err)
	if _, err := Continue(path, Options{}); !isBroken(err) {
		t.Errorf("Continue says %v", err)
	}
	after, err := os.ReadFile(path)
	must(t, err)
	if names := leftBeside(t, path); !bytes.Equal(before, after) || names != nil {
		t.Errorf("the refused capture was changed, or has beside it %v", names)
	}
}
