package main

import (
	"bytes"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/capture"
	"tundish/capture/capfile"
	"tundish/cmd/tundish/house"
	"tundish/dashboards/findings"
	"tundish/decode"
)

// manyDays writes a capture of two runs over eleven days, from a few hours that come again each day: with a gap of two
// days between the runs, and a day in which nothing came.
func manyDays(t testing.TB, path string) {
	t.Helper()
	s, _ := house.Find(demoScenario)
	s.Days, s.Bus.Every, s.Probes.Every = 1, 20*time.Second, 20*time.Second
	var day []capture.Record
	if _, err := s.Simulate(t.Context(), 1, house.Listener{Record: func(rec capture.Record) error {
		rec.Payload = slices.Clone(rec.Payload)
		day = append(day, rec)
		return nil
	}}); err != nil {
		t.Fatal(err)
	}
	w, err := capfile.Create(path, capfile.Options{})
	if err != nil {
		t.Fatal(err)
	}
	check := func(err error) {
		if err != nil {
			t.Fatal(err)
		}
	}
	const h24 = 24 * time.Hour
	for _, r := range []struct{ first, days int }{{0, 5}, {7, 4}} {
		run, err := w.StartRun(capfile.RunInfo{Kind: capfile.Record, Program: "test", Started: s.Start.Add(time.Duration(r.first) * h24),
			Sources: []string{house.SourceBus, house.SourceProbes}})
		check(err)
		check(w.Sheet(run, "job.toml", s.JobSheet(1)))
		for d := range r.days {
			if r.first+d == 3 {
				continue
			}
			for _, rec := range day {
				rec.Run, rec.At = run, rec.At+time.Duration(d)*h24
				check(w.Append(rec))
			}
			check(w.Commit())
		}
		check(w.EndRun(run, time.Duration(r.days)*h24, "a test ends"))
	}
	check(w.Close())
}

// The same capture gives the same bytes, however many workers there are, and however often; and those that one pass in
// order of time gives.
func TestWorkersGiveTheSameBytes(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.capture")
	manyDays(t, path)
	c, err := openCapture(path, "")
	if err != nil {
		t.Fatal(err)
	}
	defer c.close()
	text := func(r *analyse.Result, warnings []string) string {
		var b bytes.Buffer
		if err := findings.WriteJSON(&b, r, findings.Options{Episodes: true, Warnings: warnings}); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	a := analyse.New(c.config(c.reader.Runs()))
	seen, err := c.scan(t.Context(), capfile.Window{}, listener{record: a.Record, hole: a.Damage}, func(r decode.Reading) error {
		a.Reading(r)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	one := a.Result()
	if n := len(one.Facts.Firings); n < 8 {
		t.Fatalf("only %d firings: the capture is too poor for a test", n)
	}
	want := text(one, c.warnings(seen))
	for _, workers := range []int{1, 2, 8, 2} {
		r, counted, err := c.analyseOn(t.Context(), workers)
		if err != nil {
			t.Fatal(err)
		}
		if got := text(r, c.warnings(counted)); got != want {
			t.Errorf("%d workers give %d bytes that differ from the %d of one pass", workers, len(got), len(want))
		}
		if counted.records != seen.records {
			t.Errorf("%d workers counted %d records of %d", workers, counted.records, seen.records)
		}
		for _, s := range c.sources() {
			if got, want := counted.tally(s.Name), seen.tally(s.Name); !slices.Equal(got, want) {
				t.Errorf("%d workers counted of %s %v, want %v", workers, s.Name, got, want)
			}
		}
	}
}
