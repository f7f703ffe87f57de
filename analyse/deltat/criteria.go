package deltat

import (
	"time"

	"tundish/analyse"
)

// Designs are 20 K for condensing boilers, 11 K before them, 5–8 K for heat pumps (common practice, no source). On a
// design of 20 K the trade calls less than 8–10 K low and more than 25–30 K high.
const (
	// lowShare and lowAsWas: low is below the one at the design output, and below the other as it was.
	lowShare, lowAsWas = 0.65, 0.75
	// highShare and highAsWas: high is above the one at the design output, and above the other as it was; or above
	// highFar as it was, at whatever output.
	highShare, highAsWas, highFar = 1.45, 1.2, 1.5
	// highOver is what must lie between design and high at the least, K: on a heat pump's 5 K, a pump's steps alone make
	// 2 K.
	highOver = 2.5
	// anyLow and anyHigh lie outside every design in use, K: where the design is not known. anyLow only at anyLoad of the
	// greatest output, and not of a heat pump.
	anyLow, anyHigh, anyLoad = 4.0, 40.0, 50.0
	// leastSettled is how much burning must have been seen.
	leastSettled = 15 * time.Minute
	// endFrom is the shortest firing whose end stands for a settled difference where hardly any firing settles, endCounts
	// what its end counts, and mostlyEnds how much of a record's heating must be such for the ends to count.
	endFrom, endCounts = 5 * time.Minute, 2 * time.Minute
	// emittersBelow and emittersAbove are how far the true heat may lie below and above what the emitters tell, as a
	// share: shut valves take some; spare in the radiators, and water and metal that warm up, add more.
	emittersBelow, emittersAbove = 0.15, 0.35
	// fairModulation is the modulation from which a low difference says something where nothing tells the output, %.
	fairModulation = 40.0
)

func lowCriteria() []analyse.Criterion {
	return []analyse.Criterion{
		{Name: "low below this share of design ΔT, at the design output", Value: lowShare, Source: "own proposal: \"well below design\", on the careful side of the trade's 8–10 K of 20 K, since a tenth is lost in errors"},
		{Name: "and below this share of it as it was", Value: lowAsWas, Source: "own proposal"},
		{Name: "without a design: low below, at half the output or more, of a boiler", Value: anyLow, Unit: "K", Source: "own proposal: below every boiler design in use (11–20 K, common practice)"},
		{Name: "share of the greatest output that this wants", Value: anyLoad, Unit: "%", Source: "own proposal"},
		{Name: "modulation needed where nothing else tells the output", Value: fairModulation, Unit: "%", Source: "own proposal"},
	}
}

func highCriteria() []analyse.Criterion {
	return []analyse.Criterion{
		{Name: "high above this share of design ΔT, at the design output", Value: highShare, Source: "own proposal, after the trade's 25–30 K on a 20 K design"},
		{Name: "and above this share of it as it was", Value: highAsWas, Source: "own proposal"},
		{Name: "or above this share as it was, at whatever output", Value: highFar, Source: "own proposal, after the trade's 30 K on a 20 K design"},
		{Name: "but at least this much above design", Value: highOver, Unit: "K", Source: "own proposal"},
		{Name: "not judged by one pair of probes alone where the return keeps less than this share of the flow's excess over the room", Value: coldReturn, Source: "own proposal: EN 442's log-mean difference leaves 0.2 at a third of the design flow"},
		{Name: "without a design: high above", Value: anyHigh, Unit: "K", Source: "own proposal: above every design in use (30 K, common practice)"},
	}
}

func common() []analyse.Criterion {
	return []analyse.Criterion{
		{Name: "a change of the water flow over a day's burning that speaks of valves", Value: fallsInADay, Source: "own proposal"},
		{Name: "weight of a cause that the course in time shows", Value: weightShown, Source: "own proposal"},
		{Name: "weight of the first cause by the difference alone", Value: weightFirst, Source: "own proposal"},
		{Name: "weight of the second", Value: weightSecond, Source: "own proposal"},
		{Name: "weight of a cause that little speaks for", Value: weightFaint, Source: "own proposal"},
		{Name: "share of the record in which firings must be told to call it clear", Value: seenShare, Source: "own proposal"},
		{Name: "settled burning needed", Value: leastSettled.Minutes(), Unit: "min", Source: "own proposal"},
		{Name: "where hardly any firing settles, the end of a firing counts from", Value: endFrom.Minutes(), Unit: "min", Source: "own proposal: three time constants of a slow strapped probe and the exchanger's water"},
		{Name: "and counts as", Value: endCounts.Minutes(), Unit: "min", Source: "own proposal"},
		{Name: "the heat may lie below what the emitters tell by a share of", Value: emittersBelow, Source: "own proposal: valves that are partly shut"},
		{Name: "and above it by a share of", Value: emittersAbove, Source: "own proposal: spare in the radiators, water and metal that warm up"},
		{Name: "the pump follows the output where the greatest third of outputs lies above the least third by a factor of", Value: outputsApart, Source: "own proposal"},
		{Name: "and ΔT by a share of less than", Value: sameDelta, Source: "own proposal"},
		{Name: "exponent of radiators", Value: panelExponent, Source: "EN 442, usual value of panel radiators"},
		{Name: "exponent of heated floors", Value: floorExponent, Source: "EN 1264, from memory"},
		{Name: "the emitters are asked from this share of the design load", Value: leastLoad, Source: "own proposal"},
		{Name: "room, where the job sheet gives no inside temperature", Value: usualRoom, Unit: "°C", Source: "EN 442's own"},
		{Name: "modulation is a share of rated output where its least stays above this share of least ÷ greatest output", Value: nearLeast, Source: "own proposal"},
		{Name: "firings in each of two groups, at least", Value: fewestGroup, Source: "own proposal"},
		{Name: "longest reheat of a store", Value: longestStore.Minutes(), Unit: "min", Source: "own proposal: twice what 150 l take at 6 kW"},
		{Name: "two groups of firings lie apart by", Value: groupsApart, Source: "own proposal: coils and radiators of one house differ by three and more"},
		{Name: "a store's reheat takes a flow of", Value: storeFlow, Unit: "°C", Source: "own proposal: 60 °C stored (HSG274) wants more than that"},
		{Name: "where the use is not known, share of burning on the same side", Value: sameSide, Source: "own proposal"},
		{Name: "allowance for the contact of clip-on probes, share of ΔT", Value: contactShare, Source: "common practice, no source: 0.02–0.05 of the excess"},
		{Name: "a trend in the water flow is a fall from each day to the next by a share of", Value: trendPerDay, Source: "own proposal"},
		{Name: "a step in the water flow is a fall by a share of", Value: stepShare, Source: "own proposal"},
		{Name: "with burning on each side of it, and in each day, of", Value: eachSide.Minutes(), Unit: "min", Source: "own proposal"},
		{Name: "and scatter on each side below", Value: stepQuiet, Source: "own proposal"},
		{Name: "days that a trend takes", Value: trendDays, Source: "own proposal"},
		{Name: "two pairs' weights count as equal within", Value: muchTheSame, Source: "own proposal"},
		{Name: "share of burning with flow below return that rejects a pair", Value: mostNegative, Source: "own proposal"},
	}
}
