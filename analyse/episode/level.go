package episode

import "time"

// holdAtLeast is the shortest time for which a state is taken to hold without a new reading: OpenTherm's own time
// after which a master calls the bus faulty (OpenTherm Protocol Specification v2.2, 2.3).
const holdAtLeast = 60 * time.Second

// holdIntervals is the number of usual intervals for which a reading stands: the same three as in coverage.
const holdIntervals = 3

// change is what one reading did to a level.
type change uint8

const (
	same change = iota
	rose
	fell
)

// level follows one 0/1 point and keeps the spans in which it was 1. It knows when it does not know: after a gap
// the span before is closed where it was last seen, and what follows is marked as cut.
type level struct {
	owner   string // the source that gives it; the first one that delivers the point
	seen    bool
	known   bool
	on      bool
	last    time.Time
	changed time.Time
	cadence Cadence
	spans   []Span
}

// takes tells whether the level listens to the source.
func (l *level) takes(source string) bool {
	if !l.seen {
		l.owner, l.seen = source, true
	}
	return l.owner == source
}

// hold is how long the last reading stands.
func (l *level) hold() time.Duration { return max(holdAtLeast, holdIntervals*l.cadence.Usual()) }

// update takes a reading. lost tells that a gap came before it (then lastSeen is the end of what was known).
func (l *level) update(t time.Time, on bool) (c change, lost bool, lastSeen time.Time) {
	if l.known {
		gap := t.Sub(l.last)
		l.cadence.Add(gap)
		if gap > l.hold() {
			lost, lastSeen = true, l.last
			l.cut()
		}
	}
	first := !l.known
	l.known, l.last = true, t
	switch {
	case on && (first || !l.on):
		l.spans = append(l.spans, Span{From: t, To: t, Cut: first, Open: true})
		l.changed, c = t, rose
	case !on && !first && l.on:
		s := &l.spans[len(l.spans)-1]
		s.To, s.Open = t, false
		l.changed, c = t, fell
	case first:
		l.changed = t
	}
	l.on = on
	if on {
		l.spans[len(l.spans)-1].To = t
	}
	return c, lost, lastSeen
}

// cut forgets the state: what is open ends where it was last seen.
func (l *level) cut() {
	l.known, l.on = false, false
}

// stale tells whether the level is not known at t.
func (l *level) stale(t time.Time) bool { return !l.known || t.Sub(l.last) > l.hold() }

// value is one analogue point of one source, the last reading only.
type value struct {
	v    float64
	t    time.Time
	seen bool
}

// freshFor is how long an analogue value may describe the present in the story before an event. Own proposal:
// outside temperature and pressure are asked for rarely, but hardly change in this time.
const freshFor = 10 * time.Minute

func (v value) at(t time.Time) *float64 {
	if !v.seen || t.Sub(v.t) > freshFor {
		return nil
	}
	x := v.v
	return &x
}
