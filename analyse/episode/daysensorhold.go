package episode

import (
	"time"

	"tundish/decode"
)

const (
	// holdGap is how far apart the readings of one held value may be. Own proposal: nobody looked in between.
	holdGap = 30 * time.Minute
	// holdLeast is the shortest stretch of one value worth keeping, and holdMoved by how much the other pipe must have
	// moved for it to be preferred to a longer one, K. Own proposal.
	holdLeast, holdMoved = time.Hour, 8.0
	// slowTau is the time constant that smooths a pipe when the other one is held against it. Emitters do so with short
	// burns, so that a return may stand while the flow swings with each. Own proposal.
	// What went before is forgotten after three of it.
	slowTau, slowTold = 5 * time.Minute, 3 * slowTau
)

// holdTrack is a stretch of one value under way.
type holdTrack struct {
	on           bool
	from         moment
	n            int
	pair, twin   spread // as of the last reading of the value
	pairs, twins spread // with what came since: the value itself may be about to move
	others       bool
	single       bool
	lit, dark    time.Duration
	hotWater     time.Duration
}

// spread is a range of values.
type spread struct {
	low, high float64
	seen      bool
}

// stayed takes the lower and the higher of two values on end: what only one of them is, a jump, does not widen the range.
func (s *spread) stayed(low, high float64) {
	if !s.seen {
		*s = spread{high, low, true}
	}
	if high < s.low {
		s.low = high
	}
	if low > s.high {
		s.high = low
	}
}

// again begins anew with the value that is held.
func (h *holdTrack) again(last value) {
	*h = holdTrack{on: last.seen, from: last.t, n: 1, single: true}
}

// held follows the value, and tells the stretches of the others that it moved. Where nobody tells when hot water is made,
// another source's sensor of the same pipe may see other water.
func (x *sensorTrack) held(w *sensorWatch, t moment, v float64, railed bool) {
	switch h := &x.hold; {
	case !h.on || !x.last.seen || t.since(x.last.t) > holdGap || v != x.last.v:
		if h.on && x.last.seen {
			x.closeHold()
		}
		*h = holdTrack{on: true, from: t, n: 1, single: true}
	default:
		h.n++
		h.pair, h.twin = h.pairs, h.twins
	}
	if !x.last.seen || railed {
		x.slow = v
		return // it says nothing of the others
	}
	dt := t.since(x.last.t)
	x.slow += (v - x.slow) * float64(dt) / float64(slowTau+dt)
	moved, lower, higher := v != x.last.v, v, x.last.v
	if lower > higher {
		lower, higher = higher, lower
	}
	for _, y := range x.mates {
		y.hold.single = false
		y.hold.others = y.hold.others || moved && t > y.hold.from
	}
	for _, y := range x.pairs {
		if t.since(y.hold.from) >= slowTold {
			y.hold.pairs.stayed(x.slow, x.slow)
		}
	}
	if len(x.twins) == 0 || w.tapped.on || t.within(jumpExcused, w.tapped.changed) || x.pipe && w.tapped.last == 0 {
		return
	}
	for _, y := range x.twins {
		y.hold.twins.stayed(lower, higher)
	}
}

func pipes(p decode.Point) bool { return p == decode.Flow || p == decode.Return }

// closeHold keeps the stretch that ends with the last reading if it is the day's most telling.
func (x *sensorTrack) closeHold() {
	h := &x.hold
	if !h.on || !x.last.seen || x.last.t.since(h.from) < holdLeast {
		return
	}
	s := SensorHold{From: h.from.time(), To: x.last.t.time(), N: h.n, Value: x.last.v, Pair: h.pair.high - h.pair.low, PairTop: h.pair.high, Twin: h.twin.high - h.twin.low,
		TwinSeen: h.twin.seen, Others: h.others, Single: h.single, Lit: h.lit, Dark: h.dark, HotWater: h.hotWater}
	old := &x.day.Hold
	tells := func(s *SensorHold) bool { return s.Pair >= holdMoved || s.Twin >= holdMoved }
	if old.N == 0 || tells(&s) && !tells(old) || tells(&s) == tells(old) && s.Duration() > old.Duration() {
		*old = s
	}
}
