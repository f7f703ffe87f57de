package episode

import (
	"time"

	"tundish/decode"
)

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
		case !f.seen || !r.seen || t.Sub(f.t) > waterFresh || t.Sub(r.t) > waterFresh:
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

// mean is the temperature of the water: of flow and return by one source, else of a flow alone.
func (w *pressureWatch) mean(b *Builder, t time.Time) (water float64, source string, flowOnly, ok bool) {
	good := func(v value) bool { return v.seen && t.Sub(v.t) <= waterFresh }
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
		return 0, "", false, false
	}
	s := b.sources[best]
	f := s.values[decode.Flow].v
	if rank < 4 {
		return f, s.name, true, true
	}
	return (f + s.values[decode.Return].v) / 2, s.name, false, true
}
