package main

import (
	"path/filepath"
	"testing"
	"time"

	"tundish/cmd/tundish/house"
)

// A house whose clock is set right in the morning and whose logger is off for a while is kept in two runs; what
// happened keeps its true time, before the step too, and the time without a logger is a gap.
func TestSimulatedRunsAndClock(t *testing.T) {
	t.Parallel()
	s, _ := house.Find("sound")
	s.Days = 1
	off := house.Window{From: 9 * time.Hour, To: 10*time.Hour + 30*time.Minute}
	s.Faults.LoggerOff = []house.Window{off}
	s.Faults.Clock = []house.ClockStep{{At: 7 * time.Hour, By: 3 * time.Hour}}
	path := filepath.Join(t.TempDir(), "job.capture")
	truth, err := simulate(t.Context(), path, s, 4, nil)
	if err != nil {
		t.Fatal(err)
	}
	kept, err := openCapture(path, "")
	if err != nil {
		t.Fatal(err)
	}
	defer kept.close()
	if n := len(kept.reader.Runs()); n != 2 {
		t.Fatalf("%d runs were kept, want 2", n)
	}
	r, _, err := kept.analyse(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if g := r.Facts.Gaps; len(g) != 1 || !near(g[0].From, s.Start.Add(off.From)) || !near(g[0].To, s.Start.Add(off.To)) {
		t.Errorf("gaps are %+v, want %v to %v", g, s.Start.Add(off.From), s.Start.Add(off.To))
	}
	checked := 0
	for _, f := range truth.Firings {
		if f.Duration() < time.Minute || f.From < off.To && f.To > off.From-time.Minute || f.To > truth.Ended-time.Minute {
			continue
		}
		checked++
		found := false
		for _, g := range r.Facts.Firings {
			found = found || near(g.From, s.Start.Add(f.From)) && near(g.To, s.Start.Add(f.To))
		}
		if !found {
			t.Errorf("no firing at %v–%v", s.Start.Add(f.From), s.Start.Add(f.To))
		}
	}
	if checked < 3 {
		t.Errorf("only %d firings could be held against the truth", checked)
	}
}
