package main

import (
	"bytes"
	"cmp"
	"fmt"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"tundish/capture"
	"tundish/capture/capfile"
	"tundish/decode"
)

const lateCallSource = `
[[source]]
name = "call"
kind = "mqtt"
[[source.topic]]
topic = "house/call"
point = "heat-demand"
path = "v"
time = "at"
time_unit = "ms"
`

// lateCall is a home whose call for heat is told by a contact when it changes, with the sender's time.
type lateCall struct {
	start time.Time
	list  []capture.Record // in time
}

// newLateCall makes nine days with a word every some hours; on some of them the contact chatters.
func newLateCall() *lateCall {
	h := &lateCall{start: time.Date(2026, 1, 3, 0, 0, 0, 0, time.UTC)}
	for at := time.Duration(0); at < 9*24*time.Hour; at += time.Minute {
		h.list = append(h.list, capture.Record{Source: "probes", At: at, Channel: "readings/flow", Payload: fmt.Appendf(nil, "%.1f", 21+float64(at/time.Minute%7)/10)})
	}
	on := false
	word := func(at time.Duration) {
		h.list = append(h.list, capture.Record{Source: "call", At: at + 7*time.Millisecond, Channel: "house/call",
			Payload: fmt.Appendf(nil, `{"v": %t, "at": %d}`, on, h.start.Add(at+7*time.Millisecond).UnixMilli())})
	}
	for n, at := 0, 20*time.Second; at < 9*24*time.Hour-time.Hour; n, at = n+1, at+50*time.Minute+time.Duration(n*37%23)*7*time.Minute {
		word(at)
		for k := 1; n%5 == 2 && k <= 4; k++ {
			on = !on
			word(at + time.Duration(k)*100*time.Millisecond)
		}
		on = !on
	}
	h.sort()
	return h
}

func (h *lateCall) sort() {
	slices.SortStableFunc(h.list, func(a, b capture.Record) int { return cmp.Compare(a.At, b.At) })
}

// late keeps words back until an outage is over. told: the logger itself had lost the broker.
func (h *lateCall) late(told bool, away ...outage) *lateCall {
	out := &lateCall{start: h.start}
	n := time.Duration(0)
	for _, rec := range h.list {
		for _, o := range away {
			if rec.Source == "call" && rec.At >= o.from && rec.At < o.to {
				n++
				rec.At = o.to + n*10*time.Microsecond
				if told {
					rec.Channel += capture.Waited
				}
			}
		}
		out.list = append(out.list, rec)
	}
	for _, o := range away {
		if told {
			out.list = append(out.list, capture.Record{Source: "call", At: o.from, Note: "lost: broker unreachable"},
				capture.Record{Source: "call", At: o.to, Note: "back after a while"})
		}
	}
	out.sort()
	return out
}

func (h *lateCall) write(t *testing.T, path string) {
	t.Helper()
	w, err := capfile.Create(path, capfile.Options{BlockRecords: 200})
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(err)
	run, err := w.StartRun(capfile.RunInfo{Kind: capfile.Record, Program: "test", Started: h.start, Sources: []string{"probes", "call"}})
	must(err)
	must(w.Sheet(run, "job.toml", []byte("[job]\nname = \"Late\"\ntimezone = \"Europe/London\"\n[plant]\nhot_water = \"none\"\n"+probesSource+lateCallSource)))
	for _, rec := range h.list {
		rec.Run, rec.Payload = run, bytes.Clone(rec.Payload)
		must(w.Append(rec))
	}
	must(w.EndRun(run, 9*24*time.Hour, "a test ends"))
	must(w.Close())
}

