package scoring

import "time"

// edgeOfSight is how near to a stretch in which nobody could look an episode's edge may lie before it is set aside: a
// state that is not told again holds for a minute at the least (package episode), so that nothing nearer is certain.
const edgeOfSight = time.Minute

// span is an episode as offsets from the scenario's start.
type span struct{ from, to time.Duration }

func (s span) length() time.Duration      { return s.to - s.from }
func (s span) touches(o span) bool        { return s.from <= o.to && o.from <= s.to }
func (s span) wider(d time.Duration) span { return span{s.from - d, s.to + d} }
func (s span) overlap(o span) time.Duration {
	return max(0, min(s.to, o.to)-max(s.from, o.from))
}

func near(a, b, tolerance time.Duration) bool { return (a - b).Abs() <= tolerance }

// within tells whether two spans touch and both edges agree.
func (s span) within(o span, tolerance time.Duration) bool {
	return s.touches(o) && near(s.from, o.from, tolerance) && near(s.to, o.to, tolerance)
}

// pairs matches two lists one to one, both in order of time: for each of the n true ones the earliest found one that
// fits and is still free, −1 for none. Where what fits one true episode never lies before what fits an earlier one,
// as with spans that follow each other, these are the most pairs there can be.
func pairs(n, m int, fits func(i, j int) bool) []int {
	out := make([]int, n)
	next := 0
	for i := range out {
		out[i] = -1
		for j := next; j < m; j++ {
			if fits(i, j) {
				out[i], next = j, j+1
				break
			}
		}
	}
	return out
}

// spanPairs matches spans by their edges.
func spanPairs(really, found []span, tolerance time.Duration) []int {
	return pairs(len(really), len(found), func(i, j int) bool { return really[i].within(found[j], tolerance) })
}

// byOverlap pairs every true with every found span that overlap each other more than any other, tolerance or not:
// −1 for none.
func byOverlap(really, found []span) []int {
	most := func(s span, list []span) int {
		best, at := time.Duration(0), -1
		for i, o := range list {
			if d := s.overlap(o); d > best {
				best, at = d, i
			}
		}
		return at
	}
	out := make([]int, len(really))
	for i, s := range really {
		out[i] = -1
		if j := most(s, found); j >= 0 && most(found[j], really) == i {
			out[i] = j
		}
	}
	return out
}

// blind are the stretches of a record in which nobody could look, its ends among them.
func (h *Heard) blind() []span {
	const far = 1 << 62
	out := []span{{-far, 0}, {h.Truth.Ended, far}}
	for _, w := range h.Scenario.Faults.LoggerOff {
		out = append(out, span{w.From, w.To})
	}
	if h.Listening.Bus() {
		for _, w := range h.Scenario.Faults.Adapter {
			out = append(out, span{w.From, w.To})
		}
	}
	return out
}

// cutOff are the stretches in which a fault of the mains kept the bus silent: what was asked for meanwhile nobody could
// tell.
func (h *Heard) cutOff() (out []span) {
	for _, w := range h.Scenario.Faults.Supply {
		if h.Listening.Bus() {
			out = append(out, span{w.From, w.To})
		}
	}
	return out
}

// hidden tells whether a span comes too near to a blind stretch.
func hidden(s span, blind []span, margin time.Duration) bool {
	for _, b := range blind {
		if s.wider(margin).touches(b) {
			return true
		}
	}
	return false
}
