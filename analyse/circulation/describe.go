package circulation

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
)

// mostEvidence is how many runs are shown: the decisive ones.
const mostEvidence = 6

func describe(p *analyse.Pass, o observed, dead, all []bout) analyse.Finding {
	var rises, hottest, returns []float64
	var lasted []time.Duration
	n := 0
	total := time.Duration(0)
	for _, b := range dead {
		total += b.Duration()
		n += len(b.dead)
		for _, f := range b.dead {
			rises = append(rises, f.Rise.Fastest)
			hottest = append(hottest, f.Rise.FlowMax)
			returns = append(returns, f.Rise.ReturnMax)
			lasted = append(lasted, f.Duration())
		}
	}
	rise, flow, ret := slices.Max(rises), median(hottest), median(returns)
	p.Measured("fastest rise of the flow", "%.0f K/min in the fastest of %s", rise, analyse.Count(n, "such firing"))
	p.Measured("flow and return", "flow up to %v, return no more than %v (medians)", celsius(round(flow)), celsius(round(ret)))
	p.RuledOut("a single short burn", "%s in a row or more, for %s in all", analyse.Times(restarts), analyse.Span(total))
	s := read(p, o, dead, all)
	if !s.pressureKnown {
		p.LeftOpen("water pressure", "not known at these firings: a leak cannot be ruled out")
	}
	f := analyse.Finding{
		Severity: analyse.Act, From: dead[0].From, To: dead[len(dead)-1].To,
		Summary: fmt.Sprintf("The burner heats water that does not move: in %s the flow went to about %.0f °C while the return stayed at %.0f °C, the burner was off again after %s, and next to no heat reached the rooms.",
			analyse.Count(n, "firing"), flow, ret, analyse.Span(median(lasted))),
		Numbers: []analyse.Number{
			{Name: "firings_without_circulation", Value: float64(n), Label: "firings without circulation", Unit: ""},
			{Name: "flow_rise_k_per_min", Value: round(rise), Label: "fastest rise of the flow", Unit: "K/min"},
			{Name: "flow_c_highest", Value: round(slices.Max(hottest)), Label: "hottest flow", Unit: "°C"},
			{Name: "return_c_highest", Value: round(slices.Max(returns)), Label: "warmest return", Unit: "°C"},
			{Name: "burn_s_median", Value: median(lasted).Round(time.Second).Seconds(), Label: "median burn", Unit: "s"},
			{Name: "hours", Value: round(total.Hours()), Label: "hours of it", Unit: "h"},
		},
		Causes: s.causes(p),
	}
	f.Evidence = evidence(p, dead)
	return f
}

func evidence(p *analyse.Pass, dead []bout) []analyse.Evidence {
	best := slices.Clone(dead)
	slices.SortStableFunc(best, func(x, y bout) int { return len(y.dead) - len(x.dead) })
	best = best[:min(len(best), mostEvidence)]
	slices.SortFunc(best, func(x, y bout) int { return x.From.Compare(y.From) })
	var out []analyse.Evidence
	for _, b := range best {
		f := fastest(b.dead)
		note := fmt.Sprintf("%s without circulation; at %s the flow went from %.0f to %.0f °C at up to %.0f K/min, the return stood at %.0f °C",
			analyse.Count(len(b.dead), "firing"), p.Site.Clock(f.From), f.Rise.FlowStart, f.Rise.FlowMax, f.Rise.Fastest, f.Rise.ReturnMax)
		if b.overheat {
			note += "; it ended in an overheat lockout"
		}
		out = append(out, analyse.Evidence{From: b.From, To: b.To, Note: note})
	}
	return out
}

// fastest is the firing whose flow rose fastest: the one that shows it best.
func fastest(all []*episode.Firing) *episode.Firing {
	return slices.MaxFunc(all, func(x, y *episode.Firing) int { return cmp.Compare(x.Rise.Fastest, y.Rise.Fastest) })
}

// median of the values, the lower one of the two in the middle; 0 for none.
func median[T time.Duration | float64](v []T) T {
	if len(v) == 0 {
		return 0
	}
	v = slices.Clone(v)
	slices.Sort(v)
	return v[(len(v)-1)/2]
}
