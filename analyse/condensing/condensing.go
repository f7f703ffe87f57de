// Package condensing judges whether a condensing appliance makes its heat with a return cool enough to condense.
package condensing

import (
	"fmt"
	"math"

	"tundish/analyse"
	"tundish/analyse/emitter"
	"tundish/decode"
)

const kind = "not-condensing"

// The criteria. Condensing begins where the return comes below the dew point of the flue gas; how far below decides how
// much, but nothing condenses above.
const (
	mostShare   = 0.5  // of the heat for heating with the return above the dew point
	leastBurnH  = 2.0  // h of burning for heating, with the return known
	contactK    = 1.0  // K by which a clip-on probe may read low besides its own error
	leastFire   = 0.25 // of the greatest output at modulation 0, where nobody says
	hotWaterH   = 2.5  // h a day that burning of unknown use may be for hot water
	hotWaterMay = 0.6  // of it, above which nothing is told
	coldSpareK  = 3.0  // K above the design outside temperature that count as design weather
	flatShare   = 0.35 // of the slope that the design asks for: below it the flow does not follow the weather
	slopeRangeK = 8.0  // K of outside temperature that a slope needs
	leastPairs  = 4    // heating firings with a known outside temperature that its range needs
	standsK     = 1.0  // K between the tenths of the set-points of one that stands still …
	movesK      = 6.0  // … while the design's flow would have moved by so many K
	nearDewK    = 2.0  // K above the dew point to which a return counts as mended
	hotterK     = 5.0  // K of flow above what the design needs in that weather
	littleShare = 0.6  // of the flow − return that the design has at that load
	littleK     = 8.0  // K of flow − return that is little where the design is not known
	evenK       = 2.0  // K between the tenths of the set-points of one that is fixed
	neutralC    = 20.0 // °C outside at which nothing needs heating
)

// Check is the check.
func Check() analyse.Check {
	return analyse.Check{
		Kind: kind,
		Doc:  "most heat made with the return above the dew point of the flue gas",
		Needs: []analyse.Need{
			{Points: []decode.Point{decode.Return}, Say: "no return temperature: read it from the boiler's bus, or clip an insulated probe on the return beside the boiler"},
		},
		Criteria: criteria(),
		Spared:   spared,
		Run:      run,
	}
}

func criteria() []analyse.Criterion {
	const own = "own proposal"
	k := func(name string, v float64, unit, source string) analyse.Criterion {
		return analyse.Criterion{Name: name, Value: v, Unit: unit, Source: source}
	}
	out := []analyse.Criterion{
		k("share of the heat for heating made above the dew point, more than", mostShare, "", "own proposal: most heat"),
		k("burning for heating that is needed", leastBurnH, "h", own),
		k("a clip-on probe may read low, besides its own error, by", contactK, "K", "pasted, strapped and insulated on metal: 1 to 3 % of water less ambient (common practice, no source)"),
		k("output at modulation 0 by the greatest, where nobody says", leastFire, "", "usual turn-down of 1:4 (common practice, no source)"),
		k("of burning of unknown use so much a day may be for hot water", hotWaterH, "h", "own proposal: 250 l warmed by 50 K in a day take 2 h at 7 kW"),
		k("and it tells nothing where that is more of it than", hotWaterMay, "", own),
		k("design weather: outside above its design temperature by no more than", coldSpareK, "K", own),
		k("flow does not follow the weather: its slope by that of the design is below", flatShare, "", "own proposal; slopes by EN 442's law: −1.8 to −2.2 K/K for 70/50, −1.2 to −1.5 for 55/45"),
		k("outside range that a slope needs", slopeRangeK, "K", own),
		k("firings with a known outside temperature that its range needs", leastPairs, "", own),
		k("a set-point stands still: its tenths lie apart by less than", standsK, "K", own),
		k("and over less weather too it does not follow where the design's flow would have moved by", movesK, "K", own+": a controller that takes the mean outside temperature of a day still passes a quarter of that on"),
		k("little flow − return is the cause where the return would come below the dew point, or above it by no more than", nearDewK, "K", own),
		k("a flow is hotter than the weather needs from", hotterK, "K", own),
		k("flow − return is little, by what the design has at that load, below", littleShare, "", own),
		k("and below, where the design is not known", littleK, "K", "5 to 8 K at load: a bypass that is open or a pump too fast (common practice, no source)"),
		k("a set-point is fixed where it moves by less than", evenK, "K", own),
		k("exponent of radiators", emitter.PanelExponent, "", "EN 442, panel radiators"),
		k("exponent of heated floors", emitter.FloorExponent, "", "EN 1264, about"),
		k("outside temperature at which nothing needs heating", neutralC, "°C", own),
	}
	for _, f := range []fuel{naturalGas, lpg, oil} {
		low, high := f.band()
		const source = "stoichiometry at usual air ratios and the Magnus formula (WMO guide no. 8); published: about 55 °C natural gas, 53 °C LPG, 47 °C oil"
		out = append(out, k("dew point of "+f.name+", lowest", round(low), "°C", source), k("dew point of "+f.name+", highest", round(high), "°C", source))
	}
	return append(out, weights()...)
}

