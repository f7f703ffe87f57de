package episode

import (
	"cmp"
	"slices"
	"time"

	"tundish/decode"
)

// CylinderDay is how hot the store became over a day.
type CylinderDay struct {
	Sources []CylinderBy // in order of name
	// Setpoint is the highest hot-water set-point that was read, °C.
	Setpoint Maybe
}

// CylinderBy is the store by one sensor.
type CylinderBy struct {
	Source string
	// Hottest is the highest temperature that two readings after each other bear out, °C; At when it was read.
	Hottest, Coolest float32
	At               time.Time
	Seen             time.Duration // the time between readings that are near enough to miss no reheat
	Unseen           []Span        // stretches of the day in which it was not seen
	Fastest          float32       // K/min, the fastest rise over a minute or a little more
	Reheats          []StoreReheat
}

// StoreReheat is one stretch in which the store was heated and grew warmer.
type StoreReheat struct {
	Span
	First, Last float32 // °C by the sensor
	Flow        Maybe   // °C, highest flow over it, by the hotter of the sources
	Spread      Maybe   // K, flow − return at its end, while it was asked for as far as known
	FlowEnd     float32 // °C, the flow that goes with it; see EndSeen
	EndSeen     bool
	Modulation  Maybe // %, then
	Wanted      bool  // hot water was still asked for when it ended, or nobody says
	Asked       bool  // somebody says whether hot water is asked for
}

const (
	// storeStands is how far apart two readings may be for the store to be known between them. Own proposal: a reheat to
	// 60 °C and the draw that ends it take longer than half an hour together.
	storeStands = 30 * time.Minute
	// heldWithin is how near each other two readings must be to bear each other out. Own proposal: a store moves by a
	// kelvin or two a minute at most.
	heldWithin = 10 * time.Minute
	// reheatLeast is the rise that makes a stretch a reheat, K, and reheatDrops the fall that ends it. Own proposals:
	// sensors give steps of up to 1 K, and a draw makes the water at a sensor swing.
	reheatLeast, reheatDrops = 3.0, 1.5
	// coldestStore and hottestStore bound what water in a store can have, °C: beyond them the sensor is open, short or not
	// in water. Own proposal.
	coldestStore, hottestStore = 0.5, 99.0
	// reheatIdle is how long the store may stand still in a reheat. Own proposal: a heat pump warms 200 l by 1 K in
	// some minutes, in steps of 1 K.
	reheatIdle = 25 * time.Minute
)

// storeWatch follows one sensor of the store.
type storeWatch struct {
	day    CylinderBy
	last   value
	minute value // of a minute ago or a little more
	any    bool  // a reading of this day
	lowest value
	top    value
	rising bool
	now    StoreReheat
}

type cylinderWatch struct {
	from     time.Time
	stores   []*storeWatch
	setpoint Maybe
}

func (w *cylinderWatch) take(b *Builder, p decode.Point, src *sourceValues, t time.Time, v float64) {
	switch p {
	case decode.HotWaterSetpoint:
		if !w.setpoint.Known || float32(v) > w.setpoint.Value {
			w.setpoint = Maybe{float32(v), true}
		}
	case decode.Cylinder:
		if v < coldestStore || v > hottestStore {
			return
		}
		i := slices.IndexFunc(w.stores, func(s *storeWatch) bool { return s.day.Source == src.name })
		if i < 0 {
			i = len(w.stores)
			w.stores = append(w.stores, &storeWatch{day: CylinderBy{Source: src.name}})
		}
		w.stores[i].take(b, w.from, t, v)
	case decode.Flow, decode.Return:
		for _, s := range w.stores {
			if s.lowest.seen {
				s.water(b, src, p, t, v)
			}
		}
	}
}

