package episode

import (
	"time"

	"tundish/decode"
)

// waitCold is how far the flow must lie below its set-point when the burner lights for the call alone to have set the
// time: a burner called while the water is warm waits for its switch-on differential, K. Own proposal: twice the 5 K that
// are usual (common practice, no source), and 2 K beyond.
const waitCold = 12.0

// waitMost is the longest wait for the burner that is told, and how long ago a flame may have gone out to have met a call:
// half of what a day's piece looks back ([Lead]), so that all pieces tell the same. Whoever waited for longer did not wait for the burner alone. Own proposal.
const waitMost = Lead / 2

// startWait is how long the call for heat or hot water stands that the burner lights for at t, 0 where it is not known:
// the call was not seen to begin, or longer ago than waitMost, it began while the burner burned, or the water was warm
// enough for the burner to wait.
func (b *Builder) startWait(t time.Time) time.Duration {
	called := func(l *level) time.Time {
		if n := len(l.spans); !l.on || l.stale(t) || n == 0 || l.spans[n-1].Cut {
			return time.Time{}
		}
		return l.changed
	}
	at := called(&b.hotWater)
	if !b.hotWater.on {
		s := b.setpoint
		flow := b.of(s.owner).values[decode.Flow]
		if !s.seen || s.age(t) > setpointStands || !flow.fresh(t) || flow.v > s.v-waitCold {
			return 0
		}
		at = called(&b.demand)
		if l := &b.hotWater; l.known && l.changed.After(at) { // it waited for hot water to be made
			return 0
		}
	}
	before := b.lastFiring()
	if at.IsZero() || !at.After(before.To) || !t.After(at) {
		return 0
	}
	if wait := t.Sub(at); wait <= waitMost {
		return wait
	}
	return 0
}

// startDeltas are flow less return at t by the source that gives the set-point and by any other, K.
func (b *Builder) startDeltas(t time.Time) (own, other Maybe) {
	if !b.setpoint.seen {
		return own, other
	}
	for _, s := range b.sources {
		flow, ret := s.values[decode.Flow], s.values[decode.Return]
		if !flow.seen || !ret.seen || flow.age(t) > settlePair || ret.age(t) > settlePair {
			continue
		}
		d := Maybe{float32(flow.v - ret.v), true}
		if s.name == b.setpoint.owner {
			own = d
		} else if !other.Known {
			other = d
		}
	}
	return own, other
}
