package episode

import (
	"time"

	"tundish/decode"
)

// Maybe is a value that may not be known.
type Maybe struct {
	Value float32
	Known bool
}

// Start is what was known when a burner lit, or tried to.
type Start struct {
	Outside  Maybe // °C
	Pressure Maybe // bar
	Flow     Maybe // °C
	// Frost is how long the outside had been below freezing without a break, as far as it was seen, at most
	// [FrostSeen]; 0: it was not, or not known.
	Frost time.Duration
	// Wait is how long the call had stood that the burner lit for; 0: not known, see startWait.
	Wait time.Duration
	// Own and Other are flow less return by the source that gives the set-point and by another, K. After a long rest
	// water stands as warm in both pipes, and what is left is the sensors'.
	Own, Other Maybe
}

const (
	// FrostSeen is the longest frost that is told. Own proposal: what freezes in a pipe does so within hours.
	FrostSeen = 6 * time.Hour
	// frostBelow is the outside temperature that counts as frost, °C.
	frostBelow = 0.0
	// thawFrom ends a frost, °C. Own proposal: a bus gives steps of up to 1 K, and a sensor on a wall is about as far out.
	thawFrom = 1.0
	// slowFor is how long the outside temperature and the pressure of cold water stand for the present at a start: they
	// are asked for rarely. Own proposal.
	slowFor = time.Hour
)

// frostWatch follows how long it has been freezing outside.
type frostWatch struct {
	since, last time.Time
}

func (w *frostWatch) take(t time.Time, outside float64) {
	switch {
	case outside >= thawFrom:
		w.since = time.Time{}
	case since(t, w.last) > slowFor:
		w.since = time.Time{} // nobody looked
		fallthrough
	default:
		if w.since.IsZero() && outside < frostBelow {
			w.since = t
		}
	}
	w.last = t
}

func (w *frostWatch) at(t time.Time) time.Duration {
	if w.since.IsZero() || since(t, w.last) > slowFor {
		return 0
	}
	return min(since(t, w.since), FrostSeen)
}

// startState is what is known at t of a start.
func (b *Builder) startState(t time.Time) Start {
	s := Start{Outside: b.latest(decode.Outside).within(t, slowFor), Pressure: b.latest(decode.Pressure).within(t, slowFor),
		Flow: b.latest(decode.Flow).within(t, freshFor)}
	if s.Outside.Known {
		s.Frost = b.frost.at(t)
	}
	s.Own, s.Other = b.startDeltas(t)
	return s
}

func (v value) within(t time.Time, d time.Duration) Maybe {
	if !v.seen || v.age(t) > d {
		return Maybe{}
	}
	return Maybe{float32(v.v), true}
}
