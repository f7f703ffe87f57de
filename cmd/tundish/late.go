package main

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"hash"
	"maps"
	"math"
	"slices"
	"time"

	"tundish/capture/capfile"
	"tundish/decode"
	"tundish/decode/payload"
)

// A broker that was not reached for hours delivers what its sensors sent meanwhile all at once. Where the sender's time
// stands in the messages, each reading belongs to that time. A first pass over the sources that give such a time, and over
// no other, finds which hours have late readings and when those came; whoever reads a stretch of the record then reads
// them again, puts them in order and gives each its place.

// latePieceDays is how many days of arrivals the first pass takes at a time. They are counted in the calendar, so that
// the result is the same for any number of workers.
const latePieceDays = 4

// lateIndex says in which hours there are late readings.
type lateIndex struct {
	of     map[string]bool // the sources whose messages give the sender's time
	runs   []capfile.Run   // of the logger, and of files: those whose time is known
	pieces []latePiece     // by arrival, in order
}

// latePiece is what came late in some days of arrivals.
type latePiece struct {
	window capfile.Window
	hours  map[int64]*lateHour // by the hour since 1970 of the sender's time
}

// lateHour is what came late of one hour, in one piece. Fields are exported so that it can be kept in a file.
type lateHour struct {
	Last time.Time // arrival
	Sum  [sha256.Size]byte
}

func (x *lateIndex) has(source string) bool { return x != nil && x.of[source] }

// dated are the sources whose messages give the sender's time, by any of the job sheets in use.
func (c *captured) dated() map[string]bool {
	out := map[string]bool{}
	for _, r := range c.reader.Runs() {
		for _, s := range c.sheetOf(r.Number).Sources {
			if s.MQTT != nil && slices.ContainsFunc(s.MQTT.Values, func(v payload.Value) bool { return v.Time != nil }) {
				out[s.Name] = true
			}
		}
	}
	return out
}

// findLate makes the index. Without a source that gives the sender's time there is nothing to read.
func (c *captured) findLate(ctx context.Context, p *pool) error {
	x := &lateIndex{of: c.dated()}
	c.late = x
	for _, r := range c.reader.Runs() {
		if r.Kind != capfile.Note && !r.From.IsZero() {
			x.runs = append(x.runs, r)
		}
	}
	if len(x.of) == 0 || len(x.runs) == 0 {
		return nil
	}
	from, to := x.span()
	const long = latePieceDays * 24 * time.Hour
	for at := from.Truncate(long); !at.After(to); at = at.Add(long) {
		if w := (capfile.Window{From: at, To: at.Add(long)}); c.reader.Meets(w) {
			x.pieces = append(x.pieces, latePiece{window: w})
		}
	}
	return p.each(ctx, len(x.pieces), func(ctx context.Context, own *captured, i int) error {
		return own.look(ctx, &x.pieces[i])
	})
}

// span is when the first run begins and the last one ends.
func (x *lateIndex) span() (from, to time.Time) {
	for _, r := range x.runs {
		if from.IsZero() || r.From.Before(from) {
			from = r.From
		}
		if r.To.After(to) {
			to = r.To
		}
	}
	return from, to
}

// look notes what came late in a piece. What was found before is taken where it still holds.
func (c *captured) look(ctx context.Context, p *latePiece) error {
	key, lasts := c.keep.lateKey(c, p)
	if lasts {
		if kept, ok := c.keep.read(key); ok && c.reader.SoundOf(ctx, p.reads(), c.late.has) {
			p.hours = kept.Late
			return nil
		}
	}
	if c.keep != nil {
		c.keep.looked.Add(1)
	}
	p.hours = map[int64]*lateHour{}
	sums := map[int64]hash.Hash{}
	seen, err := c.lateIn(ctx, p.window, nil, func(came time.Time, run uint32, r *decode.Reading) error {
		hour := r.Time.Unix() / 3600
		h, sum := p.hours[hour], sums[hour]
		if h == nil {
			h, sum = &lateHour{}, sha256.New()
			p.hours[hour], sums[hour] = h, sum
		}
		if came.After(h.Last) {
			h.Last = came
		}
		// A hash takes all that it is given.
		binary.Write(sum, binary.BigEndian, []uint64{r.Seq, uint64(run), uint64(r.Time.UnixNano()), math.Float64bits(r.Value), uint64(r.Quality)})
		say(sum, "%q %q", r.Series, r.Why)
		return nil
	})
	if err != nil {
		return err
	}
	for hour, h := range p.hours {
		sums[hour].Sum(h.Sum[:0])
	}
	if lasts && len(seen.damage) == 0 {
		if err := c.keep.write(key, &keptChunk{Late: p.hours}); err != nil { // the next analysis does it again
			c.keep.log.Debug("what came late is not kept", "folder", c.keep.folder, "error", err)
		}
	}
	return nil
}

