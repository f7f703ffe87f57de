package main

import (
	"bytes"
	"fmt"
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/capture"
	"tundish/capture/capfile"
	"tundish/dashboards/findings"
	"tundish/decode"
)

// seldomJob is a home with two probes in a file and a call behind a broker.
const seldomJob = "[job]\nname = \"Seldom\"\ntimezone = \"Europe/London\"\n[plant]\nhot_water = \"none\"\n" + probesSource + callSource

// seldom writes a capture of two runs over a month, in which the contact behind the broker says hardly anything: the
// broker had kept its first word, then days pass between its changes, and once the broker is lost.
func seldom(t *testing.T, path string) (start time.Time) {
	t.Helper()
	start = time.Date(2026, 1, 3, 0, 0, 0, 0, time.UTC)
	w, err := capfile.Create(path, capfile.Options{})
	check := func(err error) {
		if err != nil {
			t.Fatal(err)
		}
	}
	check(err)
	const h24 = 24 * time.Hour
	type word struct {
		at            time.Duration
		channel, text string
		note          string
	}
	call := func(day float64, text string) word {
		return word{at: time.Duration(day * float64(h24)), channel: "house/call", text: text}
	}
	for _, r := range []struct {
		first, days int
		words       []word
	}{
		{0, 18, []word{
			{at: time.Second, channel: "house/call" + capture.Retained, text: "closed"},
			call(6.3, "open"),
			call(12.4, "closed"), // and it stands over two chunks
			{at: 15*h24 + 6*time.Hour, note: "lost: the broker went away"},
			{at: 15*h24 + 18*time.Hour, note: "back after 12h"},
			{at: 15*h24 + 18*time.Hour + time.Second, channel: "house/call" + capture.Retained, text: "open"},
		}},
		{20, 10, []word{
			{at: time.Second, channel: "house/call" + capture.Retained, text: "closed"},
			call(1.5, "open"),
		}},
	} {
		run, err := w.StartRun(capfile.RunInfo{Kind: capfile.Record, Program: "test", Started: start.Add(time.Duration(r.first) * h24), Sources: []string{"probes", "call"}})
		check(err)
		check(w.Sheet(run, "job.toml", []byte(seldomJob)))
		next := 0
		for at := time.Duration(0); at < time.Duration(r.days)*h24; at += time.Minute {
			for ; next < len(r.words) && r.words[next].at <= at; next++ {
				x := r.words[next]
				check(w.Append(capture.Record{Run: run, Source: "call", At: x.at, Channel: x.channel, Payload: []byte(x.text), Note: x.note}))
			}
			check(w.Append(capture.Record{Run: run, Source: "probes", At: at, Channel: "readings/flow", Payload: fmt.Appendf(nil, "%.1f", 21+float64(at/time.Minute%7)/10)}))
			if at%(6*time.Hour) == 0 {
				check(w.Commit())
			}
		}
		check(w.EndRun(run, time.Duration(r.days)*h24, "a test ends"))
	}
	check(w.Close())
	return start
}

// A contact's word of days ago holds in each day after it, until the broker is lost or the run ends; and the bytes are the
// same for any number of workers, for one pass in order of time, and from what was kept of the days.
func TestContactOverDays(t *testing.T) {
	path := filepath.Join(t.TempDir(), "seldom.capture")
	start := seldom(t, path)
	c, err := openCapture(path, "")
	if err != nil {
		t.Fatal(err)
	}
	defer c.close()
	text := func(r *analyse.Result) string {
		var b bytes.Buffer
		if err := findings.WriteJSON(&b, r, findings.Options{Episodes: true}); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	day := func(d float64) time.Time { return start.Add(time.Duration(d * 24 * float64(time.Hour))) }
	r, _, err := c.analyseOn(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	want := [][2]time.Time{{day(0), day(6.3)}, {day(12.4), day(15.25)}, {day(20), day(21.5)}}
	if len(r.Facts.Demands) != len(want) {
		t.Fatalf("%d demands: %+v", len(r.Facts.Demands), r.Facts.Demands)
	}
	for i, d := range r.Facts.Demands {
		if d.From.Sub(want[i][0]).Abs() > 10*time.Second || d.To.Sub(want[i][1]).Abs() > 10*time.Second {
			t.Errorf("demand %v to %v, want %v to %v", d.From, d.To, want[i][0], want[i][1])
		}
	}
	for _, x := range r.Coverage { // 28 of 30 days ran, and half of one was lost
		if known := 27.5 / 30; x.Series.Point == decode.HeatDemand && (x.Share < known-0.001 || x.Share > known+0.001) {
			t.Errorf("coverage %.4f, want %.4f", x.Share, known)
		}
	}
	whole := text(r)
	if r, _, err = c.analyseOn(t.Context(), 3); err != nil || text(r) != whole {
		t.Errorf("three workers say something else (%v)", err)
	}
	a := analyse.New(c.config(c.reader.Runs()))
	if _, err := c.scan(t.Context(), capfile.Window{}, listener{record: a.Record, hole: a.Damage}, func(r decode.Reading) error {
		a.Reading(r)
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	if got := text(a.Result()); got != whole {
		t.Errorf("one pass says something else:\n%s\n%s", got, whole)
	}
	if c.keep, err = newKeeper(t.TempDir(), slog.New(slog.DiscardHandler)); err != nil {
		t.Fatal(err)
	}
	for i, worked := range []bool{true, false} {
		r, _, err := c.analyseOn(t.Context(), 2)
		if err != nil {
			t.Fatal(err)
		}
		if got := c.keep.worked > 1; got != worked || text(r) != whole {
			t.Errorf("look %d: worked on %d of %d chunks, the same %t", i, c.keep.worked, c.keep.chunks, text(r) == whole)
		}
	}
}
