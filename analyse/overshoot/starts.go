package overshoot

import (
	"slices"

	"tundish/analyse"
	"tundish/analyse/episode"
)

// start is one firing that can be judged.
type start struct {
	*episode.Firing
	own, other         float64 // K past the set-point
	ownSeen, otherSeen bool
	by                 float64 // the excess that decides, see [witness.top]
	carries            bool    // after it water carried the heat away, see [carried]
}

// first gives the excess by the source of the set-point, else by another.
func (s start) first() float64 {
	if s.ownSeen {
		return s.own
	}
	return s.other
}

// leftOut counts the firings that were not judged, by why.
type leftOut struct {
	unknownUse, still int
	doubted           int     // by no sensor that may be relied on
	unknown           []start // the firings of unknown use
}

func (l leftOut) tell(p *analyse.Pass) {
	if l.still > 0 {
		p.RuledOut("firings that did not warm the flow", "%s are left out", analyse.Count(l.still, "firing"))
	}
}

func collect(p *analyse.Pass, w witness) (out []start, left leftOut) {
	for i := range p.Facts.Firings {
		f := &p.Facts.Firings[i]
		x := f.Excess
		if f.Use != episode.Heating || f.Cut || f.Rough || !x.Seen() || f.Duration() < leastBurn {
			continue
		}
		s := start{Firing: f, own: x.Own - x.Setpoint, other: x.Other - x.Setpoint,
			ownSeen: x.OwnSeen && w.ownOut == "", otherSeen: x.OtherSeen && w.otherOut == ""}
		if !s.ownSeen && !s.otherSeen {
			left.doubted++
			continue
		}
		s.by, s.carries = w.top(s), carried(p.Facts.Firings, i)
		peak := x.Setpoint + s.by
		switch {
		case f.FlowSeen && max(peak, f.FlowMax)-f.FlowStart < heatsBy:
			left.still++
		case !f.UseKnown:
			left.unknownUse++
			left.unknown = append(left.unknown, s)
		default:
			out = append(out, s)
		}
	}
	return out, left
}

// none tells whether hardly any start overshoots.
func none(starts []start) bool {
	var by []float64
	for _, s := range starts {
		by = append(by, s.by)
	}
	return share(by) <= 1-evenStarts
}

// ofTheirOwn leaves out starts that went on from hot water, where enough others are left.
func ofTheirOwn(p *analyse.Pass, starts []start) []start {
	own := slices.DeleteFunc(slices.Clone(starts), func(s start) bool { return s.Excess.Resumed })
	if len(own) < leastBurns {
		return starts
	}
	if n := len(starts) - len(own); n > 0 {
		p.RuledOut("firings that go on from hot water", "%d are left out", n)
	}
	return own
}

// evenly tells whether firings of unknown use were all driven by the one set-point that is known: nearly all came while
// heat was asked for, and pass it by much the same. Firings for hot water at a set-point of their own would stand apart.
func evenly(p *analyse.Pass, starts []start) bool {
	if len(starts) < 2*leastBurns || len(p.Facts.Demands) == 0 {
		return false
	}
	asked, demands := 0, p.Facts.Demands
	for _, s := range starts {
		for len(demands) > 0 && demands[0].To.Before(s.From) {
			demands = demands[1:]
		}
		if len(demands) > 0 && demands[0].Overlap(s.Span) > 0 {
			asked++
		}
	}
	var by []float64
	for _, s := range starts {
		by = append(by, s.by)
	}
	slices.Sort(by)
	spread := by[len(by)*9/10] - by[len(by)/10]
	p.Measured("use of the starts", "not told; %d of %d came while heat was asked for, and eight in ten of them pass the set-point within %.1f K of each other", asked, len(starts), spread)
	return float64(asked) >= 0.9*float64(len(starts)) && spread <= 2*evenK && share(by) >= evenStarts
}

// startsPerHour is the median rate of starts, from one start to the next.
func startsPerHour(starts []start) float64 {
	var rates []float64
	for i := 1; i < len(starts); i++ {
		if d := starts[i].From.Sub(starts[i-1].From).Hours(); d > 0 {
			rates = append(rates, 1/d)
		}
	}
	return median(rates)
}

// someStand answers where starts of unknown use overshoot in number while next to no water moves: they may be all that
// were for heating.
func someStand(p *analyse.Pass, unknown []start) bool {
	over := 0
	for _, s := range unknown {
		if s.by >= overK && s.stands() {
			over++
		}
	}
	if over > 0 {
		p.Measured("starts of unknown use that overshoot while next to no water moves", "%d of %d", over, len(unknown))
	}
	return over >= leastBurns
}

// noneOver tells whether no start overshoots at all.
func noneOver(starts []start) bool {
	return !slices.ContainsFunc(starts, func(s start) bool { return max(s.by, s.first()) >= overK || s.otherSeen && s.other >= overK })
}
