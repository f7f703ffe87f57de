package fit

import (
	"slices"
	"time"

	"tundish/decode"
)

// WatchConfig is what a [Watch] needs to know beforehand.
type WatchConfig struct {
	Buses []string
	// Taps: hot water may be made at the tap, so that the pipes at the probes may stand cold while the burner runs.
	Taps bool
	// HeatPump: there is no flame; a compressor that gives output shows itself by its modulation.
	HeatPump bool
}

// Watch sees every reading in order of time and keeps what tells how the sensors sit. It looks once a minute and
// forgets slowly, so that a probe put right shows itself within a day; its memory does not grow with the record.
type Watch struct {
	cfg    WatchConfig
	series map[decode.Series]*sensor
	order  []*sensor // of flow and return
	next   time.Time
	flame  signal
	tap    signal
	tapped time.Time // when hot water was last made
	burned time.Duration
}

// signal is a 0/1 point as last seen, of whichever source gave it first.
type signal struct {
	source string
	at     time.Time
	on     bool
	since  time.Time
}

// sensor is what is kept of one flow or return series.
type sensor struct {
	decode.Series
	bus      bool
	seen     bool
	at       time.Time
	value    float64
	lowest   float64
	before   [warmOver + 1]float64 // at the minutes before, the latest first
	minutes  int                   // of them filled in
	hold     hold
	stuck    hold // the latest hold that a moving neighbour gives away
	reversed share
	cross    share // of a return and its flow: nearer to the bus's other pipe than to its own
	short    mean  // what it reads below the appliance's own sensor, of the pipe's excess over the air
	cold     share
}

// hold is a stretch in which a sensor gave one value on and on.
type hold struct {
	from, to time.Time
	value    float64
	n        int
	low      map[decode.Series]float64 // of the neighbours meanwhile
	high     map[decode.Series]float64
}

// NewWatch begins at the beginning of a record.
func NewWatch(cfg WatchConfig) *Watch {
	return &Watch{cfg: cfg, series: map[decode.Series]*sensor{}}
}

// Gap tells that nobody looked for a while.
func (w *Watch) Gap() {
	w.flame, w.tap, w.next = signal{}, signal{}, time.Time{}
	for _, s := range w.order {
		s.minutes, s.seen = 0, false
		s.hold = hold{}
	}
}

// Reading takes one reading.
func (w *Watch) Reading(r decode.Reading) {
	if r.Quality != decode.Good {
		return
	}
	if !w.next.IsZero() && r.Time.Sub(w.next) > stale {
		w.Gap()
	}
	if !r.Time.Before(w.next) {
		if !w.next.IsZero() {
			w.look(w.next)
		}
		w.next = r.Time.Truncate(time.Minute).Add(time.Minute)
	}
	switch r.Series.Point {
	case decode.Flame:
		if !w.cfg.HeatPump {
			w.flame.take(r)
		}
	case decode.Modulation:
		if w.cfg.HeatPump {
			r.Value = map[bool]float64{true: 1}[r.Value > 0]
			w.flame.take(r)
		}
	case decode.HotWaterActive:
		if w.tap.take(r); w.tap.on {
			w.tapped = r.Time
		}
	case decode.Flow, decode.Return:
		w.temperature(r)
	}
}

func (s *signal) take(r decode.Reading) {
	if s.source != "" && s.source != r.Series.Source && r.Time.Sub(s.at) < stale {
		return
	}
	on := r.Value == 1
	if s.source != r.Series.Source || on != s.on || r.Time.Sub(s.at) > stale {
		s.since = r.Time
	}
	s.source, s.at, s.on = r.Series.Source, r.Time, on
}

func (w *Watch) temperature(r decode.Reading) {
	s := w.series[r.Series]
	if s == nil {
		s = &sensor{Series: r.Series, bus: slices.Contains(w.cfg.Buses, r.Series.Source), lowest: r.Value}
		w.series[r.Series] = s
		w.order = append(w.order, s)
	}
	if s.hold.n == 0 || r.Value != s.hold.value {
		s.hold = hold{from: r.Time, value: r.Value, low: map[decode.Series]float64{}, high: map[decode.Series]float64{}}
	}
	s.hold.n++
	s.hold.to = r.Time
	s.seen, s.at, s.value, s.lowest = true, r.Time, r.Value, min(s.lowest, r.Value)
}

// fresh tells whether a sensor's value is of now.
func (s *sensor) fresh(t time.Time) bool { return s != nil && s.seen && t.Sub(s.at) <= stale }

