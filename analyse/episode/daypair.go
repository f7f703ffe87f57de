package episode

import (
	"cmp"
	"math"
	"slices"
	"time"

	"tundish/decode"
)

// PairDay is how far two sensors of the same water were apart over a day, as first minus second.
type PairDay struct {
	Point decode.Point // flow, return, cylinder, outside, or room (that both are there, no more)
	A, B  string       // their sources, in order of name
	Both  time.Duration
	// Hours are those with settled water while heat was made, or water surely moved, for heating. Of stored water it is the
	// one in which it was warmest, and stood: a store is nearest to one temperature after a reheat. Of outside air it is the
	// night, from midnight on, when no sun is on any of the two.
	Hours []PairHour
	// Rest is the coolest hour of the day in which nothing was fired and the pipes had long stood still.
	Rest PairHour
}

// PairHour compares two sensors over the settled minutes of one hour.
type PairHour struct {
	At     time.Time // its beginning
	For    time.Duration
	Diff   float32 // K, mean of first minus second
	Spread float32 // K, standard deviation of that
	A, B   float32 // °C, means
}

const (
	// pairTauS is the time constant of the mean by which water is called settled, s, pairSettled how far a value may be from
	// that mean, K: water that climbs by 0.5 K/min is 1.5 K ahead of it, and a probe that lags by 60 s is then 0.5 K late.
	// Own proposal. pairStill is the same for pipes at rest.
	pairTauS               = 180.0
	pairSettled, pairStill = 1.5, 0.4
	// pairFresh is how old the other value may be, and how long a pair of values stands; of a sensor that is read rarely
	// one and a half of its intervals, up to pairOldest. Own proposal: settled water moves by less than a kelvin meanwhile.
	pairFresh, pairOldest = 90 * time.Second, 8 * time.Minute
	// pairLit is how long heat must have been made; pairTap how long ago hot water must have been. Three lags of a strapped
	// probe at its slowest, and the time that a plate's hot water takes to leave the sensor. Own proposal.
	pairLit, pairTap = 3 * time.Minute, 5 * time.Minute
	// pairRest is how long nothing must have been fired for pipes to be at rest. Own proposal: an insulated pipe of 22 mm
	// loses half of its warmth in about half an hour (from memory), a casing's inside in an hour or two.
	pairRest = 3 * time.Hour
	// pairWarm is the water from which a comparison at load counts, °C. Own proposal: below it nothing tells contact from
	// an offset.
	pairWarm = 26.0
	// pairAlone is how long warm water must have been settled to be taken as heated for heating where nobody says whether
	// it is heated, or what for, and pairAloneK how still it must be, K: water that cools from 50 °C moves by more, and few
	// tap for so long. Own proposal.
	pairAlone, pairAloneK = 10 * time.Minute, 0.5
	// pairHourLeast is the shortest settled time of an hour worth keeping. Own proposal.
	pairHourLeast = 4 * time.Minute
	// pairStore is how still stored water must be, K. Own proposal: a reheat's last minutes and a draw are faster.
	pairStore = 0.8
	// pairNight is how long after midnight air is compared. Own proposal: the sun is up nowhere at five, or barely.
	pairNight = 5 * time.Hour
)

// pairWatch compares the sensors of flow and of return of different sources.
type pairWatch struct {
	series []*pairSeries
	pairs  []*pairTrack
	dark   moment // when the burner was last known to run, or first looked for
	tapped moment // when hot water was last made
}

// pairSeries is one sensor, with its mean.
type pairSeries struct {
	src    string
	p      decode.Point
	now    value
	mean   float64
	off    float64       // K, how far the value is from the mean before it
	every  time.Duration // the last interval
	settle moment        // since when it has been settled by pairAloneK; 0: it is not
	pairs  []*pairTrack  // of which it is one
}

// pairTrack is two sensors under comparison; a's source comes before b's by name.
type pairTrack struct {
	a, b       *pairSeries
	last       moment
	load, rest pairSum
	day        PairDay
}

// pairSum sums an hour.
type pairSum struct {
	hour        time.Time
	from, to    moment // the hour
	n           time.Duration
	d, dd, a, b float64
}

func (w *pairWatch) take(b *Builder, p decode.Point, src *sourceValues, v float64) {
	switch p {
	case decode.Flow, decode.Return, decode.Cylinder, decode.Outside, decode.Room:
	default:
		return
	}
	s, t := src.paired[p], b.at
	if s == nil {
		s = w.of(src.name, p)
		src.paired[p] = s
	}
	s.take(t, v)
	if !pipes(p) {
		for _, x := range s.pairs {
			x.lookStill(t, b.days.begins, b.days.from)
		}
		return
	}
	load, rest, alone := w.state(b, t)
	for _, x := range s.pairs {
		x.look(t, load, rest, alone)
	}
}

// of finds or makes a sensor, and its pairs with the other sources' sensors of the same point.
func (w *pairWatch) of(src string, p decode.Point) *pairSeries {
	for _, s := range w.series {
		if s.p == p && s.src == src {
			return s
		}
	}
	s := &pairSeries{src: src, p: p}
	for _, o := range w.series {
		if o.p != p {
			continue
		}
		x := &pairTrack{a: o, b: s}
		if s.src < o.src {
			x.a, x.b = s, o
		}
		w.pairs = append(w.pairs, x)
		o.pairs, s.pairs = append(o.pairs, x), append(s.pairs, x)
	}
	w.series = append(w.series, s)
	return s
}

