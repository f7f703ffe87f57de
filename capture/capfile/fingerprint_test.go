package capfile

import (
	"bytes"
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// prints gives the fingerprints of some windows of a capture; nil where nothing is to be kept.
func prints(t testing.TB, path string, windows []Window) [][]byte {
	t.Helper()
	r, err := Open(path)
	must(t, err)
	defer r.Close()
	out := make([][]byte, len(windows))
	for i, w := range windows {
		if b, ok := r.Fingerprint(w); ok {
			out[i] = b[:]
		}
	}
	return out
}

// pieces are ten minutes each.
func pieces(n int) (out []Window) {
	for i := range n {
		from := noon.Add(time.Duration(i) * 10 * time.Minute)
		out = append(out, Window{from, from.Add(10 * time.Minute)})
	}
	return out
}

// minutes appends records of some minutes to a run.
func minutes(t testing.TB, w *Writer, run uint32, from, to int) {
	t.Helper()
	appendAll(t, w, system(run, from*60, (to-from)*60, rand.New(rand.NewPCG(3, uint64(from)))))
}

// A capture that grows keeps the fingerprints of what was there, but for the stretch into which it grew.
func TestFingerprintsStay(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.capture")
	w := create(t, path, 100)
	run := startRun(t, w, Record, noon)
	minutes(t, w, run, 0, 35)
	must(t, w.EndRun(run, 35*time.Minute, "stopped"))
	must(t, w.Close())
	list := pieces(6)
	before := prints(t, path, list)
	for i, b := range before {
		if b == nil {
			t.Fatalf("piece %d of a closed capture has no fingerprint", i)
		}
	}
	w, err := Continue(path, Options{BlockRecords: 100})
	must(t, err)
	run = startRun(t, w, Record, noon.Add(36*time.Minute))
	minutes(t, w, run, 0, 18)
	must(t, w.EndRun(run, 18*time.Minute, "stopped"))
	must(t, w.Close())
	after := prints(t, path, list)
	for i := range list {
		if same := bytes.Equal(before[i], after[i]); same != (i < 3) {
			t.Errorf("piece %d: the same is %v", i, same)
		}
	}
	if bytes.Equal(after[0], after[1]) || bytes.Equal(after[1], after[2]) {
		t.Error("two pieces have one fingerprint")
	}
}

// A clock that is set later moves what was recorded before: the fingerprints of all that moved are others.
func TestFingerprintsFollowTheClock(t *testing.T) {
	for name, c := range map[string]struct {
		first, later Observation
		moved        []bool
	}{
		"never synchronised, then set": {
			Observation{At: time.Minute, Wall: noon.Add(time.Minute)}, Observation{At: 50 * time.Minute, Wall: noon.Add(51 * time.Minute)},
			[]bool{true, true, true, true}},
		"synchronised, and again with a drift": {
			Observation{At: 15 * time.Minute, Wall: noon.Add(15 * time.Minute), Synced: true},
			Observation{At: 50 * time.Minute, Wall: noon.Add(50*time.Minute + 100*time.Millisecond), Synced: true},
			[]bool{false, true, true, true}},
		"a look that was not synchronised tells nothing more": {
			Observation{At: 15 * time.Minute, Wall: noon.Add(15 * time.Minute), Synced: true},
			Observation{At: 50 * time.Minute, Wall: noon.Add(59 * time.Minute)},
			[]bool{false, false, false, false}},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "a.capture")
			w := create(t, path, 60)
			run := startRun(t, w, Record, noon)
			must(t, w.Observe(run, c.first))
			minutes(t, w, run, 0, 45)
			must(t, w.Commit())
			must(t, w.seal())
			list := pieces(4)
			before := prints(t, path, list)
			must(t, w.Observe(run, c.later))
			must(t, w.Close())
			after := prints(t, path, list)
			for i := range list {
				if before[i] == nil || after[i] == nil {
					t.Fatalf("piece %d has no fingerprint", i)
				}
				if moved := !bytes.Equal(before[i], after[i]); moved != c.moved[i] {
					t.Errorf("piece %d: moved is %v", i, moved)
				}
			}
		})
	}
}

