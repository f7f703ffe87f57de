package episode

import (
	"cmp"
	"slices"
	"time"

	"tundish/decode"
)

// SensorDay is what one sensor gave over a day that water cannot have, with what is needed to weigh it. Values are in
// the point's unit.
type SensorDay struct {
	Series    decode.Series
	N         int     // readings, those without a measurement left out
	Low, High float64 // of them
	Step      float64 // the smallest change between two readings, 0: it never changed
	Jumps     SensorEvents
	Excused   int          // likewise, but by a start, a stop or hot water: cold water that was standing may do that
	Rail      SensorEvents // at the end of the converter's range
	PowerOn   SensorEvents // the value before the first measurement, or an answer without one
	Beyond    SensorEvents // numbers that the point cannot have at all, as the decoder refuses them
	Blank     SensorEvents // answers that are no number; their Value is 0
	Spikes    SensorEvents // of a slow reader: single values far off the line of their neighbours
	Hold      SensorHold   // the longest stretch of exactly one value
}

// SensorEvents counts events of one sort; the first few are kept.
type SensorEvents struct {
	N     int
	For   time.Duration // of what stands (rails, beyond, blank): how long, as far as readings follow each other
	Most  float64       // of jumps and spikes: the largest, K or bar; of rails and beyond: the value
	Last  time.Time
	First []SensorEvent // at most [sensorEventsKept]
}

// SensorEvent is one reading that cannot be, and the one before it.
type SensorEvent struct {
	At            time.Time
	Value, Before float64
}

// SensorHold is a stretch of exactly one value, within one day: one over midnight is in both days.
type SensorHold struct {
	From, To time.Time
	N        int
	Value    float64
	Pair     float64       // K, by how much the other pipe of the same source moved meanwhile, its quick swings smoothed out
	PairTop  float64       // °C, the highest it was in the same way
	Twin     float64       // K, by how much another source's sensor of the same water moved, hot water left out
	TwinSeen bool          // such a sensor was read meanwhile
	Others   bool          // another sensor of the same source changed meanwhile: the source was not frozen
	Single   bool          // the source has no other sensor
	Lit      time.Duration // the burner ran, as far as the flame was told
	Dark     time.Duration // it did not run, likewise
	HotWater time.Duration // hot water was made
}

// Duration is To − From.
func (h SensorHold) Duration() time.Duration { return h.To.Sub(h.From) }

// sensorEventsKept is how many events of a day are kept one by one.
const sensorEventsKept = 4

// add counts one event.
func (e *SensorEvents) add(at time.Time, v, before float64) {
	e.N++
	e.Last = at
	if len(e.First) < sensorEventsKept {
		e.First = append(e.First, SensorEvent{at, v, before})
	}
}

// sensorWatch looks at every reading of a temperature or a pressure, the doubtful too. It tells by itself whether the
// burner runs and hot water is made, from any source that says so: it needs no more than a hint.
type sensorWatch struct {
	list        []*sensorTrack
	lit, tapped flagTrack
}

// flagTrack is a 0/1 point as a hint: by any source.
type flagTrack struct {
	on      bool
	last    moment
	changed moment
	rose    moment
}

// flagStands is how far apart two words of a hint may be for the time between them to count. Own proposal.
const flagStands = 2 * time.Minute

func (f *flagTrack) take(t moment, on bool) (ran, rested time.Duration) {
	if dt := t.since(f.last); f.last != 0 && dt > 0 && dt <= flagStands {
		if f.on {
			ran = dt
		} else {
			rested = dt
		}
	}
	if on != f.on {
		f.changed = t
		if on {
			f.rose = t
		}
	}
	f.on, f.last = on, t
	return ran, rested
}

// sensorTrack follows one series.
type sensorTrack struct {
	decode.Series
	pipe      bool    // flow or return
	low, high float64 // where its converter's range ends
	limits    jumpLimits
	mates     []*sensorTrack // the sensors of the same source
	pairs     []*sensorTrack // those of them whose water comes from where this one's goes, or goes there
	twins     []*sensorTrack // another source's sensors of the same water
	day       SensorDay
	last      value
	slow      float64 // the values smoothed, see [slowTau]
	wasRailed bool    // the last was at the end of the range
	// rail, beyond and blank are when such a value last came, 0 once another came after it.
	rail, beyond, blank moment

	jump  jumpTrack
	spike spikeTrack
	hold  holdTrack
}

func sensed(p decode.Point) bool {
	switch p {
	case decode.Flow, decode.Return, decode.Cylinder, decode.HotWater, decode.Outside, decode.Room, decode.Pressure:
		return true
	}
	return false
}

func (w *sensorWatch) of(s decode.Series) *sensorTrack {
	for _, x := range w.list {
		if x.Series == s {
			return x
		}
	}
	x := &sensorTrack{Series: s, pipe: pipes(s.Point), limits: jumpLimitsOf(s.Point)}
	x.low, x.high = SensorRails(s.Point)
	for _, y := range w.list {
		x.meet(y)
		y.meet(x)
	}
	w.list = append(w.list, x)
	return x
}

