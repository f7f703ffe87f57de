package cycling

import (
	"fmt"
	"math"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
)

func describe(p *analyse.Pass, burns []episode.Firing, spells []spell, peak int, total time.Duration) analyse.Finding {
	var in []episode.Firing
	var offs []time.Duration
	for _, s := range spells {
		in = append(in, burns[s.first:s.last+1]...)
		for i := s.first; i < s.last; i++ {
			offs = append(offs, burns[i+1].From.Sub(burns[i].To))
		}
	}
	burn := medianBurn(in)
	f := analyse.Finding{
		Severity: analyse.Advise,
		From:     spells[0].From, To: spells[len(spells)-1].To,
		Summary: fmt.Sprintf("The burner starts up to %d times an hour and burns for only %s at a time, during %s in all: it wears, and wastes fuel.",
			peak, analyse.Span(burn), analyse.Span(total)),
		Numbers: []analyse.Number{
			{Name: "starts_per_hour_peak", Value: float64(peak), Label: "most starts in an hour", Unit: ""},
			{Name: "burn_s_median", Value: math.Round(burn.Seconds()), Label: "median burn", Unit: "s"},
			{Name: "off_s_median", Value: math.Round(median(offs).Seconds()), Label: "median pause", Unit: "s"},
			{Name: "starts", Value: float64(len(in)), Label: "starts in these hours", Unit: ""},
			{Name: "hours", Value: math.Round(total.Hours()*10) / 10, Label: "hours of short-cycling", Unit: "h"},
		},
		Evidence: evidence(p, burns, spells),
	}
	f.Causes = weigh(p, burns, spells)
	return f
}

// mostEvidence is how many spells are shown: the decisive hours, not all hours.
const mostEvidence = 6

// evidence shows the spells with the most starts an hour, in order of time.
func evidence(p *analyse.Pass, burns []episode.Firing, spells []spell) []analyse.Evidence {
	rate := func(s spell) float64 { return float64(s.last-s.first+1) / s.Duration().Hours() }
	best := slices.Clone(spells)
	slices.SortStableFunc(best, func(x, y spell) int { return -cmpFloat(rate(x), rate(y)) })
	best = best[:min(len(best), mostEvidence)]
	slices.SortFunc(best, func(x, y spell) int { return x.From.Compare(y.From) })
	out := make([]analyse.Evidence, len(best))
	for i, s := range best {
		in := burns[s.first : s.last+1]
		out[i] = analyse.Evidence{From: s.From, To: s.To, Note: fmt.Sprintf("%d starts in %s, median burn %s",
			len(in), analyse.Span(s.Duration()), analyse.Span(medianBurn(in)))}
	}
	return out
}

func cmpFloat(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}
