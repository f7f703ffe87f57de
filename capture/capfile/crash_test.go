package capfile

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tundish/capture"
)

// TestStateMachine appends, commits, kills, closes and goes on at random, against a slice as the model. A kill
// copies the files as they are at that moment to a new folder and goes on there.
func TestStateMachine(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		path := filepath.Join(t.TempDir(), "a.capture")
		opt := Options{BlockRecords: rapid.SampledFrom([]int{1, 3, 10}).Draw(rt, "block")}
		w, err := Create(path, opt)
		must(t, err)
		defer func() { w.release() }()
		var durable, taken []capture.Record
		run := startRun(t, w, Record, noon)
		must(t, w.Commit())
		goOn := func() {
			var err error
			if w, err = Continue(path, opt); err != nil {
				rt.Fatal(err)
			}
			run = startRun(t, w, Record, noon)
			must(t, w.Commit())
		}
		rt.Repeat(map[string]func(*rapid.T){
			"append": func(rt *rapid.T) {
				for range rapid.IntRange(1, 8).Draw(rt, "n") {
					rec := drawRecord(rt, run)
					before := w.Head()
					must(t, w.Append(rec))
					if w.Head() != before { // it sealed what was there
						durable = append(durable[:0], taken...)
					}
					taken = append(taken, rec)
				}
			},
			"mark": func(rt *rapid.T) { must(t, w.Mark(run, 0, "mark")) },
			"commit": func(rt *rapid.T) {
				must(t, w.Commit())
				durable = append(durable[:0], taken...)
			},
			"kill": func(rt *rapid.T) {
				path = copyCapture(t, path)
				must(t, w.release())
				goOn()
				// A seal inside a journal entry may have made more durable than the model knows.
				taken = taken[:w.Head().Records]
				if len(taken) < len(durable) {
					rt.Fatalf("%d records after a kill, %d were committed", len(taken), len(durable))
				}
				durable = append(durable[:0], taken...)
			},
			"close": func(rt *rapid.T) {
				must(t, w.Close())
				same(t, mustDump(t, path).Records, taken)
				if p := verify(t, path); !p.Closed {
					rt.Fatalf("closed capture: %+v", p)
				}
				durable = append(durable[:0], taken...)
				goOn()
			},
			"": func(rt *rapid.T) {
				got := mustDump(t, path)
				if len(got.Losses) > 0 || len(got.Records) < len(durable) {
					rt.Fatalf("losses %+v; %d records, %d committed", got.Losses, len(got.Records), len(durable))
				}
				same(t, got.Records, taken[:len(got.Records)])
			},
		})
	})
}

// TestPowerCut cuts the write-ahead log at random lengths: what remains is a prefix, and both Verify and Continue
// tell that something is lost.
func TestPowerCut(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.capture")
	w := create(t, path, 30)
	run := startRun(t, w, Record, noon)
	want := system(run, 0, 40, rand.New(rand.NewPCG(3, 3)))
	for i, rec := range want {
		must(t, w.Append(rec))
		if i%7 == 0 {
			must(t, w.Commit())
		}
	}
	must(t, w.Commit())
	must(t, w.Sheet(run, "not committed", nil))
	if p := verify(t, path); p.Records != uint64(len(want)) {
		t.Fatalf("%d records before the cut, want %d", p.Records, len(want))
	}
	files := copyCapture(t, path)
	must(t, w.release())
	wal, err := os.ReadFile(files + "-wal")
	must(t, err)
	if len(wal) < 20*4096 {
		t.Fatalf("log of %d bytes: too short for this test", len(wal))
	}
	rnd := rand.New(rand.NewPCG(4, 4))
	for range 25 {
		n := rnd.IntN(len(wal) - 4096)
		cut := copyCapture(t, files)
		os.Remove(cut + "-shm") // a power cut leaves none
		must(t, os.WriteFile(cut+"-wal", wal[:n], 0o644))
		got := mustDump(t, cut)
		same(t, got.Records, want[:len(got.Records)])
		if len(got.Records) == len(want) {
			t.Fatalf("log cut at %d of %d bytes, and nothing is missing", n, len(wal))
		}
		if _, err := Verify(t.Context(), cut); !isBroken(err) {
			t.Fatalf("log cut at %d of %d bytes: Verify says %v", n, len(wal), err)
		}
		w, err := Continue(cut, Options{})
		must(t, err)
		must(t, w.Close())
		verify(t, cut)
		again := mustDump(t, cut)
		same(t, again.Records, want[:len(got.Records)])
		if len(again.Losses) != 1 || !strings.Contains(again.Losses[0].What, "lost: ") {
			t.Fatalf("log cut at %d of %d bytes: losses %+v", n, len(wal), again.Losses)
		}
	}
}

func isBroken(err error) bool {
	_, ok := errors.AsType[*BrokenError](err)
	return ok
}

func TestTwoWriters(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.capture")
	w := create(t, path, 0)
	run := startRun(t, w, Record, noon)
	must(t, w.Commit())
	if _, err := Continue(path, Options{}); !errors.Is(err, ErrBusy) {
		t.Errorf("second writer: %v, want ErrBusy", err)
	}
	// Where the system has no locks, the one that comes second finds the other's head.
	must(t, os.Rename(path+sideSuffix, path+".away"))
	second, err := Continue(path, Options{})
	must(t, err)
	defer second.release()
	startRun(t, second, Record, noon)
	must(t, second.Commit())
	must(t, w.Append(capture.Record{Run: run, Source: "boiler"}))
	if err := w.Commit(); !errors.Is(err, ErrBusy) {
		t.Errorf("commit after another's: %v, want ErrBusy", err)
	}
	must(t, w.release())
	must(t, second.Close())
	verify(t, path)
}