// reads is the window whose records are read for a piece.
func (p *latePiece) reads() capfile.Window {
	return capfile.Window{From: p.window.From.Add(-warmUp), To: p.window.To}
}

// lateIn gives the late readings of some sources (nil: of all) that came in a window, in order of arrival. The decoders begin some minutes before it,
// and always at the same place, so that two looks give the same.
func (c *captured) lateIn(ctx context.Context, w capfile.Window, only func(source string) bool, give func(came time.Time, run uint32, r *decode.Reading) error) (*scanned, error) {
	var came time.Time
	var run uint32
	return c.scan(ctx, capfile.Window{From: w.From.Add(-warmUp), To: w.To}, listener{
		only:   func(source string) bool { return c.late.has(source) && (only == nil || only(source)) },
		record: func(_ string, n uint32, t time.Time, _ string) { came, run = t, n },
		going:  true,
	}, func(r decode.Reading) error {
		if after := came.Sub(r.Time); came.Before(w.From) || after <= payload.AtOnce || after > payload.LateMost {
			return nil
		}
		return give(came, run, &r)
	})
}

// in gives the pieces in which something came late that belongs into a window, and until when it came.
func (x *lateIndex) in(w capfile.Window, found func(p *latePiece, last time.Time)) {
	if x == nil {
		return
	}
	for i := range x.pieces {
		p := &x.pieces[i]
		var last time.Time
		for hour, h := range p.hours {
			if hourMeets(hour, w) && h.Last.After(last) {
				last = h.Last
			}
		}
		if !last.IsZero() {
			found(p, last)
		}
	}
}

// meets tells whether something came late that belongs into a window, or near it.
func (x *lateIndex) meets(w capfile.Window) (any bool) {
	x.in(w, func(*latePiece, time.Time) { any = true })
	return any
}

// say puts into a hash what came late of a window.
func (x *lateIndex) say(h hash.Hash, w capfile.Window) {
	if x == nil {
		return
	}
	for i := range x.pieces {
		p := &x.pieces[i]
		for _, hour := range slices.Sorted(maps.Keys(p.hours)) {
			if hourMeets(hour, w) {
				say(h, "late of %d: %x", hour, p.hours[hour].Sum)
			}
		}
	}
}

func hourMeets(hour int64, w capfile.Window) bool {
	from := time.Unix(hour*3600, 0)
	return (w.From.IsZero() || from.Add(time.Hour).After(w.From)) && (w.To.IsZero() || from.Before(w.To))
}

// runAt finds the run that was going at a time: a reading that came late by a later run belongs to it. own is the run by
// which it came.
func (x *lateIndex) runAt(own uint32, t time.Time) (run uint32, ok bool) {
	for i := range x.runs {
		r := &x.runs[i]
		if t.Before(r.From) || t.After(r.To) || slices.ContainsFunc(r.Sleeps, func(s capfile.Sleep) bool { return t.After(s.From) && t.Before(s.To) }) {
			continue
		}
		if r.Number == own {
			return own, true
		}
		run, ok = r.Number, true
	}
	return run, ok
}

// hasPlace tells whether a reading that came late by a run is given in its own place of the order of time.
func (x *lateIndex) hasPlace(r *decode.Reading, run uint32, came time.Time) bool {
	_, ok := x.runAt(run, r.Time)
	return ok && came.Sub(r.Time) <= payload.LateMost && x.has(r.Series.Source)
}

// gather puts the late readings of a window in order, of some sources; nil: of all. No queue: there are none.
func (c *captured) gather(ctx context.Context, w capfile.Window, only func(source string) bool) (q *lateQueue, err error) {
	if !c.late.meets(w) || only != nil && !slices.ContainsFunc(slices.Collect(maps.Keys(c.late.of)), only) {
		return nil, nil
	}
	if q, err = newLateQueue(); err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			q.close()
			q = nil
		}
	}()
	var failed error
	c.late.in(w, func(p *latePiece, last time.Time) {
		if failed != nil {
			return
		}
		_, failed = c.lateIn(ctx, capfile.Window{From: p.window.From, To: last.Add(time.Microsecond)}, only,
			func(_ time.Time, own uint32, r *decode.Reading) error {
				run, ok := c.late.runAt(own, r.Time)
				if !ok || !w.Has(r.Time) {
					return nil
				}
				return q.put(run, r)
			})
	})
	if failed != nil {
		return q, failed
	}
	return q, q.sorted()
}