func (s *pairSeries) take(t moment, v float64) {
	every := t.since(s.now.t)
	if dt := every.Seconds(); !s.now.seen || every > pairOldest {
		s.mean, s.off, s.every, s.settle = v, math.Inf(1), 0, 0
	} else {
		s.every = every
		s.off = math.Abs(v - s.mean)
		s.mean += (v - s.mean) * dt / (pairTauS + dt)
	}
	s.now = value{v, t, true}
	switch {
	case s.off > pairAloneK:
		s.settle = 0
	case s.settle == 0:
		s.settle = t
	}
}

// fresh is how long the value stands.
func (s *pairSeries) fresh() time.Duration { return max(pairFresh, min(pairOldest, s.every*3/2)) }

// state tells what the plant does: heat is made for heating, or nothing has been made for long, or nobody says.
func (w *pairWatch) state(b *Builder, t moment) (load, rest, alone bool) {
	said := !b.hotWater.stale(b.now)
	if said && b.hotWater.on {
		w.tapped = t
	}
	tapped := w.tapped != 0 && t.since(w.tapped) < pairTap
	lit := b.firing != nil
	dark := !lit && b.flame.stale(b.now)
	if lit || w.dark == 0 || dark {
		w.dark = t
	}
	known := said || !b.cfg.HotWaterMade
	use := known || b.cfg.Draws == Reheat || !b.heatActive.stale(b.now) && b.heatActive.on
	switch {
	case tapped:
	case lit && use:
		load = since(b.now, b.firing.From) >= pairLit
	case !b.pump.stale(b.now) && b.pump.on && use:
		load = true
	case lit || dark:
		alone = true
	default:
		rest = t.since(w.dark) >= pairRest
	}
	return load, rest, alone
}

// look adds what two sensors read now, if that can be compared.
func (x *pairTrack) look(t moment, load, rest, alone bool) {
	a, b := x.a, x.b
	dt, ok := x.step(t)
	if !ok {
		return
	}
	warm := max(a.now.v, b.now.v) >= pairWarm
	if alone && warm {
		load = a.settle != 0 && t.since(a.settle) >= pairAlone && b.settle != 0 && t.since(b.settle) >= pairAlone
	}
	switch {
	case load && warm && a.off <= pairSettled && b.off <= pairSettled:
		x.load.add(&x.day, t, dt, a.now.v, b.now.v, false)
	case rest && a.off <= pairStill && b.off <= pairStill:
		x.rest.add(&x.day, t, dt, a.now.v, b.now.v, true)
	}
}

// step is how long the two values that stand now have stood together.
func (x *pairTrack) step(t moment) (dt time.Duration, ok bool) {
	from := x.last
	dt = t.since(from)
	x.last = t
	fresh, other := x.a.fresh(), x.b.fresh()
	if from == 0 || dt <= 0 || dt > max(fresh, other) || !x.a.now.seen || t.since(x.a.now.t) > fresh || !x.b.now.seen || t.since(x.b.now.t) > other {
		return dt, false
	}
	x.day.Both += dt
	return dt, true
}

func (s *pairSum) add(day *PairDay, t moment, dt time.Duration, a, b float64, rest bool) {
	if t < s.from || t >= s.to {
		hour := t.time().Truncate(time.Hour)
		s.begin(day, hour, rest)
		s.from = momentOf(hour)
		s.to = s.from + moment(time.Hour)
	}
	s.sum(dt, a, b)
}

// begin ends the hour under way, and begins another.
func (s *pairSum) begin(day *PairDay, hour time.Time, rest bool) {
	if !hour.Equal(s.hour) {
		s.close(day, rest)
		s.hour = hour
	}
}

func (s *pairSum) sum(dt time.Duration, a, b float64) {
	w := dt.Seconds()
	s.n += dt
	s.a += a * w
	s.b += b * w
	s.d += (a - b) * w
	s.dd += (a - b) * (a - b) * w
}

// close ends an hour.
func (s *pairSum) close(day *PairDay, rest bool) {
	if s.n >= pairHourLeast {
		w := s.n.Seconds()
		mean := s.d / w
		h := PairHour{At: s.hour, For: s.n, Diff: float32(mean), Spread: float32(math.Sqrt(max(0, s.dd/w-mean*mean))), A: float32(s.a / w), B: float32(s.b / w)}
		switch {
		case !rest:
			day.Hours = append(day.Hours, h)
		case day.Rest.For == 0 || h.A+h.B < day.Rest.A+day.Rest.B:
			day.Rest = h
		}
	}
	*s = pairSum{}
}

func (w *pairWatch) cut() {
	for _, s := range w.series {
		s.now, s.settle = value{}, 0
	}
	for _, x := range w.pairs {
		x.last = 0
	}
	w.dark, w.tapped = 0, 0
}

func (w *pairWatch) end(at time.Time) []PairDay {
	var out []PairDay
	for _, x := range w.pairs {
		x.load.close(&x.day, false)
		x.rest.close(&x.day, true)
		if x.a.p == decode.Cylinder {
			x.warmest()
		}
		if x.day.Both > 0 {
			x.day.Point, x.day.A, x.day.B = x.a.p, x.a.src, x.b.src
			out = append(out, x.day)
		}
		x.day = PairDay{}
	}
	slices.SortFunc(out, func(x, y PairDay) int {
		return cmp.Or(cmp.Compare(x.Point, y.Point), cmp.Compare(x.A, y.A), cmp.Compare(x.B, y.B))
	})
	return out
}