func (s *storeWatch) take(b *Builder, day, t time.Time, v float64) {
	held := v
	if s.last.seen {
		dt := s.last.age(t)
		if dt <= heldWithin {
			held = min(v, s.last.v)
		}
		today := dt
		if day.After(s.last.t.time()) {
			today = since(t, day)
		}
		if dt <= storeStands {
			s.day.Seen += today
		} else {
			s.day.Unseen = append(s.day.Unseen, Span{From: t.Add(-today), To: t})
		}
	} else if !s.any && since(t, day) > storeStands {
		s.day.Unseen = append(s.day.Unseen, Span{From: day, To: t})
	}
	if !s.any || float32(held) > s.day.Hottest {
		s.day.Hottest, s.day.At = float32(held), t
	}
	if !s.any || float32(v) < s.day.Coolest {
		s.day.Coolest = float32(v)
	}
	switch dt := s.minute.age(t); {
	case !s.minute.seen || dt > 3*time.Minute:
		s.minute = value{v, momentOf(t), true}
	case dt >= time.Minute:
		s.day.Fastest = max(s.day.Fastest, float32((v-s.minute.v)/dt.Minutes()))
		s.minute = value{v, momentOf(t), true}
	}
	s.reheat(b, t, v)
	s.any, s.last = true, value{v, momentOf(t), true}
}

// reheat follows whether the store warms.
func (s *storeWatch) reheat(b *Builder, t time.Time, v float64) {
	begin := func() {
		s.lowest, s.top, s.rising, s.now = value{v, momentOf(t), true}, value{v, momentOf(t), true}, false, StoreReheat{}
	}
	switch {
	case !s.lowest.seen || s.last.seen && s.last.age(t) > storeStands:
		s.file()
		begin()
	case v > s.top.v:
		s.top = value{v, momentOf(t), true}
		s.rising = s.rising || v-s.lowest.v >= reheatLeast
		s.now.Asked = !b.hotWater.stale(t) && len(b.hotWater.spans) > 0
		s.now.Wanted = !s.now.Asked || b.hotWater.on
	case !s.rising && v <= s.lowest.v:
		begin()
	case v <= s.top.v-reheatDrops || s.top.age(t) > reheatIdle:
		s.file()
		begin()
	case s.rising && s.now.Asked && !b.hotWater.stale(t) && !b.hotWater.on && s.top.age(t) < 2*time.Minute:
		s.now.Wanted = false // it was done just as the store came to its highest
	}
}

// file keeps a reheat that has ended.
func (s *storeWatch) file() {
	if s.rising {
		r := s.now
		r.Span = Span{From: s.lowest.t.time(), To: s.top.t.time()}
		r.First, r.Last = float32(s.lowest.v), float32(s.top.v)
		s.day.Reheats = append(s.day.Reheats, r)
	}
	s.rising, s.lowest.seen = false, false
}

// water takes flow and return while the store warms.
func (s *storeWatch) water(b *Builder, src *sourceValues, p decode.Point, t time.Time, v float64) {
	if s.top.age(t) > time.Minute {
		return
	}
	if p == decode.Flow && (!s.now.Flow.Known || float32(v) > s.now.Flow.Value) {
		s.now.Flow = Maybe{float32(v), true}
	}
	if s.now.Asked && !b.hotWater.on || !b.flame.stale(t) && !b.flame.on {
		return
	}
	flow, ret := src.values[decode.Flow], src.values[decode.Return]
	if flow.seen && ret.seen && flow.age(t) <= settlePair && ret.age(t) <= settlePair {
		s.now.Spread, s.now.FlowEnd, s.now.EndSeen = Maybe{float32(flow.v - ret.v), true}, float32(flow.v), true
		s.now.Modulation = Maybe{float32(b.modulation.v), b.modulation.fresh(t)}
	}
}

func (w *cylinderWatch) cut() {
	for _, s := range w.stores {
		s.file()
	}
}

func (w *cylinderWatch) end(at time.Time) CylinderDay {
	d := CylinderDay{Setpoint: w.setpoint}
	for _, s := range w.stores {
		if s.any {
			if s.last.age(at) > storeStands {
				s.day.Unseen = append(s.day.Unseen, Span{From: s.last.t.time(), To: at})
			}
			d.Sources = append(d.Sources, s.day)
		}
		s.day, s.any = CylinderBy{Source: s.day.Source}, false
	}
	w.setpoint = Maybe{}
	slices.SortFunc(d.Sources, func(a, b CylinderBy) int { return cmp.Compare(a.Source, b.Source) })
	return d
}