// What a contact said hours ago, and came late, gives what it gives in time: for any number of workers, over the borders
// of days and of chunks, with chatter, and from what was kept.
func TestLateCallIsAsInTime(t *testing.T) {
	t.Parallel()
	const hour = time.Hour
	h := newLateCall()
	path := func(name string) string { return filepath.Join(t.TempDir(), name) }
	intime := path("intime.capture")
	h.write(t, intime)
	want, _, _ := foundIn(t, intime, 1)
	if n := bytes.Count([]byte(want), []byte("demand")); n < 20 {
		t.Fatalf("demands are told %d times", n)
	}
	for _, away := range [][]outage{
		{{30 * hour, 33 * hour}},
		{{22 * hour, 25 * hour}, {46 * hour, 49 * hour}, {70 * hour, 73 * hour}, {94 * hour, 97 * hour}, {118 * hour, 121 * hour}, {142 * hour, 145 * hour}},
		{{20 * hour, 120 * hour}},
	} {
		late := path("late.capture")
		h.late(false, away...).write(t, late)
		keep := keeperOf(t, t.TempDir(), "one")
		for _, workers := range []int{1, 3} {
			if got, _, _ := foundIn(t, late, workers); got != want {
				t.Errorf("%v, %d workers: %s", away, workers, difference(want, got))
			}
			before := told(t, late, "", nil, 1)
			for range 2 {
				if got := told(t, late, "", keep, workers); got != before {
					t.Errorf("%v, %d workers, kept: %s", away, workers, difference(before, got))
				}
			}
		}
		if keep.worked != 0 {
			t.Errorf("%d chunks are worked out again", keep.worked)
		}
	}
}

// Where the logger itself lost the broker, what the contact says is not known until the first word that was kept, and from
// there on as in time.
func TestLateCallOfALostBroker(t *testing.T) {
	t.Parallel()
	h := newLateCall()
	away := outage{30 * time.Hour, 33 * time.Hour}
	intime, late := filepath.Join(t.TempDir(), "intime.capture"), filepath.Join(t.TempDir(), "late.capture")
	h.write(t, intime)
	h.late(true, away).write(t, late)
	at := func(path string, workers int) map[time.Time]bool {
		c, err := openCapture(path, "")
		if err != nil {
			t.Fatal(err)
		}
		defer c.close()
		r, _, err := c.analyseOn(t.Context(), workers)
		if err != nil {
			t.Fatal(err)
		}
		edges := map[time.Time]bool{}
		for _, d := range r.Facts.Demands {
			edges[d.From], edges[d.To] = true, true
		}
		for _, x := range r.Coverage {
			if x.Series.Point == decode.HeatDemand && x.Share < 0.97 {
				t.Errorf("%s: the contact covers %.3f", path, x.Share)
			}
		}
		return edges
	}
	want := at(intime, 1)
	for _, workers := range []int{1, 3} {
		got := at(late, workers)
		missing := 0
		for x := range want {
			if !got[x] {
				missing++
				t.Logf("missing %v", x)
			}
		}
		invented := 0
		for x := range got {
			if !want[x] {
				invented++
				t.Logf("more %v", x)
			}
		}
		if missing > 1 || invented > 2 {
			t.Errorf("%d workers: %d edges of a call are missing, %d are not in time; of %d", workers, missing, invented, len(want))
		}
	}
}

// The word that a broker had kept is what the contact says now, though it stands in the record at the sender's time
// already: after an outage the contact is known by it.
func TestRetainedCallAfterAnOutage(t *testing.T) {
	t.Parallel()
	const day = 24 * time.Hour
	h := newLateCall()
	h.list = slices.DeleteFunc(h.list, func(r capture.Record) bool { return r.Source == "call" })
	word := func(at, sent time.Duration, on bool, mark string) {
		h.list = append(h.list, capture.Record{Source: "call", At: at, Channel: "house/call" + mark,
			Payload: fmt.Appendf(nil, `{"v": %t, "at": %d}`, on, h.start.Add(sent).UnixMilli())})
	}
	word(day, day, false, "")
	word(day+2*time.Hour, day+2*time.Hour, true, "")
	word(day+4*time.Hour, day+4*time.Hour, true, "") // the sensor began anew
	for n := range 3 {
		lost := 3*day + time.Duration(n)*day
		h.list = append(h.list, capture.Record{Source: "call", At: lost, Note: "lost: broker unreachable"},
			capture.Record{Source: "call", At: lost + 12*time.Hour, Note: "back after 12h"})
		word(lost+12*time.Hour+time.Second, day+4*time.Hour, true, capture.Retained)
	}
	word(8*day, 8*day, false, "")
	h.sort()
	path := filepath.Join(t.TempDir(), "retained.capture")
	h.write(t, path)
	c, err := openCapture(path, "")
	if err != nil {
		t.Fatal(err)
	}
	defer c.close()
	for _, workers := range []int{1, 3} {
		r, _, err := c.analyseOn(t.Context(), workers)
		if err != nil {
			t.Fatal(err)
		}
		want := [][2]time.Duration{{day + 2*time.Hour, 3 * day}, {3*day + 12*time.Hour, 4 * day}, {4*day + 12*time.Hour, 5 * day}, {5*day + 12*time.Hour, 8 * day}}
		if len(r.Facts.Demands) != len(want) {
			t.Fatalf("%d workers: demands %v", workers, r.Facts.Demands)
		}
		for i, d := range r.Facts.Demands {
			if d.From.Sub(h.start.Add(want[i][0])).Abs() > 10*time.Second || d.To.Sub(h.start.Add(want[i][1])).Abs() > 10*time.Second {
				t.Errorf("%d workers: demand %v to %v, want day %v to %v", workers, d.From, d.To, want[i][0], want[i][1])
			}
		}
	}
}