// spared tells appliances that have nothing to condense.
func spared(p analyse.Plant) string {
	switch {
	case p.Kind == "heat-pump":
		return "a heat pump has no flue gas"
	case p.Fuel == "electricity":
		return "an electric boiler has no flue gas"
	case p.Condensing.Known && !p.Condensing.Value:
		return "by the job sheet the appliance is not made to condense, and a cool return would harm it"
	}
	return ""
}

func run(p *analyse.Pass) {
	fuels := fuelsOf(p.Plant.Fuel)
	dewLow, dewHigh := dewBand(fuels)
	p.Measured("dew point of the flue gas", "%.1f to %.1f °C, for %s at usual air ratios", dewLow, dewHigh, names(fuels))
	all, contested, why := trusted(p, gather(p))
	if why != "" {
		notTrusted(p, why)
		return
	}
	var hot, cool, open []verdict
	for i := range all {
		v := all[i].judge(p, dewLow, dewHigh)
		v.tell(p)
		switch {
		case v.burnH < leastBurnH:
		case v.low > mostShare:
			hot = append(hot, v)
		case v.high < mostShare:
			cool = append(cool, v)
		default:
			open = append(open, v)
		}
	}
	switch {
	case len(hot) == 0 && len(cool) == 0 && len(open) == 0:
		tooLittle(p, all)
	case contested && len(hot) < len(all) && len(cool) < len(all):
		notTrusted(p, disagreement)
	case len(hot) > 0 && len(cool) > 0:
		p.NotAssessable(fmt.Sprintf("two sensors of the return do not agree: by %s %.0f %% of the heat is made above the dew point, by %s %.0f %%. Compare both with a thermometer of known error at steady flow first",
			hot[0].source, 100*hot[0].mid(), cool[0].source, 100*cool[0].mid()))
	case len(hot) > 0:
		describe(p, best(hot), fuels)
	case len(cool) > 0:
		clear(p, best(cool))
	default:
		undecided(p, best(open), fuels)
	}
}

// best is the verdict that saw the most burning.
func best(list []verdict) verdict {
	b := list[0]
	for _, v := range list[1:] {
		if v.burnH > b.burnH {
			b = v
		}
	}
	return b
}

func clear(p *analyse.Pass, v verdict) {
	p.RuledOut("hot water", "firings for it (%.1f h) are not counted", v.hotWaterH)
	note := ""
	if v.mid() > 0.25 {
		note = "; a cooler flow would let it condense more"
	}
	p.Clear(fmt.Sprintf("%.0f %% of the heat for heating was made with the return above the dew point of about %.0f °C (mean return %.0f °C)%s", 100*v.mid(), v.dew(), v.returnC, note))
}

func tooLittle(p *analyse.Pass, all []heat) {
	burn, unseen, hot := 0.0, 0.0, 0.0
	for i := range all {
		b := all[i].heating.For.total()/3600 + all[i].undivided.For.total()/3600
		burn, unseen, hot = max(burn, b), max(unseen, all[i].unseen/3600), max(hot, all[i].hotWater/3600)
	}
	switch {
	case len(p.Facts.Firings) == 0:
		p.NotAssessable("no firing could be told: it needs the boiler's bus, or probes on flow and return that are read at least every minute")
	case unseen > burn:
		p.NotAssessable(fmt.Sprintf("the return was known for only %.1f h of the burning: read it at least every few minutes, from the bus or by a probe", burn))
	case burn >= leastBurnH:
		p.NotAssessable(fmt.Sprintf("nobody says what the burner's %.1f h were for, and it ran too little for them to be the heating's: leave the logger on in colder weather, or add the bus's hot-water flag or a probe on the cylinder", burn))
	default:
		p.NotAssessable(fmt.Sprintf("only %.1f h of burning for heating were seen, and %.1f h for hot water, which does not count; %.0f h are needed: leave the logger on in colder weather", burn, hot, leastBurnH))
	}
}

func undecided(p *analyse.Pass, v verdict, fuels []fuel) {
	why := fmt.Sprintf("between %.0f and %.0f %% of the heat was made above the dew point: ", 100*v.low, 100*v.high)
	switch {
	case v.unknown > v.known && v.byUse:
		why += "nobody says which firings were for hot water, which does not count. It needs the bus's hot-water flag, or a probe on the cylinder"
	case v.unseen > 0.15:
		why += fmt.Sprintf("the return was not known for %.0f %% of the burning. Read it at least every few minutes", 100*v.unseen)
	default:
		why += fmt.Sprintf("the return lies near the dew point (mean %.1f °C), which for %s is %.1f to %.1f °C as the air ratio may be, and the sensor may be off by %.1f K", v.returnC, names(fuels), v.dewLow, v.dewHigh, v.error)
		if v.clip {
			why += " and a clip-on probe reads low by up to another"
		}
		why += ". A flue-gas analysis by a registered engineer gives the air ratio, a paired probe the return"
		if len(fuels) > 1 {
			why += "; the job sheet's fuel would narrow it too"
		}
	}
	p.NotAssessable(why)
}

func names(list []fuel) string {
	if len(list) == 1 {
		return list[0].name
	}
	return "a fuel that the job sheet does not name (natural gas, LPG or oil)"
}

func round(x float64) float64 { return math.Round(x*10) / 10 }
