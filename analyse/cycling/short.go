// Package cycling judges how the burner comes and goes: firings too short and too often.
package cycling

import (
	"fmt"
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
	leastSpell    = 30 * time.Minute // so long it must go on at a stretch: the last quarter of an hour of a warm-up does not count; hot water and pauses in the call cut longer ones
	leastInAll    = time.Hour        // the same where only a short record is there
	leastTotal    = 2 * time.Hour    // and so long in all, "hour after hour"; less in a record with little demand
	joinSpells    = 30 * time.Minute // spells nearer than this are one
	watchStarts   = 3                // starts in an hour from which a remark is due
	leastDemand   = time.Hour        // of heat demand, before anything can be said
	longBurn      = 10 * time.Minute // a burn as long as a whole cycle should be; it ends a spell (the same article)
	spellDay      = 24 * time.Hour   // within which the hours must come together
	dailyShare    = 0.10             // of all heat demand, on so many days, makes up for short spells. Own proposal
	dailyDays     = 3                //
	drawStarts    = 8                // starts an hour
	noDraw        = 3 * time.Hour    // and more at a stretch for so long are no hot water: no household draws so, and no store is heated up so long. Own proposal
	storeHeats    = 2 * time.Hour    // a store is heated up within, as a rule; its coil takes little in the end, and any burner cycles. Own proposal
	leastShare    = 0.05             // of all heat demand: a few hours in months are no way of running. Own proposal
)

// Short is the check.
func Short() analyse.Check {
	return analyse.Check{
		Kind: "short-cycling",
		Doc:  "heating firings too short and too often while heat is asked for, hour after hour",
		Needs: []analyse.Need{{
			Points: []decode.Point{decode.Flame, decode.Flow},
			Say:    "no flame signal, and no flow and return to tell the burner by: it needs the boiler's bus, a flame contact, or probes on flow and return",
		}},
		Criteria: append([]analyse.Criterion{
			{Name: "a heating burn is short below", Value: shortBurn.Minutes(), Unit: "min", Source: "trade training article on condensing plant (burn not below about 5 min)"},
			{Name: "short burns within an hour, from", Value: shortInARow, Unit: "burns", Source: "own proposal"},
			{Name: "or starts within an hour, more than", Value: startsPerHour, Unit: "starts", Source: "usual default of room controllers on gas; common practice, no source"},
			{Name: "share of short burns in that hour, from", Value: shortShare, Unit: "", Source: "own proposal"},
			{Name: "goes on at a stretch for", Value: leastSpell.Minutes(), Unit: "min", Source: "own proposal; leaves out the last quarter of an hour of a warm-up"},
			{Name: "goes on within a day for (or half of the demand seen, if less, but at least an hour)", Value: leastTotal.Hours(), Unit: "h", Source: "own proposal"},
			{Name: "and for this share of all heat demand", Value: leastShare, Source: "own proposal"},
			{Name: "or for this share of it, on three days or more", Value: dailyShare, Source: "own proposal"},
			{Name: "no hot water, starts an hour from", Value: drawStarts, Unit: "starts", Source: "own proposal"},
			{Name: "and these at a stretch for", Value: noDraw.Hours(), Unit: "h", Source: "own proposal"},
			{Name: "a store of unknown times, a stretch not longer than", Value: storeHeats.Hours(), Unit: "h", Source: "own proposal: a store is heated up within that, and its coil takes little in the end"},
			{Name: "a burn that ends a spell", Value: longBurn.Minutes(), Unit: "min", Source: "trade training article on condensing plant (cycle not below about 10 min)"},
		}, causeCriteria()...),
		Run: short,
	}
}

func short(p *analyse.Pass) {
	burns := heatingBurns(p, false)
	v := judge(p, burns)
	if v.cycles && useUnknown(p) && !toldUse(v.in(burns)) || !v.cycles && judge(p, heatingBurns(p, true)).cycles {
		// Nothing says what the burns were for, unless they tell it by themselves.
		burns = heatingBurns(p, true)
		if v = judge(p, burns).tooMany(p); !v.cycles {
			p.NotAssessable("burns are short, but the record does not say whether they were for heating or for hot water: it needs heat demand, or the bus's hot-water flag")
			return
		}
		p.RuledOut("hot water of unknown times", "%d starts an hour and more for %s and longer at a stretch: neither taps nor a store ask so", drawStarts, analyse.Span(noDraw))
	}
	if v.cycles {
		all := v
		if v = v.noStore(p, burns); !v.cycles {
			p.NotAssessable(fmt.Sprintf("burns were short for %s, but in stretches of less than %s, and nothing says that they were not for hot water: towards the end of heating a store any burner cycles. It needs the bus's hot-water flag or the store's temperature",
				analyse.Span(all.total), analyse.Span(storeHeats)))
			return
		}
	}
	tellLookAlikes(p, burns)
	if !v.cycles {
		soundOrUnseen(p, burns, v.demand, clearBecause(burns, v.peak, v.total))
		return
	}
	p.Found(describe(p, burns, v.spells, v.peak, v.total))
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
// is known: frost protection and service runs are no cycling. Those told by shape whose use is not known come only with
// anyUse.
func heatingBurns(p *analyse.Pass, anyUse bool) []episode.Firing {
	known := p.Has(decode.HeatDemand)
	demands := p.Facts.Demands
	var out []episode.Firing
	for _, x := range p.Facts.Firings {
		if x.Use != episode.Heating || x.Cut || x.Open || x.Basis == episode.ByShape && !x.UseKnown && !anyUse || !sharp(p.Facts, x) {
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