// What a contact said before the machine was suspended is not known while it sleeps, nor when it wakes, as after a logger
// that was stopped and started again; with workers, and from what was kept.
func TestCallWhileAsleep(t *testing.T) {
	t.Parallel()
	const hour = time.Hour
	h := newLateCall()
	from, to := 40*hour+17*time.Second, 130*hour+11*time.Second
	path := filepath.Join(t.TempDir(), "slept.capture")
	g := &grower{t: t, start: h.start}
	var err error
	g.w, err = capfile.Create(path, capfile.Options{BlockRecords: 200})
	g.must(err)
	g.run, err = g.w.StartRun(capfile.RunInfo{Kind: capfile.Record, Program: "test", Started: h.start, Sources: []string{"probes", "call"}})
	g.must(err)
	g.must(g.w.Sheet(g.run, "job.toml", []byte("[job]\nname = \"Late\"\ntimezone = \"Europe/London\"\n[plant]\nhot_water = \"none\"\n"+probesSource+lateCallSource)))
	g.must(g.w.Observe(g.run, capfile.Observation{Wall: h.start, Synced: true}))
	woken := false
	for _, rec := range h.list {
		rec.Run = g.run
		switch {
		case rec.At >= from && rec.At < to:
			continue
		case rec.At >= to:
			if !woken {
				g.must(g.w.Observe(g.run, capfile.Observation{At: from, Wall: h.start.Add(from), Synced: true}))
				g.must(g.w.Observe(g.run, capfile.Observation{At: from + time.Second, Wall: h.start.Add(to + time.Second), Slept: to - from, Synced: true}))
				woken = true
			}
			rec.At -= to - from
		}
		g.at = rec.At
		g.must(g.w.Append(rec))
	}
	g.close()
	c, err := openCapture(path, "")
	g.must(err)
	defer c.close()
	r, _, err := c.analyseOn(t.Context(), 2)
	g.must(err)
	if len(r.Facts.Demands) < 20 {
		t.Errorf("only %d demands", len(r.Facts.Demands))
	}
	for _, d := range r.Facts.Demands {
		if d.From.Before(h.start.Add(to)) && d.To.After(h.start.Add(from).Add(time.Second)) {
			t.Errorf("a call from %v to %v, while the machine slept", d.From, d.To)
		}
	}
	for _, x := range r.Coverage {
		if known := 1 - (to-from).Hours()/(9*24); x.Series.Point == decode.HeatDemand && (x.Share > known+0.001 || x.Share < known-0.03) {
			t.Errorf("coverage %.4f, want %.4f", x.Share, known)
		}
	}
	want, _, _ := foundIn(t, path, 1)
	if got, _, _ := foundIn(t, path, 3); got != want {
		t.Error(difference(want, got))
	}
	keep := keeperOf(t, t.TempDir(), "one")
	first := told(t, path, "", keep, 1)
	if got := told(t, path, "", keep, 3); got != first || keep.worked != 0 {
		t.Errorf("%d chunks are worked out again: %s", keep.worked, difference(first, got))
	}
}
