package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/capture"
	"tundish/capture/capfile"
	"tundish/cmd/tundish/house"
	"tundish/dashboards/findings"
)

// clockHouse is a day of a house, to be recorded by boxes whose clocks are wrong in various ways.
type clockHouse struct {
	t     *testing.T
	sheet string
	day   []capture.Record
}

func newClockHouse(t *testing.T) *clockHouse {
	t.Helper()
	s, _ := house.Find(demoScenario)
	s.Days, s.Bus.Every, s.Probes.Every = 1, time.Minute, time.Minute
	h := &clockHouse{t: t, sheet: string(s.JobSheet(1))}
	_, err := s.Simulate(t.Context(), 1, house.Listener{Record: func(rec capture.Record) error {
		rec.Payload = slices.Clone(rec.Payload)
		h.day = append(h.day, rec)
		return nil
	}})
	h.must(err)
	return h
}

func (h *clockHouse) must(err error) {
	h.t.Helper()
	if err != nil {
		h.t.Fatal(err)
	}
}

// clockRun is one run of the logger: what it recorded of the house's days, and what it saw of the clock of its box.
type clockRun struct {
	from, to time.Duration // since the first day began
	looks    []capfile.Observation
}

// right is a clock that is right, where the first day began at start.
func (r clockRun) right(start time.Time) clockRun {
	r.looks = append(r.looks, capfile.Observation{Wall: start.Add(r.from), Synced: true})
	return r
}

// write records runs in a capture, in a zone.
func (h *clockHouse) write(name, zone string, runs ...clockRun) (path string) {
	h.t.Helper()
	path = filepath.Join(h.t.TempDir(), name)
	w, err := capfile.Create(path, capfile.Options{BlockRecords: 500})
	h.must(err)
	for _, r := range runs {
		run, err := w.StartRun(capfile.RunInfo{Kind: capfile.Record, Program: "test", Started: r.looks[0].Wall, Sources: []string{house.SourceBus, house.SourceProbes}})
		h.must(err)
		h.must(w.Sheet(run, "job.toml", []byte(strings.Replace(h.sheet, `"Europe/London"`, `"`+zone+`"`, 1))))
		looks := r.looks
		const long = 24 * time.Hour
		for d := r.from.Truncate(long); d < r.to; d += long {
			for _, rec := range h.day {
				if rec.At += d; rec.At < r.from || rec.At >= r.to {
					continue
				}
				rec.Run, rec.At = run, rec.At-r.from
				for len(looks) > 0 && looks[0].At <= rec.At {
					h.must(w.Observe(run, looks[0]))
					looks = looks[1:]
				}
				h.must(w.Append(rec))
			}
			h.must(w.Commit())
		}
		h.must(w.EndRun(run, r.to-r.from, "a test ends"))
	}
	h.must(w.Close())
	return path
}

// seen is the result of an analysis, and what people read of it, with every episode, on lines of their own.
func (h *clockHouse) seen(path string) (r *analyse.Result, text string) {
	h.t.Helper()
	c, err := openCapture(path, "")
	h.must(err)
	defer c.close()
	r, seen, err := c.analyseOn(h.t.Context(), 2)
	h.must(err)
	var b bytes.Buffer
	h.must(findings.WriteText(&b, r, c.sheet.Job.Zone, 1000, findings.Options{Episodes: true, Warnings: c.warnings(seen)}))
	return r, b.String()
}

// exported is a capture as CSV.
func (h *clockHouse) exported(path string, more ...string) string {
	h.t.Helper()
	out := path + ".csv"
	done(h.t, append([]string{"export", path, "-o", out}, more...)...)
	text, err := os.ReadFile(out)
	h.must(err)
	return string(text)
}

// html is the report.
func (h *clockHouse) html(path string) string {
	h.t.Helper()
	done(h.t, "report", "--no-cache", path, "-o", path+".html")
	text, err := os.ReadFile(path + ".html")
	h.must(err)
	return string(text)
}

var _ = context.Background

func TestScratch(t *testing.T) {
	h := newClockHouse(t)
	start := time.Date(2026, 10, 24, 18, 0, 0, 0, time.UTC)
	boot := time.Date(1970, 1, 1, 0, 0, 20, 0, time.UTC)
	const hour = time.Hour
	show := func(what, path string) {
		at := time.Now()
		r, text := h.seen(path)
		t.Logf("==== %s: %v to %v, %d firings, %v\n%.9000s", what, r.From, r.To, len(r.Facts.Firings), time.Since(at), text)
		for _, d := range r.Facts.Days {
			t.Log(d.From, d.To)
		}
		at = time.Now()
		html := h.html(path)
		t.Log(len(html), time.Since(at))
		os.WriteFile("/tmp/w/scratch-i2-"+what+".html", []byte(html), 0o600)
		os.WriteFile("/tmp/w/scratch-i2-"+what+".csv", []byte(h.exported(path)), 0o600)
	}
	show("dst", h.write("dst.capture", "Europe/London", clockRun{from: 0, to: 60 * hour}.right(start)))
	show("boot", h.write("boot.capture", "Europe/London", clockRun{from: 0, to: 20 * hour, looks: []capfile.Observation{{Wall: boot}, {At: 5 * hour, Wall: start.Add(5 * hour), Synced: true}}}))
	show("two", h.write("two.capture", "Europe/London", clockRun{from: 0, to: 10 * hour, looks: []capfile.Observation{{Wall: boot}, {At: 5 * hour, Wall: boot.Add(5 * hour)}}},
		clockRun{from: 12 * hour, to: 24 * hour, looks: []capfile.Observation{{Wall: boot}, {At: hour, Wall: start.Add(13 * hour), Synced: true}}}))
	show("step", h.write("step.capture", "Europe/London", clockRun{from: 0, to: 24 * hour, looks: []capfile.Observation{{Wall: start.Add(hour), Synced: true}, {At: 5 * hour, Wall: start.Add(6 * hour), Synced: true}, {At: 5*hour + time.Second, Wall: start.Add(5*hour + time.Second), Synced: true}}}))
}
