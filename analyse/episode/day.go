package episode

import (
	"time"

	"tundish/decode"
)

// Day sums up what is judged over days rather than by episodes. It lies between two midnights of the site's zone; the
// first and the last day of a record are cut.
type Day struct {
	From, To time.Time
	Pressure PressureDay
	Heat     HeatDay
	Return   ReturnDay
	Cylinder CylinderDay
	Weather  WeatherDay
	Sensors  []SensorDay // by series, in order of name
	Pairs    []PairDay   // of two sensors of the same water
}

// dayWatch gathers the days. Each of its parts sees every reading of the day, is asked for its sum at midnight, and
// starts the next day anew.
type dayWatch struct {
	zone     *time.Location
	from, to time.Time // the day under way; zero before the first reading
	begins   moment    // from
	ends     moment    // to
	last     moment    // when the piece's own day is over; 0: it goes on
	over     bool      // it is: what follows belongs to another piece
	days     []Day
	pressure pressureWatch
	heat     heatWatch
	ret      returnWatch
	cylinder cylinderWatch
	sensors  sensorWatch
	pairs    pairWatch
}

// reading takes every reading, doubtful ones too, before anything is made of it. t and at are the same.
func (w *dayWatch) reading(src *sourceValues, p decode.Point, t time.Time, at moment, v float64) {
	if w.past(t, at) {
		return
	}
	w.sensors.reading(src, p, at, v)
}

// past goes on to the day of t, and tells whether no more days are wanted.
func (w *dayWatch) past(t time.Time, at moment) bool {
	if at < w.ends && !w.to.IsZero() || w.over {
		return w.over
	}
	if w.over = w.last != 0 && at >= w.last; !w.over {
		w.turn(t)
		return false
	}
	w.end(w.to) // what is under way goes on in the next piece
	w.to = time.Time{}
	return true
}

// unmeasured takes a sensor's answer that is none.
func (w *dayWatch) unmeasured(e *decode.Error, t time.Time) {
	at := momentOf(t)
	if w.past(t, at) {
		return
	}
	w.sensors.unmeasured(e, at)
}

// analogue takes a value that is good enough to make facts of, after the builder has taken it. t is never before an
// earlier one.
func (w *dayWatch) analogue(b *Builder, p decode.Point, src *sourceValues, t time.Time, v float64) {
	if w.over {
		return
	}
	w.pressure.take(b, p, src, t, v)
	w.heat.take(b, p, src, t, v)
	w.ret.take(b, p, src, v)
	w.cylinder.take(b, p, src, t, v)
	w.pairs.take(b, p, src, v)
}

// cut tells that nobody looked for a while: what was summed stays, what was under way does not go on.
func (w *dayWatch) cut() {
	w.pressure.cut()
	w.heat.cut()
	w.ret.cut()
	w.cylinder.cut()
	w.sensors.cut()
	w.pairs.cut()
}

// turn ends the day under way and begins the one of t.
func (w *dayWatch) turn(t time.Time) {
	w.end(w.to)
	day := dayOf(t, w.zone)
	w.from, w.to = day.From, day.To
	w.begins, w.ends = momentOf(w.from), momentOf(w.to)
	w.ret.day.from, w.cylinder.from = w.from, w.from
}

func (w *dayWatch) end(at time.Time) {
	if w.to.IsZero() {
		return
	}
	w.days = append(w.days, Day{From: w.from, To: at, Pressure: w.pressure.end(at), Heat: w.heat.end(at), Return: w.ret.end(at),
		Cylinder: w.cylinder.end(at), Sensors: w.sensors.end(at), Pairs: w.pairs.end(at)})
}

// finish gives all days of a record that ends at to. The firings say which heat was made for what.
func (w *dayWatch) finish(to time.Time, firings []Firing) []Day {
	w.cylinder.cut() // what is under way ends with the record
	if !w.to.IsZero() {
		w.end(earlier(w.to, to))
		w.to = time.Time{}
	}
	w.ret.sum(w.days, firings)
	return w.days
}
