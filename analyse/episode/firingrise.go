package episode

import (
	"time"

	"tundish/decode"
)

// Rise is how flow and return answered to one firing: whether water moved. Flow and return are of the flame's own
// source where it is read finely enough, else of the source that is; a return that this one lacks is taken from
// another, since only its own change counts.
type Rise struct {
	Seen                              bool // flow and return were both read while it burned
	FlowSource, ReturnSource          string
	Interval                          time.Duration // longest time between two readings of the flow
	FlowStart, FlowMax                float64       // °C at lighting; highest until the watch ended
	ReturnStart, ReturnEnd, ReturnMax float64       // °C at lighting, at the end, highest until the watch ended
	First30, First60                  float64       // K by which the flow rose in the first 30 s and 60 s, or until it ended
	Fastest                           float64       // K/min, the fastest rise of the flow over 10 s or more; 0: not told
	// Followed tells whether the return rose by 3 K at all while it was watched, FollowedAfter how long after lighting.
	// It is watched for two minutes after the end, or until the burner lights again.
	Followed      bool
	FollowedAfter time.Duration
	// FlowLater is the flow at the end of the watch where nothing lit before, °C; see LaterSeen.
	FlowLater float64
	LaterSeen bool
	Pump      Word // the pump's own word while it burned
}

// Word is what a source says of something that is on or off.
type Word uint8

const (
	Unsaid Word = iota
	SaidOff
	SaidOn
)

const (
	// riseOver is the shortest time over which a rise is taken: steps of 1 K make 6 K/min of it. Own proposal.
	riseOver = 10 * time.Second
	// riseFine is the interval up to which the flame's own source is fine enough. Own proposal.
	riseFine = 15 * time.Second
	// riseFollow is the rise of the return that counts as an answer, K: three steps of a coarse bus sensor, more than
	// a strapped probe catches from the room. Own proposal.
	riseFollow = 3.0
	// riseAfter is how long flow and return are watched after the burner went off: water that moves has carried the
	// exchanger's heat away by then (small exchangers hold 10 to 40 s of their output, own assumption).
	riseAfter = 2 * time.Minute
	// riseBeyond is by how much more one sensor of the flow must rise than another in the same burn for the other to be
	// beside water that hardly moves, K. Own proposal: more than steps, noise and lag of a strapped probe.
	riseBeyond = 5.0
	// riseSources is how many sources are watched in one firing.
	riseSources = 4
)

// risePart follows one source through a firing.
type risePart struct {
	source              string
	flow, ret           bool
	flow0, flowMax      float64
	ret0, retEnd, retMx float64
	first30, first60    float64
	fastest             float64
	followed            time.Duration
	last                time.Time // of the flow
	widest              time.Duration
	ring                [12]value // flows, the newest last; for the rise over riseOver
}

// riseWatch follows all sources through a firing.
type riseWatch struct {
	lit   time.Time
	parts []risePart
}

// begin starts with what was known at lighting.
func (w *riseWatch) begin(b *Builder, lit time.Time) {
	w.lit = lit
	for _, s := range b.sources {
		for _, p := range []decode.Point{decode.Return, decode.Flow} {
			if v := s.values[p]; v.seen && v.age(lit) <= settlePair {
				w.take(s.name, p, lit, v.v)
			}
		}
	}
}

func (w *riseWatch) part(source string) *risePart {
	for i := range w.parts {
		if w.parts[i].source == source {
			return &w.parts[i]
		}
	}
	if len(w.parts) >= riseSources {
		return nil
	}
	w.parts = append(w.parts, risePart{source: source})
	return &w.parts[len(w.parts)-1]
}

func (w *riseWatch) take(source string, p decode.Point, t time.Time, v float64) {
	x := w.part(source)
	switch {
	case x == nil:
	case p == decode.Flow:
		x.takeFlow(t, since(t, w.lit), v)
	case p == decode.Return:
		x.takeReturn(since(t, w.lit), v)
	}
}

func (x *risePart) takeReturn(in time.Duration, v float64) {
	if !x.ret {
		x.ret, x.ret0, x.retMx = true, v, v
	}
	x.retEnd, x.retMx = v, max(x.retMx, v)
	if v-x.ret0 >= riseFollow && x.followed == 0 {
		x.followed = max(in, time.Second)
	}
}