func (w *Watch) of(source string, p decode.Point) *sensor {
	return w.series[decode.Series{Source: source, Point: p}]
}

// look takes the minute that ends at t.
func (w *Watch) look(t time.Time) {
	burning := w.burning(t)
	for _, s := range w.order {
		if s.fresh(t) {
			w.neighbours(s, t, burning)
		}
	}
	if burning {
		w.burned += time.Minute
	}
	flameKnown := w.flame.source != "" && t.Sub(w.flame.at) <= stale
	for _, s := range w.order {
		if s.Point != decode.Flow {
			continue
		}
		ret := w.of(s.Source, decode.Return)
		if s.fresh(t) && ret.fresh(t) && (burning || !flameKnown && (s.warms() || ret.warms())) {
			w.pair(s, ret, t)
		}
	}
	if burning {
		for _, s := range w.order {
			if !s.bus && s.fresh(t) {
				w.beside(s, t)
			}
		}
	}
	for _, s := range w.order {
		if !s.fresh(t) {
			s.minutes = 0
			continue
		}
		copy(s.before[1:], s.before[:warmOver])
		s.before[0] = s.value
		s.minutes = min(s.minutes+1, warmOver+1)
	}
}

// burning tells whether the burner has been heating the pipes for long enough that they show it.
func (w *Watch) burning(t time.Time) bool {
	if w.flame.source == "" || !w.flame.on || t.Sub(w.flame.at) > stale || t.Sub(w.flame.since) < settleAfter {
		return false
	}
	tapKnown := w.tap.source != "" && t.Sub(w.tap.at) <= stale
	if w.cfg.Taps && !tapKnown {
		return false
	}
	return !w.cfg.Taps || t.Sub(w.tapped) >= settleAfter
}

// warms tells whether the water has been getting warmer as only a burner or a heat pump makes it.
func (s *sensor) warms() bool {
	return s.minutes > warmOver && s.value-s.before[warmOver] >= warmBy
}

// pair judges which pipe of a source is the hotter, and which one does not move with the other.
func (w *Watch) pair(flow, ret *sensor, t time.Time) {
	ret.reversed.add(ret.value > flow.value+reversedBy)
	for _, x := range [][2]*sensor{{flow, ret}, {ret, flow}} {
		if rise := x[1].value - x[1].lowest; rise >= hotBy {
			x[0].cold.add(x[0].value-x[0].lowest <= coldShare*rise)
		}
	}
	for _, bus := range w.cfg.Buses {
		bf, br := w.of(bus, decode.Flow), w.of(bus, decode.Return)
		if flow.bus || !bf.fresh(t) || !br.fresh(t) || bf.value-br.value < crossBy {
			continue
		}
		straight := abs(flow.value-bf.value) + abs(ret.value-br.value)
		crossed := abs(flow.value-br.value) + abs(ret.value-bf.value)
		ret.cross.add(crossed < straight/2)
		return
	}
}

// beside judges a probe by the appliance's own sensor of the same pipe.
func (w *Watch) beside(s *sensor, t time.Time) {
	for _, bus := range w.cfg.Buses {
		own := w.of(bus, s.Point)
		if !own.fresh(t) {
			continue
		}
		room := min(roomAir, s.lowest)
		if own.value-room < hotBy {
			return
		}
		s.short.add((own.value - s.value) / (own.value - room))
		return
	}
}

// neighbours notes how far the others moved while a sensor held one value. What a tap makes the appliance's own sensors
// do, pipes outside that rest need not follow.
func (w *Watch) neighbours(s *sensor, t time.Time, burning bool) {
	h := &s.hold
	for _, o := range w.order {
		if o == s || !o.fresh(t) || w.cfg.Taps && !burning && (s.bus || o.bus) {
			continue
		}
		low, ok := h.low[o.Series]
		if !ok {
			low = o.value
			h.high[o.Series] = o.value
		}
		h.low[o.Series], h.high[o.Series] = min(low, o.value), max(h.high[o.Series], o.value)
		if h.n >= stuckReadings && h.to.Sub(h.from) >= stuckFor && h.high[o.Series]-h.low[o.Series] >= s.betrayedBy(o) {
			s.stuck = *h
		}
	}
}

// betrayedBy is how far another sensor must move for one that does not to be stuck.
func (s *sensor) betrayedBy(o *sensor) float64 {
	if o.Point == s.Point {
		return stuckSame
	}
	return stuckOther
}

func abs(x float64) float64 { return max(x, -x) }
