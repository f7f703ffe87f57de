// Package cycling judges how the burner comes and goes: firings too short and too often.
package cycling

import (
	"fmt"
	"math"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

// The criteria of short-cycling. The trade has no standard for it; published figures are a training article on
// condensing plant (a cycle of about ten minutes and a burn of about five at the least) and the daily starts of
// field studies.
const (
	shortBurn     = 5 * time.Minute  // a burn below is short
	shortInARow   = 3                // so many short burns within an hour
	startsPerHour = 6                // or more starts than this within an hour, whatever their length
	shortShare    = 0.75             // of the burns in that hour must be short: one long burn among many does not clear it
	leastSpell    = time.Hour        // so long it must go on at a stretch: the last quarter of an hour of a warm-up does not count
	leastTotal    = 2 * time.Hour    // and so long in all, "hour after hour"; less in a record with little demand
	joinSpells    = 30 * time.Minute // spells nearer than this are one
	watchStarts   = 3                // starts in an hour from which a remark is due
	leastDemand   = time.Hour        // of heat demand, before anything can be said
	longBurn      = 10 * time.Minute // a burn as long as a whole cycle should be; it ends a spell (the same article)
	spellDay      = 24 * time.Hour   // within which the hours must come together
	dailyShare    = 0.10             // of all heat demand, on so many days, makes up for short spells. Own proposal
	dailyDays     = 3                //
	leastShare    = 0.05             // of all heat demand: a few hours in months are no way of running. Own proposal
)

// Short is the check.
func Short() analyse.Check {
	return analyse.Check{
		Kind: "short-cycling",
		Doc:  "heating firings too short and too often while heat is asked for, hour after hour",
		Needs: []analyse.Need{{
			Points: []decode.Point{decode.Flame},
			Say:    "no flame signal: it needs the boiler's bus or a flame contact",
		}},
		Criteria: []analyse.Criterion{
			{Name: "a heating burn is short below", Value: shortBurn.Minutes(), Unit: "min", Source: "trade training article on condensing plant (burn not below about 5 min)"},
			{Name: "short burns within an hour, from", Value: shortInARow, Unit: "burns", Source: "own proposal"},
			{Name: "or starts within an hour, more than", Value: startsPerHour, Unit: "starts", Source: "usual default of room controllers on gas; common practice, no source"},
			{Name: "share of short burns in that hour, from", Value: shortShare, Unit: "", Source: "own proposal"},
			{Name: "goes on at a stretch for", Value: leastSpell.Minutes(), Unit: "min", Source: "own proposal; leaves out the end of a warm-up"},
			{Name: "goes on within a day for (or half of the demand seen, if less)", Value: leastTotal.Hours(), Unit: "h", Source: "own proposal"},
			{Name: "and for this share of all heat demand", Value: leastShare, Source: "own proposal"},
			{Name: "or for this share of it, on three days or more", Value: dailyShare, Source: "own proposal"},
			{Name: "a burn that ends a spell", Value: longBurn.Minutes(), Unit: "min", Source: "trade training article on condensing plant (cycle not below about 10 min)"},
		},
		Run: short,
	}
}

func short(p *analyse.Pass) {
	burns := heatingBurns(p)
	demand := demandTime(p.Facts)
	spells := findSpells(burns)
	total := time.Duration(0)
	for _, s := range spells {
		total += s.Duration()
	}
	if len(spells) > 0 && useUnknown(p) {
		p.NotAssessable("burns are short, but the record does not say whether they were for heating or for hot water: it needs heat demand, or the bus's hot-water flag")
		return
	}
	peak := peakPerHour(burns)
	need := leastTotal
	if demand > 0 {
		need = min(need, max(leastSpell, demand/2))
	} else {
		need = min(need, max(leastSpell, p.Facts.To.Sub(p.Facts.From)/2))
	}
	share := 1.0
	if demand > 0 {
		share = float64(total) / float64(demand)
	}
	inADay := mostInADay(spells) >= need && share >= leastShare
	onManyDays := share >= dailyShare && days(p, spells) >= dailyDays
	if !inADay && !onManyDays {
		soundOrUnseen(p, burns, demand, clearBecause(burns, peak, total))
		return
	}
	p.Found(describe(p, burns, spells, peak, total))
}

// soundOrUnseen answers where nothing was found: clear, if there was enough to see.
func soundOrUnseen(p *analyse.Pass, burns []episode.Firing, demand time.Duration, because string) {
	asked := demand
	if !p.Has(decode.HeatDemand, decode.HeatActive) {
		asked = p.Facts.To.Sub(p.Facts.From)
	}
	every := time.Duration(0)
	for _, c := range p.Coverage {
		if c.Series.Point == decode.Flame && (every == 0 || c.Interval < every) {
			every = c.Interval
		}
	}
	switch {
	case asked < leastDemand:
		p.NotAssessable(fmt.Sprintf("heat was asked for during %s only, in %s; %s are needed",
			analyse.Span(asked), analyse.Count(len(burns), "heating firing"), analyse.Span(leastDemand)))
	case every > shortBurn/2:
		p.NotAssessable(fmt.Sprintf("the flame was read every %s only, so that burns under %s cannot be told", analyse.Span(every), analyse.Span(shortBurn)))
	default:
		p.Clear(because)
	}
}

// days counts the days, in the site's zone, on which spells began.
func days(p *analyse.Pass, spells []spell) int {
	seen := map[string]bool{}
	for _, s := range spells {
		seen[p.Site.Day(s.From)] = true
	}
	return len(seen)
}

func clearBecause(burns []episode.Firing, peak int, total time.Duration) string {
	if len(burns) == 0 {
		return "no heating firing was seen"
	}
	s := fmt.Sprintf("%s, median burn %s, at most %s in an hour",
		analyse.Count(len(burns), "heating firing"), analyse.Span(medianBurn(burns)), analyse.Count(peak, "start"))
	switch {
	case total > 0:
		s += fmt.Sprintf("; short burns for %s in all, not hour after hour", analyse.Span(total))
	case peak >= watchStarts:
		s += "; worth watching"
	}
	return s
}

// afterDemand is how long after the end of demand a burn may begin and still belong to it: a pump's overrun (2–5 min,
// common practice, no source).
const afterDemand = 5 * time.Minute

// heatingBurns are the heating firings whose both ends were seen, and which came while heat was asked for where that
// is known: frost protection and service runs are no cycling.
func heatingBurns(p *analyse.Pass) []episode.Firing {
	known := p.Has(decode.HeatDemand)
	demands := p.Facts.Demands
	var out []episode.Firing
	for _, x := range p.Facts.Firings {
		if x.Use != episode.Heating || x.Cut || x.Open || x.Basis == episode.ByShape && (x.Rough || !x.UseKnown) {
			continue
		}
		for len(demands) > 0 && demands[0].To.Add(afterDemand).Before(x.From) {
			demands = demands[1:]
		}
		if known && (len(demands) == 0 || demands[0].From.After(x.To)) {
			continue
		}
		out = append(out, x)
	}
	return out
}

func demandTime(f *episode.Facts) time.Duration {
	var d time.Duration
	for _, x := range f.Demands {
		d += x.Duration()
	}
	return d
}

// useUnknown tells whether nothing in the record tells heating firings from hot-water firings in a plant that makes both.
func useUnknown(p *analyse.Pass) bool {
	makes := p.Plant.HotWater == analyse.CylinderHotWater || p.Plant.HotWater == analyse.InstantaneousHotWater
	return makes && !p.Has(decode.HotWaterActive, decode.HotWaterRate, decode.HeatDemand, decode.HeatActive)
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
	f.Causes = weigh(p, in)
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
