package overshoot

import (
	"fmt"
	"math"
	"slices"

	"tundish/analyse"
)

func describe(p *analyse.Pass, starts []start, m measured) analyse.Finding {
	over := slices.DeleteFunc(slices.Clone(starts), func(s start) bool { return m.of(s) < overK })
	perHour := startsPerHour(starts)
	f := analyse.Finding{
		Severity: analyse.Advise, From: over[0].From, To: over[len(over)-1].To,
		Summary: fmt.Sprintf("After most starts the water gets much hotter than was asked for: %.0f K past the set-point as a rule, in %d of %s. It wastes fuel and wears the boiler.",
			m.median, len(over), analyse.Count(len(starts), "heating start")),
		Numbers: []analyse.Number{
			{Name: "overshoot_k_median", Value: round(m.median), Label: "median overshoot", Unit: "K"},
			{Name: "overshoot_share", Value: math.Round(m.share*100) / 100, Label: "share of the starts", Unit: ""},
			{Name: "heating_starts", Value: float64(len(starts)), Label: "heating starts judged", Unit: ""},
			{Name: "starts_per_hour_median", Value: round(perHour), Label: "starts an hour, median", Unit: "1/h"},
		},
		Causes: weigh(p, over, m),
	}
	if m.median < 1.25*overK && perHour < manyStarts {
		f.Severity = analyse.Note
	}
	worst := slices.Clone(over)
	slices.SortStableFunc(worst, func(x, y start) int { return -cmpFloat(m.of(x), m.of(y)) })
	worst = worst[:min(len(worst), mostEvidence)]
	slices.SortFunc(worst, func(x, y start) int { return x.From.Compare(y.From) })
	for _, s := range worst {
		f.Evidence = append(f.Evidence, analyse.Evidence{From: s.From, To: s.To,
			Note: fmt.Sprintf("set-point %.0f °C, flow up to %.1f °C", s.Excess.Setpoint, s.Excess.Setpoint+m.of(s))})
	}
	return f
}

// mostEvidence is how many starts are shown: the worst, not all.
const mostEvidence = 6
