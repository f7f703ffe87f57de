package episode

import (
	"math"
	"time"
)

// holdAtLeast is the shortest time for which a state is taken to hold without a new reading: OpenTherm's own time
// after which a master calls the bus faulty (OpenTherm Protocol Specification v2.2, 2.3).
const holdAtLeast = 60 * time.Second

// firstHold is how long a first reading stands before the usual interval is known: the longest interval at which a
// file of readings is worth looking at. Own proposal.
const firstHold = 15 * time.Minute

// holdIntervals is the number of usual intervals for which a reading stands: the same three as in coverage.
const holdIntervals = 3

// diesWithin is the longest gap in the word of an appliance with switched mains that is not yet the mains. Own
// proposal: twice [busPause].
const diesWithin = 2 * busPause

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
	dies    bool   // with the mains, which are switched: what ends unseen ended when it was last seen
	owner   string // the source that gives it: the first that delivers the point, until it falls silent
	seen    bool
	known   bool
	on      bool
	last    time.Time
	until   moment // how long the last reading stands
	changed time.Time
	cadence Cadence
	spans   []Span
	sight   []Span // in which the level was known at all
}

// takes tells whether the level listens to the source. Where its owner has fallen silent, another that gives the
// same point takes over; what was known ends there.
func (l *level) takes(source string, t time.Time) bool {
	if !l.seen || l.owner != source && l.stale(t) {
		l.owner, l.seen = source, true
		l.cut()
	}
	return l.owner == source
}

// hold is how long the last reading stands.
func (l *level) hold() time.Duration {
	if l.cadence.n == 0 {
		return firstHold
	}
	return max(holdAtLeast, holdIntervals*l.cadence.Usual())
}

// update takes a reading. lost tells that a gap came before it (then lastSeen is the end of what was known).
func (l *level) update(t time.Time, on bool) (c change, lost bool, lastSeen time.Time) {
	if l.known {
		gap := since(t, l.last)
		if gap > l.hold() || l.dies && l.on && !on && gap > max(diesWithin, holdIntervals*l.cadence.Usual()) {
			lost, lastSeen = true, l.last
			l.cut()
		}
		if gap > 0 { // the same moment told twice is no interval
			l.cadence.Add(gap)
		}
	}
	first := !l.known
	l.known, l.last, l.until = true, t, momentOf(t)+moment(l.hold())
	if first {
		l.sight = append(l.sight, Span{From: t})
	}
	l.sight[len(l.sight)-1].To = t
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

// dateBack moves the beginning of the span under way to an earlier moment, but not into the span before it.
func (l *level) dateBack(t time.Time) {
	n := len(l.spans) - 1
	if n > 0 && t.Before(l.spans[n-1].To) {
		t = l.spans[n-1].To
	}
	l.spans[n].From, l.changed = t, t
}

// cut forgets the state: what is open ends where it was last seen.
func (l *level) cut() {
	l.known, l.on = false, false
}

// stale tells whether the level is not known at t.
func (l *level) stale(t time.Time) bool { return !l.known || moment(t.UnixNano()) > l.until }

// value is one analogue point of one source, the last reading only.
type value struct {
	v    float64
	t    moment
	seen bool
}

// freshFor is how long an analogue value may describe the present in the story before an event. Own proposal:
// outside temperature and pressure are asked for rarely, but hardly change in this time.
const freshFor = 10 * time.Minute

func (v value) fresh(t time.Time) bool { return v.seen && v.age(t) <= freshFor }

// age is how long before t the value came; without a value longer than any limit.
func (v value) age(t time.Time) time.Duration {
	if v.t == 0 {
		return math.MaxInt64
	}
	return time.Duration(t.UnixNano() - int64(v.t))
}

func (v value) at(t time.Time) *float64 {
	if !v.fresh(t) {
		return nil
	}
	x := v.v
	return &x
}