// The knots that are told decide all times from first to last.
func TestKnotsBetweenDecideTheTimes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var c clock
		at := int64(0)
		for range rapid.IntRange(1, 6).Draw(t, "knots") {
			at += rapid.Int64Range(1, 5000).Draw(t, "apart")
			c.knots = append(c.knots, knot{at, rapid.Int64Range(-100, 100).Draw(t, "offset")})
		}
		first := rapid.Int64Range(0, at+1000).Draw(t, "first")
		last := first + rapid.Int64Range(0, 3000).Draw(t, "long")
		part := clock{knots: c.between(first, last)}
		if !part.known() {
			t.Fatal("no knot is left")
		}
		for x := first; x <= last; x += 7 {
			if got, want := part.nanos(x), c.nanos(x); got != want {
				t.Fatalf("%d of %d…%d is %d, want %d (%v of %v)", x, first, last, got, want, part.knots, c.knots)
			}
		}
	})
}

// What is not sealed, or damaged, has no fingerprint.
func TestNoFingerprint(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.capture")
	w := create(t, path, 60)
	run := startRun(t, w, Record, noon)
	minutes(t, w, run, 0, 25)
	must(t, w.Commit())
	must(t, w.seal())
	appendAll(t, w, system(run, 25*60, 5, rand.New(rand.NewPCG(3, 4)))) // too few for a block
	must(t, w.Commit())
	got := prints(t, path, pieces(4))
	for i, want := range []bool{true, true, false, true} {
		if (got[i] != nil) != want {
			t.Errorf("piece %d: a fingerprint is %v", i, got[i] != nil)
		}
	}
	must(t, w.Close())
	whole := prints(t, path, []Window{{}})
	if whole[0] == nil {
		t.Error("a whole capture has no fingerprint")
	}
	for _, statement := range []string{"UPDATE block SET count = count + 1 WHERE n = 3", "UPDATE block SET last_at = last_at + 1 WHERE n = 3",
		"DELETE FROM block WHERE n = 3", "UPDATE head SET blocks = blocks + 1", "UPDATE body SET body = substr(body, 2) WHERE n = 1"} {
		bad := copyCapture(t, path)
		change(t, bad, statement)
		if got := prints(t, bad, []Window{{}}); got[0] != nil {
			t.Errorf("%s: it has a fingerprint", statement)
		}
	}
}

// A run of whose clock nothing is known lies in no window but the whole, and that has no fingerprint.
func TestNoFingerprintWithoutTime(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.capture")
	w := create(t, path, 60)
	run := startRun(t, w, Record, noon)
	minutes(t, w, run, 0, 5)
	must(t, w.Close())
	r, err := Open(path)
	must(t, err)
	defer r.Close()
	r.journal.runs[run].clock = clock{}
	if _, ok := r.Fingerprint(Window{}); ok {
		t.Error("the whole has a fingerprint")
	}
	if _, ok := r.Fingerprint(Window{From: noon}); !ok {
		t.Error("a window without any record has none")
	}
}

// A body that was changed since is found, in its own window alone.
func TestSound(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.capture")
	w := create(t, path, 60)
	run := startRun(t, w, Record, noon)
	minutes(t, w, run, 0, 30)
	must(t, w.Close())
	r, err := Open(path)
	must(t, err)
	n := int64(0)
	for _, b := range r.index.blocks {
		if !b.journal() && b.firstAt > (11*time.Minute).Microseconds() && b.lastAt < (19*time.Minute).Microseconds() {
			n = b.n
		}
	}
	must(t, r.Close())
	if n == 0 {
		t.Fatal("no block lies within the second piece")
	}
	for changed := range 2 {
		if changed == 1 {
			change(t, path, "UPDATE body SET body = substr(body, 1, 20) || x'ff' || substr(body, 22) WHERE n = ?", n)
		}
		r, err := Open(path)
		must(t, err)
		for i, win := range pieces(3) {
			if got, want := r.Sound(t.Context(), win), changed == 0 || i != 1; got != want {
				t.Errorf("piece %d, changed %d: sound is %v", i, changed, got)
			}
		}
		must(t, r.Close())
		if r.Sound(t.Context(), Window{}) {
			t.Error("sound is said of a closed reader")
		}
	}
}
