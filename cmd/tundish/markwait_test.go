package main

import (
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"tundish/capture"
	"tundish/capture/capfile"
)

// Power that fails after a commit, before the file of a mark is removed, does not put the mark into the capture twice.
func TestMarkTakenOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.capture")
	at := time.Date(2026, 1, 13, 6, 41, 0, 0, time.UTC)
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	w, err := capfile.Create(path, capfile.Options{})
	must(err)
	must(noteMark(w, at, "reset pressed"))
	must(w.Close())
	must(leaveMark(path, waitingMark{At: at, Text: "reset pressed"}))                  // what was left behind
	must(leaveMark(path, waitingMark{At: at.Add(time.Minute), Text: "reset pressed"})) // once more, a minute later
	must(leaveMark(path, waitingMark{At: at, Text: "cold shower"}))

	w, err = capfile.Continue(path, capfile.Options{})
	must(err)
	taker, err := newMarkTaker(path, capture.StartClock(), slog.New(slog.DiscardHandler))
	must(err)
	if !taker.due() {
		t.Error("nothing is due")
	}
	run, err := w.StartRun(capfile.RunInfo{Kind: capfile.Record, Program: "test", Started: at})
	must(err)
	must(taker.take(w, run))
	must(w.Commit())
	taker.committed()
	must(w.EndRun(run, time.Second, "a test ends"))
	must(w.Close())
	if taker.due() || len(waitingMarks(path)) != 0 {
		t.Errorf("still there: %q", waitingMarks(path))
	}
	r, err := capfile.Open(path)
	must(err)
	defer r.Close()
	seen := map[string]int{}
	for _, m := range r.Marks() {
		seen[m.Text+m.Time.Format(" 15:04")]++
	}
	if len(seen) != 3 || seen["reset pressed 06:41"] != 1 || seen["reset pressed 06:42"] != 1 || seen["cold shower 06:41"] != 1 {
		t.Errorf("%v", seen)
	}
}
