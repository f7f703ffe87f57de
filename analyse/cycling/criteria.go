package cycling

import (
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
)

// causeCriteria are the thresholds and weights of the causes.
func causeCriteria() []analyse.Criterion {
	const own, worked = "own proposal", "worked out from V·ρ·c, ρ·c by IAPWS-IF97"
	return []analyse.Criterion{
		{Name: "a burn belongs to demand up to, after its end", Value: afterDemand.Minutes(), Unit: "min", Source: "common practice, no source (pump overrun)"},
		{Name: "told by shape: burns and pauses must be told from", Value: fineEnough.Seconds(), Unit: "s", Source: own},
		{Name: "told by shape: share of the record, from", Value: seenEnough, Source: own},
		{Name: "told by shape: the water stands from a ΔT of", Value: standingDelta, Unit: "K", Source: own},
		{Name: "told by shape: and by the design's, from", Value: standingShare, Source: own},
		{Name: "told by shape: no burn seen for", Value: quietFor.Hours(), Unit: "h", Source: own},
		{Name: "cause: a usual differential", Value: usualDifferential, Unit: "K", Source: "common practice, no source (8–10 K)"},
		{Name: "cause: burns in a row that the differential is read from", Value: swingBurns, Source: own},
		{Name: "cause: hardly any differential, surely up to", Value: narrowSwing, Unit: "K", Source: own},
		{Name: "cause: hardly any differential, below", Value: plainSwing, Unit: "K", Source: own},
		{Name: "cause: no anti-cycle time, pauses below", Value: noPause.Seconds(), Unit: "s", Source: "anti-cycle times are 3–5 min; common practice, no source"},
		{Name: "cause: the same with such pauses, surely up to", Value: quickNarrow, Unit: "K", Source: own},
		{Name: "cause: the same with such pauses, below", Value: quickPlain, Unit: "K", Source: own},
		{Name: "cause: hardly any differential, factor where a usual one gives short burns too", Value: narrowUnsure, Source: own},
		{Name: "cause: heat taken by what open emitters give, shut surely up to", Value: takesLittle, Source: own},
		{Name: "cause: heat taken by what open emitters give, shut below", Value: takesSomewhat, Source: own},
		{Name: "cause: heat taken by what open emitters give, open from", Value: takenFrom, Source: own},
		{Name: "cause: heat taken by what open emitters give, open surely from", Value: takesEnough, Source: own},
		{Name: "cause: exponent of radiators", Value: radiatorExponent, Source: "EN 442, usual value; from memory"},
		{Name: "cause: exponent of underfloor heating", Value: floorExponent, Source: "EN 1264; from memory"},
		{Name: "cause: room temperature where the job sheet has none", Value: usualInside, Unit: "°C", Source: "common practice, no source"},
		{Name: "cause: the burner turns down, least output by the load of that weather up to", Value: turnsDown, Source: own},
		{Name: "cause: the burner must cycle, least output by that load from", Value: mustCycle, Source: own},
		{Name: "cause: one output only, greatest by least up to", Value: fixedRange, Source: own},
		{Name: "cause: a burn so long that no warm-up explains it", Value: ranLong.Hours(), Unit: "h", Source: own},
		{Name: "cause: such a burn in weather colder by no more than", Value: asCold, Unit: "K", Source: own},
		{Name: "cause: shut valves where the same burner ran that long", Value: ranBefore, Source: own},
		{Name: "cause: stopped by its set-point, half of the stops within", Value: sameTop, Unit: "K", Source: own},
		{Name: "cause: little water, warmed volume from", Value: smallVolume, Unit: "l", Source: worked + ": 7 kW for 40 s and 10 K is 6.8 l"},
		{Name: "cause: little water, warmed volume surely", Value: tinyVolume, Unit: "l", Source: worked},
		{Name: "cause: little water, climb of the flow from", Value: quickRise, Unit: "K/min", Source: worked + ": 5 l at 7 kW give 20 K/min"},
		{Name: "cause: little water, climb of the flow surely", Value: steepRise, Unit: "K/min", Source: worked + ": 3 l at 7 kW give 34 K/min"},
		{Name: "cause: climb where nothing else is known, from", Value: slowRise, Unit: "K/min", Source: worked + ": 30 l at 7 kW give 3.4 K/min"},
		{Name: "cause: climb where nothing else is known, surely", Value: fastRise, Unit: "K/min", Source: worked + ": 12 l at 7 kW give 8.5 K/min"},
		{Name: "cause: little water, ΔT from", Value: plainDelta, Unit: "K", Source: "common practice, no source"},
		{Name: "cause: little water, ΔT surely", Value: wideDelta, Unit: "K", Source: "common practice, no source"},
		{Name: "cause: little water, share of the design flow from", Value: enoughFlow, Source: own},
		{Name: "cause: little water, share of the design flow surely", Value: littleFlow, Source: own},
		{Name: "cause: shortest burn whose climb counts", Value: leastClimb.Seconds(), Unit: "s", Source: own},
		{Name: "cause: burner at its least up to", Value: lowFire, Unit: "%", Source: own},
		{Name: "cause: too big without question, least output by design heat loss from", Value: strongWhenOversized, Source: "at 1 it cycles even on the coldest day"},
		{Name: "cause: oversized, to begin with", Value: oversizedBase, Source: own},
		{Name: "cause: oversized, factor at the least output", Value: atLowFire, Source: own},
		{Name: "cause: oversized, factor above it", Value: aboveLow, Source: own},
		{Name: "cause: oversized, least where too big without question", Value: oversizedLeast, Source: own},
		{Name: "cause: oversized, factor where too big without question", Value: tooBig, Source: own},
		{Name: "cause: closed-valves, at the strongest sign", Value: valvesBase, Source: own},
		{Name: "cause: closed-valves, strength of sign where nothing is read", Value: shortUnknown, Source: own},
		{Name: "cause: closed-valves, strength of the climb alone", Value: climbAlone, Source: own},
		{Name: "cause: control, where demand ended every burn", Value: controlBase, Source: own},
		{Name: "cause: control, where it ended none", Value: controlLeast, Source: own},
		{Name: "cause: control, added by running in well above the least", Value: runsIn, Source: own},
		{Name: "cause: control, with hardly any differential", Value: narrowBase, Source: own},
		{Name: "cause: control, where demand is not known and stops differ", Value: controlOpen, Source: own},
		{Name: "cause: oversized, taken off with hardly any differential", Value: narrowTakes, Source: own},
		{Name: "cause: oversized, least where the burner turns down enough", Value: roomyLeast, Source: own},
		{Name: "cause: not named below", Value: leastSupport, Source: own},
	}
}

