package episode

import (
	"math"
	"time"
)

// edges turns the states from first to done into burns.
func (s *shaper) edges(done int) {
	w := s.scratch
	on := s.was == shapeOn
	if on && s.burn.from.IsZero() {
		s.begin(s.first, s.at(s.t[s.first]))
		s.burn.cut = true
	}
	for i := s.first; i < done; i++ {
		is := w.state[i] == shapeOn
		switch {
		case is && !on:
			s.begin(i, s.at(s.edge(i, true)))
		case on && !is:
			still := w.state[i] == shapeStill
			at := s.edge(i, false)
			if still {
				at = s.kink(i)
			} else if x, ok := s.stood(i); ok && s.at(x).Sub(s.burn.from) > seconds(2*standsLeast) {
				at, still = x, true
			}
			if s.stops++; still {
				s.pumpStops++
			}
			s.finish(s.at(at), still)
		}
		if on = is; on {
			s.during(i)
		}
	}
}

// begin opens a burn at sample i.
func (s *shaper) begin(i int, at time.Time) {
	if k := len(s.found) - 1; k >= 0 && at.Before(s.found[k].to) {
		at = s.found[k].to
	}
	s.burn = shapeBurn{from: at, flowStart: s.f[i], flowMax: s.f[i]}
	s.looked, s.swung = 0, 0
	s.settle.restart()
}

// during takes sample i of a burn.
func (s *shaper) during(i int) {
	b := &s.burn
	b.flowEnd, b.flowMax, b.delta = s.f[i], max(b.flowMax, s.f[i]), s.f[i]-s.r[i]
	if s.scratch.half >= kinkless && s.scratch.llr[i] < 0 && i > 0 && s.scratch.state[i-1] == shapeOn {
		if s.cooling += s.t[i] - s.t[i-1]; s.cooling >= mayStand {
			b.rough = true
		}
	} else {
		s.cooling = 0
	}
	s.looked++
	if i > 0 && i < s.n-1 && math.Abs(s.f[i-1]-2*s.f[i]+s.f[i+1]) > swingsBy {
		s.swung++
	}
	t := s.at(s.t[i])
	s.settle.flow, s.settle.ret = value{s.f[i], momentOf(t), true}, value{s.r[i], momentOf(t), true}
	s.settle.watch(t, b.from, nil)
}

// finish closes the burn under way.
func (s *shaper) finish(at time.Time, still bool) {
	b := s.burn
	s.burn = shapeBurn{}
	b.to, b.rough = at, b.rough || still
	if !b.to.After(b.from) {
		return
	}
	if s.swung >= swingsLeast && float64(s.swung) >= swingsShare*float64(s.looked) {
		s.swings = append(s.swings, Span{From: b.from, To: b.to})
		return
	}
	near := seconds(roughWithin * s.scratch.half * apart)
	b.rough = b.rough || b.to.Sub(b.from) < near
	if k := len(s.found) - 1; k >= 0 && b.from.Sub(s.found[k].to) < near {
		b.rough, s.found[k].rough = true, true
	}
	b.settled, b.settledSeen = s.settle.result()
	b.settled.Source = s.source
	s.found = append(s.found, b)
}

// Where samples are so far apart that half the stretch of smoothing is kinkless s or more, a pump that starts again
// after a rest does not show; a burn in which flow and return cooled together for mayStand s may hide such a rest. Own
// proposals.
const kinkless, mayStand = 20.0, 600.0

// swingsBy is by how many K a flow bends from one sample to the next where a burner comes and goes unseen between them;
// swingsShare the share of the samples of what looks like one burn, and swingsLeast the number, from which it is taken
// for many. Own proposals.
const swingsBy, swingsShare, swingsLeast = 3.0, 0.15, 8

// roughWithin is how near to the shortest burn or pause that can be told one must be to be marked. Own proposal.
const roughWithin = 1.5

// litShare is the share of the drive by which a start is dated, litFor the time in s for which it lights at the least.
// Own proposals.
const litShare, litFor = 0.3, 5.0

// edge finds when the drive went through half its change near sample i, s since base.
func (s *shaper) edge(i int, up bool) float64 {
	w := s.scratch
	n := s.n
	reach := s.lag.sum() + 2*w.half
	lo, hi := i, i
	for lo > s.first && s.t[i]-s.t[lo] < reach && (w.state[lo-1] == shapeOn) != up {
		lo--
	}
	for hi < n-1 && s.t[hi]-s.t[i] < reach && (w.state[hi+1] == shapeOn) == up {
		hi++
	}
	level, until := 0.0, s.t[hi] // of the burning side
	if up {                      // as it lights: it may rise later
		until = s.t[i] + 3*w.half + litFor
	}
	for j := lo; j <= hi && s.t[j] <= until; j++ {
		level = max(level, w.drive[j])
	}
	half := level / 2
	if up { // a burner often lights at less than it then burns
		half = level * litShare
	}
	best, at := 1e18, s.t[i]
	for j := max(1, lo); j <= hi; j++ {
		a, b := w.drive[j-1], w.drive[j]
		if up && a < half && b >= half || !up && a >= half && b < half {
			x := s.t[j-1] + (half-a)/(b-a)*(s.t[j]-s.t[j-1])
			if up { // smoothing over ±half spreads the edge: its middle is later
				x += (0.5 - litShare) * 2 * w.half
			}
			if d := max(x-s.t[i], s.t[i]-x); d < best {
				best, at = d, x
			}
		}
	}
	return at
}

// kinkBefore and kinkAfter are how much of a burn and of a rest a straight line is laid through, s. Own proposals.
const kinkBefore, kinkAfter = 150.0, 300.0

// kink finds where flow and return broke into a straight cooling near sample i, s since base: two lines meet there.
func (s *shaper) kink(i int) float64 {
	before, after := max(kinkBefore, 6*s.scratch.half), max(kinkAfter, 8*s.scratch.half)
	lo, hi := i, i
	for lo > 0 && s.t[i]-s.t[lo-1] <= before && (lo <= s.first || s.scratch.state[lo-1] == shapeOn) {
		lo--
	}
	for hi < s.n-1 && s.t[hi+1]-s.t[i] <= after && s.scratch.state[hi+1] == shapeStill {
		hi++
	}
	return s.bend(lo, hi)
}
