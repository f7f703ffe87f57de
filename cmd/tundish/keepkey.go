package main

import (
	"crypto/sha256"
	"fmt"
	"hash"
	"maps"
	"runtime"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/capture/capfile"
)

// key is the hash over all that a chunk's parts follow from. False: they cannot be kept.
func (k *keeper) key(c *captured, cfg *analyse.Config, x *chunk) (key [sha256.Size]byte, ok bool) {
	if x.bounds.From.IsZero() { // nothing was recorded
		return key, false
	}
	records, ok := c.reader.Fingerprint(x.window)
	if !ok {
		return key, false
	}
	h := sha256.New()
	h.Write(k.program[:])
	h.Write(records[:])
	say(h, "on %s; days %s to %s, records %s to %s, none %t, going %t", runtime.GOARCH, stamp(x.bounds.From), stamp(x.bounds.To),
		stamp(x.window.From), stamp(x.window.To), x.none, x.going)
	say(h, "zone %s", cfg.Site.Zone)
	for day := cfg.Day(x.bounds.From); ; day = day.Next(cfg.Site.Zone) {
		say(h, "day %s %s %s", stamp(day.From), stamp(day.To), day.Lead)
		if !x.bounds.To.IsZero() && !day.To.Before(x.bounds.To) || x.bounds.To.IsZero() && day.To.After(lastOf(cfg)) {
			break
		}
	}
	say(h, "buses %q, contacts %v", cfg.Buses, cfg.Contacts)
	say(h, "said before: %s", x.before)
	say(h, "plant %q, house %q", c.sheet.Text, c.sheet.Site.HouseText)
	c.sayRuns(h, x.window)
	c.late.say(h, x.window)
	h.Sum(key[:0])
	return key, true
}

// sayRuns puts into a hash which runs reach into a window, and by which job sheets they are read.
func (c *captured) sayRuns(h hash.Hash, w capfile.Window) {
	for _, r := range c.reader.Runs() {
		if r.Kind == capfile.Note || r.From.IsZero() || !w.To.IsZero() && !r.From.Before(w.To) || r.To.Before(w.From) {
			continue
		}
		from, to := r.From, r.To
		if from.Before(w.From) {
			from = w.From
		}
		if !w.To.IsZero() && to.After(w.To) {
			to = w.To
		}
		say(h, "run %d %s %s to %s, sources %q", r.Number, r.Kind, stamp(from), stamp(to), r.Sources)
		for _, x := range r.Sleeps {
			if (w.To.IsZero() || x.From.Before(w.To)) && !x.To.Before(w.From) {
				say(h, "slept %s to %s", stamp(x.From), stamp(x.To))
			}
		}
		say(h, "sheet %q", c.sheetOf(r.Number).Text)
	}
}

// lateKey is the hash over all that what came late in some days follows from. False: it cannot be kept.
func (k *keeper) lateKey(c *captured, p *latePiece) (key [sha256.Size]byte, ok bool) {
	if k == nil {
		return key, false
	}
	records, ok := c.reader.FingerprintOf(p.reads(), c.late.has)
	if !ok {
		return key, false
	}
	h := sha256.New()
	h.Write(k.program[:])
	h.Write(records[:])
	say(h, "late on %s; %s to %s of %q", runtime.GOARCH, stamp(p.window.From), stamp(p.window.To), slices.Sorted(maps.Keys(c.late.of)))
	say(h, "plant %q, house %q", c.sheet.Text, c.sheet.Site.HouseText)
	c.sayRuns(h, p.reads())
	h.Sum(key[:0])
	return key, true
}

// lastOf is when the last run ends.
func lastOf(cfg *analyse.Config) (last time.Time) {
	for _, r := range cfg.Runs {
		if r.To.After(last) {
			last = r.To
		}
	}
	return last
}

// say puts a line into a hash.
func say(h hash.Hash, format string, args ...any) { fmt.Fprintf(h, format+"\n", args...) }

func stamp(t time.Time) string {
	if t.IsZero() {
		return "open"
	}
	return t.UTC().Format(time.RFC3339Nano)
}