func (x *risePart) takeFlow(t time.Time, in time.Duration, v float64) {
	if !x.flow {
		x.flow, x.flow0, x.flowMax = true, v, v
	} else {
		x.widest = max(x.widest, since(t, x.last))
	}
	x.last = t
	x.flowMax = max(x.flowMax, v)
	if in <= 30*time.Second {
		x.first30 = max(x.first30, v-x.flow0)
	}
	if in <= time.Minute {
		x.first60 = max(x.first60, v-x.flow0)
	}
	for i := len(x.ring) - 1; i >= 0; i-- { // the newest that is old enough
		if o := x.ring[i]; o.seen && o.age(t) >= riseOver {
			x.fastest = max(x.fastest, (v-o.v)/o.age(t).Minutes())
			break
		}
	}
	// Readings that come faster than the ring can hold for riseOver are thinned.
	if n := len(x.ring) - 1; !x.ring[n].seen || x.ring[n].age(t) >= riseOver/time.Duration(n-1) {
		copy(x.ring[:], x.ring[1:])
		x.ring[n] = value{v, momentOf(t), true}
	}
}

// tellsMore tells whether a source that is read more rarely shows a rise that another hardly sees: a probe on a pipe in
// which no water moves stays as it was, while the sensor at the exchanger climbs.
func (x *risePart) tellsMore(o *risePart) bool {
	return x != o && x.flow && x.ret && x.fastest > 0 && x.widest <= 2*riseFine && x.flowMax-x.flow0 >= o.flowMax-o.flow0+riseBeyond
}

// result is the answer by the better sources; end is when the burner went off.
func (w *riseWatch) result(own string, end time.Time) (Rise, int) {
	best := -1
	for i := range w.parts {
		x := &w.parts[i]
		if !x.flow || !x.last.After(w.lit) {
			continue
		}
		x.widest = max(x.widest, end.Sub(x.last))
		switch {
		case best < 0:
			best = i
		case x.source == own && x.widest <= riseFine && x.ret:
			best = i
		case w.parts[best].source == own && w.parts[best].widest <= riseFine && w.parts[best].ret:
		case x.ret && !w.parts[best].ret, x.ret == w.parts[best].ret && x.widest < w.parts[best].widest:
			best = i
		}
	}
	if best < 0 {
		return Rise{}, -1
	}
	for i := range w.parts {
		if x := &w.parts[i]; x.source == own && x.tellsMore(&w.parts[best]) {
			best = i
		}
	}
	x := &w.parts[best]
	r := Rise{FlowSource: x.source, Interval: x.widest, FlowStart: x.flow0, FlowMax: x.flowMax,
		First30: x.first30, First60: x.first60, Fastest: x.fastest}
	y := x
	for i := range w.parts {
		if !y.ret && w.parts[i].ret {
			y = &w.parts[i]
		}
	}
	if y.ret {
		r.Seen, r.ReturnSource = true, y.source
		r.ReturnStart, r.ReturnEnd, r.ReturnMax = y.ret0, y.retEnd, y.retMx
		r.Followed, r.FollowedAfter = y.followed > 0, y.followed
	}
	return r, best
}

// riseTail goes on watching after the burner went off.
type riseTail struct {
	on       bool
	index    int // of the firing
	lit, end time.Time
}

// watchRise files what a firing's water did, and goes on watching it.
func (b *Builder) watchRise(f *burn, end time.Time) {
	r, at := f.rise.result(b.flame.owner, end)
	if at < 0 {
		return
	}
	if !b.pump.stale(end) {
		r.Pump = SaidOff
		if b.pump.on {
			r.Pump = SaidOn
		}
	}
	f.Rise = r
	b.riseTail = riseTail{on: true, lit: f.From, end: end}
}

// tailRise takes flow and return after a firing.
func (b *Builder) tailRise(source string, p decode.Point, t time.Time, v float64) {
	w := &b.riseTail
	if !w.on || b.firing != nil {
		return
	}
	r := &b.firings[w.index].Rise
	late := since(t, w.end) >= riseAfter
	switch {
	case p == decode.Flow && source == r.FlowSource:
		r.FlowMax = max(r.FlowMax, v)
		if late && since(t, w.end) <= riseAfter+settlePair {
			r.FlowLater, r.LaterSeen = v, true
		}
	case p == decode.Return && source == r.ReturnSource && !late:
		r.ReturnMax = max(r.ReturnMax, v)
		if v-r.ReturnStart >= riseFollow && !r.Followed {
			r.Followed, r.FollowedAfter = true, since(t, w.lit)
		}
		return
	}
	w.on = !(late && p == decode.Flow && source == r.FlowSource) && since(t, w.end) <= riseAfter+settlePair
}
