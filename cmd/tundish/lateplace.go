package main

import (
	"context"
	"math"
	"time"

	"tundish/capture/capfile"
	"tundish/decode"
	"tundish/decode/payload"
)

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
	q, err := c.gather(ctx, of, l.only)
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
		// What a decoder without a sender's time held back is given as it comes, however long that took.
		if came.Sub(r.Time) <= payload.AtOnce || !c.late.has(r.Series.Source) {
			return firstError(failed, emit(r))
		}
		if l.missed != nil {
			late := r // few are: none but those goes to the heap
			l.missed(&late, by, came)
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
	if c.late.hasPlace(r, run, came) || came.Sub(r.Time) > payload.LateMost || !c.late.has(r.Series.Source) {
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
