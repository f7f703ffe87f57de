package episode

import (
	"time"

	"tundish/decode"
)

const (
	// settleAfter is the time after lighting in which flow and return are not compared: three time constants of
	// a strapped probe on metal at its slowest (60 s, common practice, no source).
	settleAfter = 3 * time.Minute
	// settleWindow and settleDrift say what settled means: flow and return each moved by no more than the drift
	// over the window (1 K/min). Own proposal.
	settleWindow = 2 * time.Minute
	settleDrift  = 2.0 // K
	// settleAtLeast is the shortest settled time worth a figure. Own proposal.
	settleAtLeast = time.Minute
	// settlePair is how old the partner may be when flow and return are compared.
	settlePair = 90 * time.Second
	// waterLeast and waterMost bound what the water of a heating that burns can be, °C: beyond them it is the sensor that
	// speaks, an open or shorted thermistor. Limiters trip at 95 to 110 °C (common practice, no source).
	waterLeast, waterMost = -10.0, 110.0
)

type sample struct {
	t         time.Time
	flow, ret float64
}

// settler finds the settled stretches of one firing in one source's flow and return.
type settler struct {
	source    string
	flow, ret value
	ring      []sample // the last settleWindow, thinned to 5 s
	low, high sample   // of the ring's flow and return, the lowest and the highest
	sum       float64
	sumFlow   float64
	sumMod    float64
	modFor    time.Duration
	total     time.Duration
	from, to  time.Time
	prev      time.Time
}

// restart forgets what belonged to the firing before.
func (s *settler) restart() {
	s.ring = s.ring[:0]
	s.begin()
	s.prev = time.Time{}
}

// begin sums up anew.
func (s *settler) begin() {
	s.sum, s.sumFlow, s.sumMod, s.modFor, s.total = 0, 0, 0, 0, 0
	s.from, s.to = time.Time{}, time.Time{}
}

func (s *settler) take(p decode.Point, t time.Time, v float64) {
	if p == decode.Flow {
		s.flow = value{v, momentOf(t), true}
	} else {
		s.ret = value{v, momentOf(t), true}
	}
}

// watch looks at the pair while a heating firing that began at lit burns.
func (s *settler) watch(t, lit time.Time, modulation *float64) {
	if !s.flow.seen || !s.ret.seen || s.flow.age(t) > settlePair || s.ret.age(t) > settlePair {
		s.ring, s.prev = s.ring[:0], time.Time{}
		return
	}
	now := sample{t, s.flow.v, s.ret.v}
	if min(now.flow, now.ret) < waterLeast || max(now.flow, now.ret) > waterMost {
		s.ring, s.prev = s.ring[:0], time.Time{}
		return
	}
	if n := len(s.ring); n == 0 || since(t, s.ring[n-1].t) >= 5*time.Second {
		for len(s.ring) > 1 && since(t, s.ring[1].t) >= settleWindow {
			s.ring = append(s.ring[:0], s.ring[1:]...)
		}
		s.ring = append(s.ring, now)
		s.bounds()
	}
	if since(t, lit) < settleAfter || !s.still(now) {
		s.prev = time.Time{}
		return
	}
	if !s.prev.IsZero() {
		dt := since(t, s.prev)
		w := dt.Seconds()
		s.sum += (now.flow - now.ret) * w
		s.sumFlow += now.flow * w
		s.total += dt
		if modulation != nil {
			s.sumMod += *modulation * w
			s.modFor += dt
		}
		s.to = t
	} else if s.from.IsZero() {
		s.from = t
	}
	s.prev = t
}

// bounds finds the lowest and the highest of the ring.
func (s *settler) bounds() {
	s.low, s.high = s.ring[0], s.ring[0]
	for _, x := range s.ring {
		s.low.flow, s.high.flow = min(s.low.flow, x.flow), max(s.high.flow, x.flow)
		s.low.ret, s.high.ret = min(s.low.ret, x.ret), max(s.high.ret, x.ret)
	}
}

// still tells whether flow and return stood still over the window.
func (s *settler) still(now sample) bool {
	if len(s.ring) == 0 || since(now.t, s.ring[0].t) < settleWindow {
		return false
	}
	return max(s.high.flow, now.flow)-min(s.low.flow, now.flow) <= settleDrift &&
		max(s.high.ret, now.ret)-min(s.low.ret, now.ret) <= settleDrift
}

func (s *settler) result() (SettledDelta, bool) {
	if s.total < settleAtLeast {
		return SettledDelta{}, false
	}
	sec := s.total.Seconds()
	d := SettledDelta{Source: s.source, Mean: s.sum / sec, MeanFlow: s.sumFlow / sec, For: s.total, From: s.from, To: s.to}
	if s.modFor > 0 {
		d.Modulation, d.ModSeen = s.sumMod/s.modFor.Seconds(), true
	}
	return d, true
}
