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
	Hours  map[int64]*lateHour // by the hour since 1970 of the sender's time
}

// lateHour is what came late of one hour, in one piece.
type lateHour struct {
	Last time.Time // arrival
	Sum  [sha256.Size]byte
	all  hash.Hash
}

func (x *lateIndex) has(source string) bool { return x.of[source] }

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

// look notes what came late in a piece.
func (c *captured) look(ctx context.Context, p *latePiece) error {
	p.Hours = map[int64]*lateHour{}
	err := c.lateIn(ctx, p.window, func(came time.Time, run uint32, r *decode.Reading) error {
		hour := r.Time.Unix() / 3600
		h := p.Hours[hour]
		if h == nil {
			h = &lateHour{all: sha256.New()}
			p.Hours[hour] = h
		}
		if came.After(h.Last) {
			h.Last = came
		}
		// A hash takes all that it is given.
		binary.Write(h.all, binary.BigEndian, []uint64{r.Seq, uint64(run), uint64(r.Time.UnixNano()), math.Float64bits(r.Value), uint64(r.Quality)})
		say(h.all, "%q %q", r.Series, r.Why)
		return nil
	})
	for _, h := range p.Hours {
		h.all.Sum(h.Sum[:0])
		h.all = nil
	}
	return err
}

// lateIn gives the late readings that came in a window, in order of arrival. The decoders begin some minutes before it,
// and always at the same place, so that two looks give the same.
func (c *captured) lateIn(ctx context.Context, w capfile.Window, give func(came time.Time, run uint32, r *decode.Reading) error) error {
	var came time.Time
	var run uint32
	_, err := c.scan(ctx, capfile.Window{From: w.From.Add(-warmUp), To: w.To}, listener{
		only:   c.late.has,
		record: func(_ string, n uint32, t time.Time, _ string) { came, run = t, n },
		going:  true,
	}, func(r decode.Reading) error {
		if after := came.Sub(r.Time); came.Before(w.From) || after <= payload.AtOnce || after > payload.LateMost {
			return nil
		}
		return give(came, run, &r)
	})
	return err
}

// in gives the pieces in which something came late that belongs into a window, and until when it came.
func (x *lateIndex) in(w capfile.Window, found func(p *latePiece, last time.Time)) {
	if x == nil {
		return
	}
	for i := range x.pieces {
		p := &x.pieces[i]
		var last time.Time
		for hour, h := range p.Hours {
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
		for _, hour := range slices.Sorted(maps.Keys(p.Hours)) {
			if hourMeets(hour, w) {
				say(h, "late of %d: %x", hour, p.Hours[hour].Sum)
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
		if t.Before(r.From) || t.After(r.To) {
			continue
		}
		if r.Number == own {
			return own, true
		}
		run, ok = r.Number, true
	}
	return run, ok
}

// gather puts the late readings of a window in order. Nil: there are none.
func (c *captured) gather(ctx context.Context, w capfile.Window) (q *lateQueue, err error) {
	if !c.late.meets(w) {
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
		failed = firstError(failed, c.lateIn(ctx, capfile.Window{From: p.window.From, To: last.Add(time.Microsecond)},
			func(_ time.Time, own uint32, r *decode.Reading) error {
				run, ok := c.late.runAt(own, r.Time)
				if !ok || !w.Has(r.Time) {
					return nil
				}
				return q.put(run, r)
			}))
	})
	if failed != nil {
		return q, failed
	}
	return q, q.sorted()
}

// placing is a scan in which late readings have their place.
type placing struct {
	listener
	// late is told of a reading that came late, before it is given, as [listener.record] is of a record.
	late func(source string, run uint32, t time.Time)
	// missed is told of a reading that came too late for its place in the scan, when it came.
	missed func(r *decode.Reading, run uint32, came time.Time)
	// from is when the readings begin that are asked for; zero: as the window does.
	from time.Time
}

// scanPlaced is scan with late readings in their place: before the first record that came after their time.
func (c *captured) scanPlaced(ctx context.Context, w capfile.Window, l placing, emit func(decode.Reading) error) (*scanned, error) {
	of := w
	if !l.from.IsZero() {
		of.From = l.from
	}
	q, err := c.gather(ctx, of)
	if err != nil {
		return nil, err
	}
	if q != nil {
		defer q.close()
	}
	var failed error
	feed := func(until time.Time) {
		for failed == nil && q != nil {
			run, r, ok, err := q.next(until)
			if err != nil || !ok {
				failed = err
				return
			}
			if l.late != nil {
				l.late(r.Series.Source, run, r.Time)
			}
			failed = emit(r)
		}
	}
	tell := l.record
	var came time.Time
	var by uint32
	l.record = func(source string, run uint32, t time.Time, note string) {
		feed(t)
		came, by = t, run
		if tell != nil {
			tell(source, run, t, note)
		}
	}
	seen, err := c.scan(ctx, w, l.listener, func(r decode.Reading) error {
		if came.Sub(r.Time) <= payload.AtOnce {
			return firstError(failed, emit(r))
		}
		if l.missed != nil {
			l.missed(&r, by, came)
		}
		return failed
	})
	if err != nil {
		return nil, err
	}
	feed(time.Unix(0, math.MaxInt64))
	return seen, failed
}

// lateGone counts, by source, the late readings that have no place in the analysis though they are not too old for one.
type lateGone map[string]*[2]uint64

func (g lateGone) count(c *captured, r *decode.Reading, run uint32, came time.Time) {
	if _, ok := c.late.runAt(run, r.Time); ok || came.Sub(r.Time) > payload.LateMost || !c.late.has(r.Series.Source) {
		return
	}
	n := g[r.Series.Source]
	if n == nil {
		n = new([2]uint64)
		g[r.Series.Source] = n
	}
	if from, _ := c.late.span(); r.Time.Before(from) {
		n[0]++
	} else {
		n[1]++
	}
}

// into adds them to what was counted of the sources.
func (g lateGone) into(counted map[string][]decode.Count) {
	for source, n := range g {
		counted[source] = append(counted[source], decode.Count{Name: "values dated before the record began: not in the analysis", N: n[0]},
			decode.Count{Name: "values dated to when no logger ran: not in the analysis", N: n[1]})
	}
}
