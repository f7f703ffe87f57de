package episode

import (
	"cmp"
	"slices"
)

// byShape adds the firings that the shape of flow and return tells where no flame is known, source by source: pairs
// before flows alone, the quicker before the slower. It gives how well firings could be told all through.
func (b *Builder) byShape() []Sight {
	sights := b.byFlame()
	known := joined(slices.Clone(b.flame.sight))
	var shapes []*shaper
	for _, s := range b.sources {
		if s.shape != nil {
			s.shape.end()
			s.shape = s.shape.again()
			shapes = append(shapes, s.shape)
		}
	}
	slices.SortStableFunc(shapes, func(x, y *shaper) int {
		return cmp.Or(y.rank()-x.rank(), cmp.Compare(x.cadence.Median(), y.cadence.Median()))
	})
	for _, s := range shapes {
		var mine []Span
		for _, x := range s.bySource() {
			for _, y := range minus(x.Span, known) {
				if len(known) > 0 && y.Duration() < leftover {
					continue // the seam of two sources
				}
				x.Span = Span{From: y.From, To: y.To}
				sights = append(sights, x)
				if x.Basis == ByShape {
					mine = append(mine, x.Span)
				}
			}
		}
		if s.blurred() {
			s.found = nil
		}
		for _, x := range s.found {
			for _, y := range minus(Span{From: x.from, To: x.to, Cut: x.cut, Open: x.open}, known) {
				b.firings = append(b.firings, b.shapeFiring(x, y))
			}
		}
		known = joined(append(known, mine...))
	}
	slices.SortStableFunc(b.firings, func(x, y Firing) int { return x.From.Compare(y.From) })
	slices.SortStableFunc(sights, func(x, y Sight) int { return x.From.Compare(y.From) })
	return sights
}

// rank orders sources by what they can tell.
func (s *shaper) rank() int {
	rank := 0
	for _, x := range s.sights {
		switch {
		case x.flow && x.ret:
			rank = max(rank, 2)
		case x.flow:
			rank = max(rank, 1)
		}
	}
	return rank
}

func (b *Builder) shapeFiring(x shapeBurn, at Span) Firing {
	f := Firing{Span: at, Basis: ByShape, Rough: x.rough, FlowStart: x.flowStart, FlowEnd: x.flowEnd, FlowMax: x.flowMax,
		FlowSeen: true, DeltaEnd: x.delta, DeltaSeen: true}
	if at.Open {
		f.End = EndRecord
	}
	if x.settledSeen {
		f.Settled = []SettledDelta{x.settled}
	}
	f.Use, f.UseKnown = Heating, !b.cfg.HotWaterMade
	return f
}
