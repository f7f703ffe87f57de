package cases

import (
	"context"
	"os"
	"slices"
	"testing"

	"tundish/cmd/tundish/house"
)

// run simulates a case and labels it.
func run(t *testing.T, c Case, seed uint64) (house.Scenario, house.Truth, Measures, map[string]Label) {
	t.Helper()
	s := c.Scenario(seed)
	o := NewObserver(s)
	truth, err := s.Simulate(context.Background(), seed, house.Listener{Second: o.Second})
	if err != nil {
		t.Fatal(err)
	}
	m := o.Measures()
	labels := map[string]Label{}
	for _, l := range Labels(c, s, truth, m) {
		labels[l.Kind] = l
	}
	return s, truth, m, labels
}

// sampled picks the part of the library that one run of the tests looks at: the whole takes minutes. Every third case by
// the hash of its name, so that the same cases are run each time; under the race detector every fortieth, of four
// days at most; all of them, with two seeds, when the environment says TUNDISH_LIBRARY=all.
func sampled(c Case) (seeds []uint64) {
	every := uint64(3)
	if racing {
		every = 40
	}
	switch {
	case os.Getenv("TUNDISH_LIBRARY") == "all":
		return []uint64{1, 2}
	case racing && c.Days > 4:
	case hash(c.Name)%every == 0:
		return []uint64{1}
	}
	return nil
}

// Every way brings what it intends, every look-alike is without what it resembles, sound homes have nothing. A slight
// way may be arguable, and nothing else.
func TestLibraryComesOutAsIntended(t *testing.T) {
	t.Parallel()
	for _, c := range All() {
		for _, seed := range sampled(c) {
			t.Run(c.Name, func(t *testing.T) {
				t.Parallel()
				_, _, _, labels := run(t, c, seed)
				for _, k := range c.Intended {
					l := labels[k]
					if l.Verdict != Present && !(l.Verdict == Arguable && c.Severity == Slight) {
						t.Errorf("seed %d: %s is %s: %s", seed, k, l.Verdict, l.Because)
					}
				}
				if k := c.LookAlikeOf; k != "" && labels[k].Verdict != Absent {
					t.Errorf("seed %d: %s is %s: %s", seed, k, labels[k].Verdict, labels[k].Because)
				}
				if l := labels["lockout"]; slices.Contains(c.Intended, "lockout") && c.Intended[0] == "lockout" && l.Cause != c.Cause {
					t.Errorf("seed %d: the lockout's cause is %q, want %q", seed, l.Cause, c.Cause)
				}
				for _, k := range Kinds() {
					if l := labels[k]; c.Healthy() && l.Verdict != Absent {
						t.Errorf("seed %d: %s is %s: %s", seed, k, l.Verdict, l.Because)
					}
				}
			})
		}
	}
}
