package main

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tundish/capture/capfile"
	"tundish/cmd/tundish/house"
)

// A machine that was suspended for some hours leaves what a logger leaves that was stopped and started again: a gap, and
// every reading at its own time, for any number of workers; with what was kept before, and without.
func TestSuspendedIsAGap(t *testing.T) {
	t.Parallel()
	const hour = time.Hour
	h := newRadioHouse(t, time.Minute)
	list := h.records(6)
	for i := range list {
		list[i].Payload = bytes.Clone(list[i].Payload)
	}
	for _, c := range []struct{ from, to time.Duration }{{30*hour + 17*time.Second, 33*hour + 11*time.Second}, {70*hour + 17*time.Second, 99*hour + 11*time.Second}} {
		stopped, slept := filepath.Join(t.TempDir(), "stopped.capture"), filepath.Join(t.TempDir(), "slept.capture")
		sources := []string{house.SourceBus, radio}
		for _, path := range []string{stopped, slept} {
			w, err := capfile.Create(path, capfile.Options{BlockRecords: 500})
			if err != nil {
				t.Fatal(err)
			}
			g := &grower{t: t, start: h.start, sheet: h.sheet}
			h.begin(g, w)
			long := c.to - c.from
			n := 0
			for ; list[n].At < c.from; n++ {
			}
			h.add(g, list[:n])
			behind := time.Duration(0) // of the run's clock, behind the time since the record began
			if path == stopped {
				g.must(w.EndRun(g.run, c.from, "stopped"))
				g.run, err = w.StartRun(capfile.RunInfo{Kind: capfile.Record, Program: "test", Started: h.start.Add(c.to), Sources: sources})
				g.must(err)
				g.must(w.Sheet(g.run, "job.toml", h.sheet))
				g.must(w.Observe(g.run, capfile.Observation{Wall: h.start.Add(c.to), Synced: true}))
				behind = c.to
			} else {
				g.must(w.Observe(g.run, capfile.Observation{At: c.from, Wall: h.start.Add(c.from), Synced: true}))
				g.must(w.Observe(g.run, capfile.Observation{At: c.from + time.Second, Wall: h.start.Add(c.to + time.Second), Slept: long, Synced: true}))
				behind = long
			}
			for ; n < len(list); n++ {
				if rec := list[n]; rec.At >= c.to {
					rec.Run, rec.At = g.run, rec.At-behind
					g.must(w.Append(rec))
					g.at = rec.At
				}
			}
			g.close()
		}
		// The run's end differs by a microsecond, as that is what tells before from after.
		want, _, firings := foundIn(t, stopped, 2)
		if firings < 10 {
			t.Fatalf("only %d firings", firings)
		}
		for _, workers := range []int{1, 3} {
			if got, _, _ := foundIn(t, slept, workers); got != want {
				t.Errorf("%v to %v, %d workers: %s", c.from, c.to, workers, difference(want, got))
			}
		}
		keep := keeperOf(t, t.TempDir(), "one")
		check(t, slept, "", keep)
		if worked, _ := check(t, slept, "", keep); worked != 0 {
			t.Errorf("%d chunks are worked out again", worked)
		}
		words := told(t, slept, "", nil, 1)
		if want := "the machine that records was suspended for"; !strings.Contains(words, want) {
			t.Errorf("%q is not told", want)
		}
		if strings.Contains(words, "the clock was set") {
			t.Error("a step of the clock is told")
		}
	}
}
