package lockout

import (
	"time"

	"tundish/analyse"
)

const (
	// coldBelow is the outside temperature up to which a start is one in the cold, °C. Own proposal: a sensor on a wall
	// reads up to 3 K too high.
	coldBelow = 3.0
	// wideDelta is the flow–return difference from which too little water moved, K (25 to 30 K at mid load; controls stop
	// at 30 to 35 K; common practice, no source).
	wideDelta = 30.0
	// tripsWithin is the time from lighting to the trip with which no water moved (1 to 2 min to the limit; common
	// practice, no source).
	tripsWithin = 2 * time.Minute
	// hotFlow is the flow from which the water measured is that which overheated, °C (control limits 80–90 °C, common
	// practice, no source; a sensor lags).
	hotFlow = 75.0
	// soundDelta is the difference up to which water did move, K (common practice, no source: design is 20 K).
	soundDelta = 20.0
	// lowFire is the mean modulation up to which a burner ran at its least output, %. Own proposal.
	lowFire = 15.0
	// fallTold is the fall of pressure between starts from which it is told, bar. Own proposal: more than what water that
	// cools by 10 K gives with a sound vessel.
	fallTold = 0.2
	// airBelow is the pressure below which air is drawn in or stays, bar (common practice, no source).
	airBelow = 0.8
)

// The weights of the signs. All are own proposals; the signs are the trade's (common practice, no source).
const (
	frozenFrom, frozenFlame, frozenOnly      = 0.35, 0.35, 0.15 // in hours of frost; flames came and went; never in mild weather
	gasFrom, gasNoFlame, gasFlame, gasCold   = 0.35, 0.25, 0.20 /* off */, 0.10
	sparkFrom, sparkMild, sparkRandom        = 0.30, 0.10, 0.20       // electrode: in mild weather; attempts failed and lit at other times
	sparkFrost                               = 0.15                   // off
	lossAtLighting                           = 0.30                   // flames came and went, no frost
	lossFrozen, lossGas, lossFlue, flueLeast = 0.30, 0.35, 0.35, 0.20 // in frost; nothing yet; nothing yet; near the least output
	leakFrom, leakFell                       = 0.60, 0.25
	vesselFrom                               = 0.25
	stillFrom, stillWide, stillSound         = 0.50, 0.35, 0.35 /* off */
	pumpFrom, airFrom, airLow                = 0.40, 0.25, 0.25
)

// settleFine says what would settle a finer cause.
var settleFine = map[string]string{
	frozenCondensate: "look at the condensate pipe outside while it freezes: run, size, fall, insulation; a registered gas engineer clears trap and pipe",
	gasSupply:        "a registered gas engineer measures the gas pressure at the appliance at full load, in the cold if it happens in the cold; with LPG also level and regulator",
	electrode:        "a registered gas engineer looks at electrode, gap, lead and seal, and measures the flame current",
	flue:             "a registered gas engineer checks flue, terminal and combustion at least and greatest output",
	leak:             "read the pressure cold, a week apart, and look for the wet place; look at the tundish under the relief valve",
	expansionVessel:  "measure the vessel's charge with the water side at no pressure",
	pump:             "feel and hear the pump at a start, and read its own display or current",
	airLock:          "bleed at the highest points, with the pressure made up first",
	noCirculation:    "feel flow and return at a start: the return must warm within minutes; look at valves, filter and pump",
}

func fineCriteria() []analyse.Criterion {
	w := func(name string, v float64) analyse.Criterion {
		return analyse.Criterion{Name: "weight, " + name, Value: v, Source: "own proposal"}
	}
	return []analyse.Criterion{
		{Name: "frost that can freeze a pipe lasts", Value: frostFor.Hours(), Unit: "h", Source: "own proposal"},
		{Name: "a start is in the cold up to, outside", Value: coldBelow, Unit: "°C", Source: "own proposal"},
		{Name: "too little water moved from flow minus return", Value: wideDelta, Unit: "K", Source: "common practice, no source"},
		{Name: "no water moved where the limiter trips after lighting within", Value: tripsWithin.Minutes(), Unit: "min", Source: "common practice, no source"},
		{Name: "the flow is that of the water that overheated from", Value: hotFlow, Unit: "°C", Source: "own proposal"},
		{Name: "water did move up to flow minus return", Value: soundDelta, Unit: "K", Source: "common practice, no source"},
		{Name: "a fall of pressure between starts is told from", Value: fallTold, Unit: "bar", Source: "own proposal"},
		{Name: "lockouts of one cause are one occasion within", Value: oneOccasion.Hours(), Unit: "h", Source: "own proposal"},
		{Name: "occasions that a comparison needs", Value: leastOccasions, Source: "own proposal"},
		{Name: "chance below which a difference is told, after correction", Value: level, Source: "common practice, no source; correction by S. Holm 1979"},
		w("frozen-condensate, after hours of frost", frozenFrom), w("frozen-condensate, flames came and went", frozenFlame), w("frozen-condensate, never in mild weather", frozenOnly),
		w("gas-supply, to begin with", gasFrom), w("gas-supply, no flame in any attempt", gasNoFlame), w("gas-supply, flames seen", -gasFlame), w("gas-supply, in the cold", gasCold),
		w("electrode, to begin with", sparkFrom), w("electrode, in mild weather", sparkMild), w("electrode, failed and lit at other times", sparkRandom), w("electrode, in frost", -sparkFrost),
		w("flame-loss at lighting", lossAtLighting),
		w("flame lost: frozen-condensate in frost", lossFrozen), w("flame lost: gas-supply", lossGas), w("flame lost: flue", lossFlue), w("flame lost: flue, near the least output", flueLeast),
		w("leak, to begin with", leakFrom), w("leak, the pressure fell between starts", leakFell), w("expansion-vessel", vesselFrom),
		w("no-circulation, to begin with", stillFrom), w("no-circulation, tripped just after lighting or the return did not follow", stillWide), w("no-circulation and pump, water did move", -stillSound),
		w("pump", pumpFrom), w("air-lock, to begin with", airFrom), w("air-lock, low pressure", airLow),
	}
}
