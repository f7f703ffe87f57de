package episode

import (
	"time"

	"tundish/decode"
)

const (
	// standsAfter and StandsApart tell water that stands: so long after the burner went off flow is still so far above
	// return, K. Water that moves renews an exchanger's content within two minutes. Own proposals.
	standsAfter = 2 * time.Minute
	StandsApart = 20.0
	// movesApart tells that it moves again: the spread, K, with the burner off; or returnShare: the return's excess over
	// standRoom as a share of the flow's. Own proposals: radiators of 70/50 leave 0.6 at the design flow (EN 442).
	movesApart, returnShare, standRoom = 10.0, 0.5, 20.0
)

// standing follows whether the water stands although it is to move, by its mean and by flow − return, K.
func (w *pressureWatch) standing(b *Builder, t time.Time, mean, spread float64) {
	if b.flame.stale(t) {
		return
	}
	flow, back := mean+spread/2, mean-spread/2
	off := !w.burning && !w.burnt.IsZero() && t.Sub(w.burnt) >= standsAfter
	switch {
	case !w.stands:
		w.stands = w.heating && off && spread >= StandsApart
	case !w.heating, off && spread < movesApart, flow > standRoom+movesApart && back-standRoom >= returnShare*(flow-standRoom):
		w.stands, w.since = false, t // it must go round first
	}
}

// state follows whether the heating's water moves.
func (w *pressureWatch) state(b *Builder, t time.Time, src *sourceValues) {
	var bits uint8
	hot := !b.hotWater.stale(t) && b.hotWater.on || !b.draw.stale(t) && b.draw.on
	heating, known := false, true
	switch {
	case !b.pump.stale(t):
		heating = b.pump.on && !hot
	case !b.heatActive.stale(t):
		heating = b.heatActive.on && !hot
	case !b.demand.stale(t) && !b.flame.stale(t):
		heating = b.demand.on && !hot
	case !b.flame.stale(t) && (!b.hotWater.stale(t) || !b.cfg.HotWaterMade):
		heating = b.flame.on && !hot
	default:
		known = false
		f, r := src.values[decode.Flow], src.values[decode.Return]
		switch {
		case !f.seen || !r.seen || f.age(t) > waterFresh || r.age(t) > waterFresh:
			heating = w.heating // this source cannot tell
		default:
			heating = f.v-r.v >= movingDelta && !hot
		}
	}
	if heating {
		bits |= 1
	}
	if hot {
		bits |= 2
		w.hotWater = t
	}
	if !b.pump.stale(t) && b.pump.on {
		bits |= 4
	}
	if bits != w.switches {
		w.switches, w.switched = bits, t
	}
	if heating != w.heating || w.since.IsZero() {
		w.heating, w.since = heating, t
	}
	w.known = known
}

// mean is the temperature of the water: of flow and return by one source, else of a flow alone; spread is flow − return, 0
// of a flow alone.
func (w *pressureWatch) mean(b *Builder, t time.Time) (water, spread float64, source string, flowOnly, ok bool) {
	good := func(v value) bool { return v.seen && v.age(t) <= waterFresh }
	rank, best := 0, -1
	for i, s := range b.sources {
		r := 0
		if good(s.values[decode.Flow]) {
			r = 2
			if good(s.values[decode.Return]) {
				r = 4
			}
			if s.name == w.owner {
				r++
			}
		}
		if r > rank || r == rank && r > 0 && s.name < b.sources[best].name {
			rank, best = r, i
		}
	}
	if best < 0 {
		return 0, 0, "", false, false
	}
	s := b.sources[best]
	f := s.values[decode.Flow].v
	if rank < 4 {
		return f, 0, s.name, true, true
	}
	r := s.values[decode.Return].v
	return (f + r) / 2, f - r, s.name, false, true
}
