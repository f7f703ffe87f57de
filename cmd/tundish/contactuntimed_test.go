package main

import (
	"path/filepath"
	"testing"
	"time"

	"tundish/capture"
	"tundish/capture/capfile"
)

// A contact whose only words came in a run whose clock is not known says nothing; the other runs are analysed all the same.
func TestContactOfARunWithoutAClock(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "untimed.capture")
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	start := time.Date(2026, 1, 3, 0, 0, 0, 0, time.UTC)
	for n := range 2 {
		w, err := openWriter(path)
		must(err)
		run, err := w.StartRun(capfile.RunInfo{Kind: capfile.Record, Program: "test", Started: start.Add(time.Duration(n) * time.Hour), Sources: []string{"probes", "call"}})
		must(err)
		must(w.Sheet(run, "job.toml", []byte(seldomJob)))
		if n == 0 {
			must(w.Append(capture.Record{Run: run, Source: "call", At: time.Second, Channel: "house/call", Payload: []byte("closed")}))
			must(w.EndRun(run, time.Minute, "a test ends"))
			must(w.Close())
			continue
		}
		for at := time.Duration(0); at < 10*24*time.Hour; at += time.Hour {
			must(w.Append(capture.Record{Run: run, Source: "probes", At: at, Channel: "readings/flow", Payload: []byte("21.5")}))
		}
		must(w.EndRun(run, 10*24*time.Hour, "a test ends"))
		must(w.Close())
	}
	damage(t, path, `"started":"2026-01-03T00:00:00Z"`)
	c, err := openCapture(path, "")
	must(err)
	defer c.close()
	r, seen, err := c.analyseOn(t.Context(), 2)
	must(err)
	if len(r.Facts.Demands) != 0 || seen.untimed[1] != 1 || seen.records != 240 {
		t.Errorf("demands %v, %v records without a time, %d with one", r.Facts.Demands, seen.untimed, seen.records)
	}
}