// TestReadWhileRecorded opens snapshots while the capture grows, and checks that reading leaves the file alone.
func TestReadWhileRecorded(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.capture")
	w := create(t, path, 50)
	run := startRun(t, w, Record, noon)
	want := system(run, 0, 60, rand.New(rand.NewPCG(3, 3)))
	appendAll(t, w, want[:60])
	must(t, w.Commit())
	r, err := Open(path)
	must(t, err)
	appendAll(t, w, want[60:])
	must(t, w.Commit())
	var got []capture.Record
	for rec, err := range r.Records(t.Context(), Window{}) {
		must(t, err)
		got = append(got, keep(rec))
	}
	same(t, got, want[:60])
	if h := r.Head(); h.Records != 60 {
		t.Errorf("head of the snapshot has %d records, want 60", h.Records)
	}
	if err := w.Close(); !errors.Is(err, ErrBusy) {
		t.Errorf("Close under a reader: %v, want ErrBusy", err)
	}
	must(t, r.Close())
	same(t, mustDump(t, path).Records, want)
	w, err = Continue(path, Options{})
	must(t, err)
	must(t, w.Close())
	if !verify(t, path).Closed {
		t.Error("not closed after Continue and Close")
	}
}

func TestReadingChangesNothing(t *testing.T) {
	for _, closed := range []bool{true, false} {
		path := filepath.Join(t.TempDir(), "a.capture")
		want := small(t, path, closed)
		old := time.Now().Add(-time.Hour).Truncate(time.Second)
		must(t, os.Chtimes(path, old, old))
		before, err := os.ReadFile(path)
		must(t, err)
		for range 3 {
			same(t, mustDump(t, path).Records, want)
			verify(t, path)
		}
		after, err := os.ReadFile(path)
		must(t, err)
		st, err := os.Stat(path)
		must(t, err)
		if !bytes.Equal(before, after) || !st.ModTime().Equal(old) {
			t.Errorf("closed=%v: reading changed the file", closed)
		}
		if names := leftBeside(t, path); closed && names != nil {
			t.Errorf("reading leaves %v", names)
		}
	}
}

func TestNotCapture(t *testing.T) {
	dir := t.TempDir()
	files := map[string][]byte{"empty": nil, "text": []byte("hello, this is a text\n"), "zeros": make([]byte, 9000),
		"magic only": []byte("SQLite format 3\x00"), "long text": bytes.Repeat([]byte("no capture "), 2000)}
	for name, content := range files {
		path := filepath.Join(dir, name)
		must(t, os.WriteFile(path, content, 0o644))
		if _, err := Open(path); !errors.Is(err, ErrNotCapture) {
			t.Errorf("Open of %s: %v", name, err)
		}
		if _, err := Verify(t.Context(), path); !errors.Is(err, ErrNotCapture) {
			t.Errorf("Verify of %s: %v", name, err)
		}
		if name == "empty" {
			continue // Continue makes a capture of it, since a kill in Create leaves an empty file
		}
		if _, err := Continue(path, Options{}); !errors.Is(err, ErrNotCapture) {
			t.Errorf("Continue of %s: %v", name, err)
		}
		if now, _ := os.ReadFile(path); !bytes.Equal(now, content) {
			t.Errorf("Continue changed %s", name)
		}
	}
	if _, err := Open(dir); !errors.Is(err, ErrNotCapture) {
		t.Errorf("Open of a folder: %v", err)
	}
	if _, err := Open(filepath.Join(dir, "nothing")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("Open of nothing: %v", err)
	}
	if list := leftBeside(t, filepath.Join(dir, "none")); len(list) != len(files) {
		t.Errorf("left over: %v", list)
	}
	w, err := Continue(filepath.Join(dir, "empty"), Options{})
	must(t, err)
	must(t, w.Close())
	verify(t, filepath.Join(dir, "empty"))
}

// FuzzOpen reads files with changed bytes: errors, never a panic; and if Verify passes, all is as it was.
func FuzzOpen(f *testing.F) {
	path := whole(f, true)
	good, err := os.ReadFile(path)
	must(f, err)
	want := mustDump(f, path)
	f.Add(uint32(0), []byte{0})
	f.Add(uint32(60), []byte{1})
	f.Add(uint32(4096), []byte{0x0d, 0, 0, 0, 3, 0xff})
	f.Add(uint32(len(good)-9), bytes.Repeat([]byte{0xff}, 9))
	dir := f.TempDir()
	f.Fuzz(func(t *testing.T, at uint32, with []byte) {
		bad := bytes.Clone(good)
		copy(bad[int(at)%len(bad):], with)
		path := filepath.Join(dir, fmt.Sprint(os.Getpid()))
		for _, suffix := range []string{"-wal", "-shm", "-journal"} {
			os.Remove(path + suffix)
		}
		must(t, os.WriteFile(path, bad, 0o644))
		got, err := dumpOf(path)
		if _, e := Verify(context.Background(), path); e == nil {
			if d := difference(want, got); d != "" || err != nil {
				t.Fatalf("Verify passes, but reading gives %v, and (-want +got):\n%s", err, d)
			}
		}
	})
}