// meet learns of another sensor.
func (x *sensorTrack) meet(y *sensorTrack) {
	switch {
	case y.Source == x.Source:
		x.mates = append(x.mates, y)
		if x.pipe && (y.pipe || y.Point == decode.Cylinder) {
			x.pairs = append(x.pairs, y)
		}
	case y.Point == x.Point:
		x.twins = append(x.twins, y)
	}
}

// reading takes a reading of a source, at t.
func (w *sensorWatch) reading(src *sourceValues, p decode.Point, t moment, v float64) {
	switch {
	case p == decode.Flame:
		ran, rested := w.lit.take(t, v == 1)
		for _, x := range w.list {
			x.hold.lit, x.hold.dark = x.hold.lit+ran, x.hold.dark+rested
		}
	case p == decode.HotWaterActive:
		ran, _ := w.tapped.take(t, v == 1)
		for _, x := range w.list {
			x.hold.hotWater += ran
		}
	case sensed(p):
		x := src.sensors[p]
		if x == nil {
			x = w.of(decode.Series{Source: src.name, Point: p})
			src.sensors[p] = x
		}
		x.take(w, t, v)
	}
}

// unmeasured takes an answer that is no measurement.
func (w *sensorWatch) unmeasured(e *decode.Error, t moment) {
	if !sensed(e.Series.Point) {
		return
	}
	x := w.of(e.Series)
	switch e.Fault {
	case decode.Impossible:
		x.day.Beyond.stand(&x.beyond, t, e.Value, x.last.v)
		x.day.Beyond.Most = e.Value
	case decode.NoAnswer:
		x.day.Blank.stand(&x.blank, t, 0, x.last.v)
	default:
		x.day.PowerOn.add(t.time(), powerOnC, x.last.v)
	}
}

// stand counts an event that goes on from the last one at before, if nothing came between.
func (e *SensorEvents) stand(before *moment, t moment, v, last float64) {
	if dt := t.since(*before); *before != 0 && dt > 0 && dt <= railStands {
		e.For += dt
	}
	e.add(t.time(), v, last)
	*before = t
}

// powerOnC is what a 1-Wire thermometer holds before its first conversion, °C (DS18B20 datasheet, scratchpad).
const powerOnC = 85.0

func (x *sensorTrack) take(w *sensorWatch, t moment, v float64) {
	if x.last.seen && t <= x.last.t {
		return // the same moment told twice
	}
	d := &x.day
	if d.N == 0 {
		d.Low, d.High = v, v
	}
	d.N++
	d.Low, d.High = min(d.Low, v), max(d.High, v)
	if x.last.seen && v != x.last.v {
		if step := max(v-x.last.v, x.last.v-v); d.Step == 0 || step < d.Step {
			d.Step = step
		}
	}
	x.beyond, x.blank = 0, 0
	isRailed := v <= x.low || v >= x.high
	x.railed(t, v, isRailed)
	x.jumped(w, t, v)
	x.spiked(w, t, v)
	x.held(w, t, v, isRailed || x.wasRailed)
	x.last, x.wasRailed = value{v, t, true}, isRailed
}

// SensorRails are where a converter's range ends: a value at or beyond them tells of an open or a shorted sensor: about −40
// and 120 °C of the usual thermistor inputs (common practice, no source). Air never gets to 60 °C, nor does it get to
// −38 °C where tundish is used; a sealed domestic system blows off at 3 bar (EN 12828), and a gauge cannot fall below
// −1 bar, so that 6 bar and −0.5 bar are wide of all. Own proposal, but for the first.
func SensorRails(p decode.Point) (low, high float64) {
	switch p {
	case decode.Pressure:
		return -0.5, 6
	case decode.Outside, decode.Room:
		return -38, 60
	}
	return -35, 115
}

// railStands is how far apart two readings at a rail may be for the time between them to count. Own proposal.
const railStands = 15 * time.Minute

func (x *sensorTrack) railed(t moment, v float64, is bool) {
	if !is {
		x.rail = 0
		return
	}
	x.day.Rail.stand(&x.rail, t, v, x.last.v)
	x.day.Rail.Most = v
}

// railed tells whether a value lies at or beyond the end of its converter's range.
func railed(p decode.Point, v float64) bool {
	low, high := SensorRails(p)
	return sensed(p) && (v <= low || v >= high)
}

func (w *sensorWatch) cut() {
	for _, x := range w.list {
		x.closeHold()
		x.last, x.wasRailed, x.rail, x.jump, x.hold = value{}, false, 0, jumpTrack{}, holdTrack{}
		x.beyond, x.blank, x.spike = 0, 0, spikeTrack{}
	}
	w.lit, w.tapped = flagTrack{}, flagTrack{}
}

// end sums the day up. What is held goes on, as a stretch of the next day.
func (w *sensorWatch) end(at time.Time) []SensorDay {
	var out []SensorDay
	for _, x := range w.list {
		x.closeHold()
		if x.day.N > 0 || x.day.PowerOn.N > 0 || x.day.Beyond.N > 0 || x.day.Blank.N > 0 {
			x.day.Series = x.Series
			out = append(out, x.day)
		}
		x.day = SensorDay{}
		x.hold.again(x.last)
	}
	slices.SortFunc(out, func(a, b SensorDay) int {
		return cmp.Or(cmp.Compare(a.Series.Source, b.Series.Source), cmp.Compare(a.Series.Point, b.Series.Point))
	})
	return out
}
