package episode

import (
	"math"
	"time"

	"tundish/decode"
)

// Firings told from the shape of flow and return. With water moving, the heat exchanger and a strapped probe obey
//
//	P/w = (F − R) + (k+τ)·F′ − τ·R′ + k·τ·F″
//
// F, R what the probes show, °C; P the burner's output, W; w the heat that the water carries, W/K; k = C/w the
// exchanger's time constant and τ the probes', s. The right side, here called the drive (K), is a square wave: 0 while
// the burner is off, P/w while it is on. With the pump off it is only F − R and drifts; see weigh.

const (
	// shapeBlock is the number of samples that are looked at in one go, shapeTail of them again with the next block so
	// that nothing is decided without what came after. Own proposal.
	shapeBlock = 6144
	shapeTail  = 2048
	// shapeGap is the shortest stretch without samples that ends a piece: nobody knows what happened in it.
	shapeGap = 90 * time.Second
	// shapeThin is the least time between samples that are kept. Own proposal: probes convert in 0.75 s.
	shapeThin = 900 * time.Millisecond
	// probeNoise is what a sound probe adds in noise and rounding, K: 1/16 K steps (DS18B20 datasheet) over √12, and
	// 0.03 K (own assumption).
	probeNoise = 0.035
)

// shaper follows flow and return of one source and tells firings from their shape. Its memory is one block.
type shaper struct {
	source string
	// heatPump: a compressor that may defrost with heat out of the water.
	heatPump bool
	n        int
	t, f, r  [shapeBlock]float64 // s since base; °C, exchanged where the probes were
	base     moment
	last     time.Time // of the last sample in the block
	pending  value     // a flow that waits for the return nearest to it
	rets     [2]value  // the last two returns
	flows    bool      // a flow was ever seen
	cadence  Cadence
	step     float64 // K, the least step between two values: how coarse they are
	dark     int     // the last sample in whose time no flame was known
	darkNow  bool    // no flame is known at present

	first         int  // samples before it are decided
	paired        bool // the piece under way has flow and return
	lag           lagFit
	shortest      float64 // s, the shortest burn or pause that was told in the worst block
	drive         float64 // K, usual while burning
	vote          float64 // K·s by which the flow was the hotter while one of both rose
	swapped       bool    // flow and return are exchanged
	was           uint8   // state before first
	known         bool    // that state is known
	burn          shapeBurn
	settle        settler // of the burn under way
	cooling       float64 // s for which flow and return have cooled together in it
	blur          float64 // K, the noise of the drive in the worst block
	found         []shapeBurn
	sights        []sighted // stretches looked at
	unsure        []Span    // in which nothing could be told
	swings        []Span    // in which the burner came and went faster than the samples
	taps          bool      // hot water is made as it is drawn: meanwhile the water in the pipes stands
	stops         int       // of burns
	pumpStops     int       // of these, those with which the pump stopped
	looked, swung int       // samples of the burn under way; those at which the flow bent sharply
	scratch       *shapeWork
	log           shapeLog
}

// sighted is a stretch in which flow, and return or not, were there.
type sighted struct {
	Span
	flow, ret bool
}

// shapeBurn is a burn as the shape shows it.
type shapeBurn struct {
	from, to                    time.Time
	cut, open                   bool
	rough                       bool    // its times are not sharp: see Firing.Rough
	flowStart, flowEnd, flowMax float64 // °C
	delta                       float64 // K at the end
	settled                     SettledDelta
	settledSeen                 bool
}

// shapeWork is what one look at a block needs, kept between looks. All workers of a builder share one.
type shapeWork struct {
	f0, f1, f2, r0, r1     [shapeBlock]float64 // smoothed, and slopes, K/s, K/s²
	slow, slowR            [shapeBlock]float64 // slopes over a longer stretch
	drive, llr, still      [shapeBlock]float64
	noise, half            float64 // of f1, K/s; half the stretch of smoothing, s
	from                   [shapeBlock][shapeStates]uint8
	state                  [shapeBlock]uint8
	ahead, falls, together [shapeBlock]bool
}

// take takes a value of flow or return. dark tells that no flame is known at present, so that the shape is needed.
func (s *shaper) take(p decode.Point, t time.Time, v float64, dark bool) {
	if !p.Holds(v) {
		return
	}
	s.log.add(p, t, v, dark)
	if p == decode.Return {
		s.rets[0], s.rets[1] = s.rets[1], value{v, momentOf(t), true}
		if !s.flows { // return alone tells of nothing, but it was looked at
			s.see(t, false, true)
		}
		return
	}
	s.flows = true
	if s.pending.seen && s.pending.age(t) < shapeThin {
		return
	}
	s.push()
	if s.pending.seen {
		d := s.pending.age(t)
		if d > s.hold() {
			s.close()
		} else {
			s.cadence.Add(d)
		}
		if x := math.Abs(v - s.pending.v); x > 1e-6 && (s.step == 0 || x < s.step) {
			s.step = x
		}
	}
	s.pending, s.darkNow = value{v, momentOf(t), true}, dark
}

// hold is how long a sample stands.
func (s *shaper) hold() time.Duration { return max(shapeGap, holdIntervals*s.cadence.Usual()) }

// see notes a stretch in which the source was looked at.
func (s *shaper) see(t time.Time, flow, ret bool) {
	if n := len(s.sights) - 1; n >= 0 && s.sights[n].flow == flow && s.sights[n].ret == ret && since(t, s.sights[n].To) <= s.hold() {
		s.sights[n].To = t
		return
	}
	s.sights = append(s.sights, sighted{Span{From: t, To: t}, flow, ret})
}

// push moves the pending flow into the block with the return nearest to it in time.
func (s *shaper) push() {
	if !s.pending.seen {
		return
	}
	t := s.pending.t
	near := func(v value) time.Duration { return t.since(v.t).Abs() }
	r := s.rets[1]
	if s.rets[0].seen && near(s.rets[0]) < near(r) {
		r = s.rets[0]
	}
	paired := r.seen && near(r) <= settlePair
	if s.n > 0 && paired != s.paired {
		s.close()
	}
	s.paired = paired
	if s.n == shapeBlock {
		s.look(shapeTail)
	}
	if s.n == 0 {
		s.base = t
	}
	f := s.pending.v
	if !paired {
		r.v = f
	} else if s.swapped {
		f, r.v = r.v, f
	}
	s.t[s.n], s.f[s.n], s.r[s.n] = t.since(s.base).Seconds(), f, r.v
	if s.darkNow {
		s.dark = s.n
	}
	s.n++
	s.last = t.time()
	s.see(s.last, true, paired)
}

// end closes what was looked at without a break: at a gap between runs, or at the record's end.
func (s *shaper) end() {
	s.log.end()
	s.push()
	s.pending.seen, s.rets = false, [2]value{}
	s.close()
}

// close tells all that is left of the piece under way: a gap follows, or the record's end.
func (s *shaper) close() {
	if s.n > 0 {
		s.look(0)
		s.rest(momentOf(s.last).since(s.base).Seconds())
	}
	s.n, s.first, s.dark = 0, 0, -1
}

// noise is the standard deviation of one value, K.
func (s *shaper) noise() float64 { return max(probeNoise, 0.3*s.step) }

func (s *shaper) at(x float64) time.Time { return (s.base + moment(x*float64(time.Second))).time() }
