package episode

import (
	"slices"
	"time"
)

func seconds(x float64) time.Duration { return time.Duration(x * float64(time.Second)) }

// minus gives what is left of a span without others, which lie in order of time.
func minus(s Span, others []Span) []Span {
	var out []Span
	at, cut := s.From, s.Cut
	for _, o := range others {
		if !o.To.After(at) {
			continue
		}
		if !o.From.Before(s.To) {
			break
		}
		if o.From.After(at) {
			out = append(out, Span{From: at, To: o.From, Cut: cut, Open: true})
		}
		at, cut = o.To, true
	}
	if at.Before(s.To) || at.Equal(s.To) && len(out) == 0 && at.Equal(s.From) {
		out = append(out, Span{From: at, To: s.To, Cut: cut, Open: s.Open})
	}
	return out
}

// joined puts spans in order and joins those that touch.
func joined(spans []Span) []Span {
	slices.SortFunc(spans, func(a, b Span) int { return a.From.Compare(b.From) })
	var out []Span
	for _, s := range spans {
		if n := len(out) - 1; n >= 0 && !s.From.After(out[n].To) {
			if s.To.After(out[n].To) {
				out[n].To = s.To
			}
			continue
		}
		out = append(out, s)
	}
	return out
}

// byFlame are the stretches in which the flame's own signal was known.
func (b *Builder) byFlame() []Sight {
	out := make([]Sight, len(b.flame.sight))
	basis, because := b.ownBasis()
	for i, s := range b.flame.sight {
		usual := b.flame.cadence.Median()
		out[i] = Sight{Span: s, Basis: basis, Source: b.flame.owner, Interval: usual, Shortest: usual, Because: because}
	}
	return out
}

// blurred tells whether the noise of the drive hides the burner.
func (s *shaper) blurred() bool { return s.drive > 0 && s.drive < blurFactor*s.blur }

// blurFactor is how far the drive must stand out of its noise. Own proposal.
const blurFactor = 3.0

const (
	// pumpRestsFrom is the share of stops with which the pump stopped too from which that is how the plant is run. Own
	// proposal.
	pumpRestsFrom = 0.25
	// besideRest is the shortest burn or pause that is told at such a plant: water that stands says nothing of the
	// exchanger, and a start pushes it past the probes first, up to two minutes; each edge is given that, and as much
	// again to tell standing from flowing. Own proposal, by the simulated homes.
	besideRest = 6 * time.Minute
)

// pumpRests tells whether the water in the pipes stands at this plant while the burner may run, or as soon as it stops.
func (s *shaper) pumpRests() bool {
	return s.taps || s.pumpStops > 0 && float64(s.pumpStops) >= pumpRestsFrom*float64(s.stops)
}

// tells is the shortest burn or pause that can be told.
func (s *shaper) tells() time.Duration {
	if s.pumpRests() {
		return max(besideRest, seconds(s.shortest))
	}
	return seconds(s.shortest)
}

// bySource are the stretches in which a source's flow and return could be looked at, and what they could tell.
func (s *shaper) bySource() []Sight {
	var out []Sight
	add := func(x Span, basis Basis, because string) {
		if x.To.After(x.From) {
			out = append(out, Sight{Span: x, Basis: basis, Source: s.source, Interval: s.cadence.Median(),
				Lag: seconds(s.lag.probe()), Shortest: s.tells(), Because: because})
		}
	}
	for _, x := range s.sights {
		switch {
		case !x.flow:
			add(x.Span, "", "only the return is there: it warms and cools too late and too little to tell a burner by")
		case !x.ret:
			add(x.Span, "", "only the flow is there: a burner that holds its set-point cannot be told from water that stands")
		case s.blurred():
			add(x.Span, "", "the values are too coarse: a burner that lights moves them no more than they jump by themselves")
		default:
			why := "told by how flow and return warm and cool"
			if s.swapped {
				why += "; flow and return are exchanged: what is called return is the hotter when the burner runs"
			}
			if s.pumpRests() {
				why += "; where the water in the pipes stands as soon as the burner stops, or while a tap is open, times are rough: a start can be told up to two minutes early, and a short stop be missed"
			}
			if !s.lag.learnt {
				why += "; the probes' lag could not be found out and is taken as usual"
			}
			for _, y := range minus(x.Span, joined(append(slices.Clone(s.unsure), s.swings...))) {
				add(y, ByShape, why)
			}
			for _, y := range s.swings {
				if y = (Span{From: later(x.From, y.From), To: earlier(x.To, y.To)}); y.To.After(y.From) {
					add(y, "", "the flow swings from one reading to the next: the burner comes and goes faster than it is read")
				}
			}
			for _, y := range s.unsure {
				if o := y.Overlap(x.Span); o > 0 {
					add(y, "", "flow and return were exchanged, which showed only later")
				}
			}
		}
	}
	return out
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