// tell keeps what the causes rest on, and what is missing.
func (s signs) tell(p *analyse.Pass) {
	if s.demandSeen {
		p.Measured("burns that the end of demand ended", "%.0f %%", s.byDemand*100)
	} else {
		p.LeftOpen("a thermostat that chops its call", "nothing tells when heat was asked for: it needs the boiler's bus, or a contact at the thermostat's call")
	}
	if s.spreadSeen {
		p.Measured("flow at which the burner stopped", "half of the stops within %.1f K", s.spread)
	}
	if s.riseSeen {
		p.Measured("climb of the flow", "%.1f K/min (median)", s.rise)
	} else {
		p.LeftOpen("too little water moving", "the flow was not read in these burns: it needs a flow temperature")
	}
	if s.volumeSeen {
		p.Measured("water warmed", "about %.0f l, no load taken off", s.volume)
	}
	if s.deltaSeen {
		p.Measured("ΔT at the end of a burn", "%.0f K (median)", s.delta)
	}
	if s.modSeen {
		p.Measured("modulation", "%.0f %% (median)", s.modulation)
	} else {
		p.LeftOpen("burner above its least", "the modulation was not read: a burner that does not turn down cycles as one that is too big does")
	}
	if s.lossSeen {
		p.Measured("least output by design heat loss", "%.1f", s.leastOverLoss)
	}
}

// tellLookAlikes keeps what is left out of the count.
func tellLookAlikes(p *analyse.Pass, burns []episode.Firing) {
	hot, unsharp, unasked, counted := 0, 0, 0, 0
	for _, f := range burns {
		if f.Basis == episode.ByShape {
			counted++
		}
	}
	for _, f := range p.Facts.Firings {
		switch {
		case f.Use != episode.Heating:
			hot++
		case !sharp(p.Facts, f) || f.Basis == episode.ByShape && !f.UseKnown:
			unsharp++
		default:
			unasked++
		}
	}
	unasked = max(0, unasked-len(burns))
	p.Measured("heating burns counted", "%d", len(burns))
	if counted > 0 {
		p.Measured("of them told by shape", "%d, from flow and return: burns and pauses from %s up can be told", counted, analyse.Span(finest(p.Facts)))
	}
	if hot > 0 {
		p.RuledOut("hot water", "%s left out", analyse.Count(hot, "hot-water firing"))
	}
	if unasked > 0 {
		p.RuledOut("frost protection and burns cut by the record", "%s left out that nobody asked for or whose ends were not seen", analyse.Count(unasked, "firing"))
	}
	if unsharp > 0 {
		p.LeftOpen("firings told by shape", "%s told from flow and return alone, too rough in time or of unknown use, not in the count, so that there may be more", analyse.Count(unsharp, "firing"))
	}
}

// finest is the shortest burn that could be told by shape anywhere.
func finest(f *episode.Facts) time.Duration {
	least := time.Duration(0)
	for _, s := range f.Sights {
		if s.Basis == episode.ByShape && (least == 0 || s.Shortest < least) {
			least = s.Shortest
		}
	}
	return least
}
