package condensing

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
)

// mostEvidence is how many days are shown.
const mostEvidence = 5

// describe makes the finding.
func describe(p *analyse.Pass, v verdict, fuels []fuel) {
	p.RuledOut("hot water", "firings for it (%.1f h) are not counted", v.hotWaterH)
	p.RuledOut("short cycles and cold starts", "every firing counts by its heat, and a cold start's return is cool")
	f := analyse.Finding{Severity: analyse.Advise, From: p.Facts.From, To: p.Facts.To}
	f.Summary = fmt.Sprintf("Most of the heating (%.0f %%) is made with the returning water too hot for the boiler to condense: %.0f °C in the mean, where it would have to be below about %.0f °C to take the last heat out of the flue gas.",
		100*v.sure, v.returnC, v.dew())
	f.Causes = weigh(p, v)
	if !p.Plant.Condensing.Known {
		p.LeftOpen("an appliance that does not condense", "the job sheet does not say (condensing = true or false); for one that is not made to condense this does not apply")
		f.Summary += " This holds if it is a condensing boiler, which the job sheet does not say."
	}
	if mean, limit, cold := inDesignWeather(p); cold {
		f.Severity = analyse.Note
		f.Summary += fmt.Sprintf(" It was nearly as cold as the heating is designed for (%.0f °C), when this may be right; in milder weather it should be looked at again.", mean)
		p.LeftOpen("the coldest weather", "%.1f °C outside in the mean, the design temperature is %.0f °C: a sound heating may need such water now", mean, limit)
	} else if limit != 0 || mean != 0 {
		p.RuledOut("the coldest weather", "%.1f °C outside in the mean, the design temperature is %.0f °C", mean, limit)
	} else {
		p.LeftOpen("the coldest weather", "outside temperature or its design value is not known")
	}
	f.Numbers = []analyse.Number{
		{Name: "heat_above_dew_point_percent", Value: round(100 * v.sure), Label: "heat made above the dew point", Unit: "%"},
		{Name: "heat_above_dew_point_percent_least", Value: round(100 * v.low), Label: "at the least, errors taken off", Unit: "%"},
		{Name: "return_c_mean", Value: round(v.returnC), Label: "mean return while burning", Unit: "°C"},
		{Name: "dew_point_c", Value: round(v.dew()), Label: "dew point of the flue gas, about", Unit: "°C"},
		{Name: "heating_burn_h", Value: round(v.burnH), Label: "burning for heating", Unit: "h"},
	}
	f.Evidence = evidence(p, v)
	if len(f.Evidence) > 0 {
		f.From, f.To = f.Evidence[0].From, f.Evidence[len(f.Evidence)-1].To
	}
	p.Found(f)
}

// inDesignWeather tells whether it was about as cold as the heating is designed for, and the figures; both 0: not known.
func inDesignWeather(p *analyse.Pass) (mean, limit float64, cold bool) {
	if !p.Plant.OutsideDesign.Known {
		return 0, 0, false
	}
	var hours float64
	for i := range p.Facts.Days {
		h := &p.Facts.Days[i].Heat
		mean, hours = mean+h.Outside*h.OutsideFor.Hours(), hours+h.OutsideFor.Hours()
	}
	if hours < 6 {
		return 0, 0, false
	}
	limit = float64(p.Plant.OutsideDesign.Value)
	return mean / hours, limit, mean/hours <= limit+coldSpareK
}

// evidence are the days that weigh most.
func evidence(p *analyse.Pass, v verdict) (out []analyse.Evidence) {
	type dayHeat struct {
		analyse.Evidence
		hot float64
	}
	var list []dayHeat
	for i := range p.Facts.Days {
		d := &p.Facts.Days[i]
		for j := range d.Return.Sources {
			r := &d.Return.Sources[j]
			if r.Source != v.source {
				continue
			}
			var one heat
			one.add(r)
			a := &one.heating
			if v.unknown > v.known {
				a = &one.undivided
			}
			w := a.weighed(one.by(), least(p))
			share, ok := episode.Above(w, v.dew())
			if !ok || share <= mostShare {
				continue
			}
			sec := a.For.total()
			list = append(list, dayHeat{analyse.Evidence{From: d.From, To: d.To,
				Note: fmt.Sprintf("%.0f %% of the heat above %.0f °C, return %.0f °C in the mean of %s", 100*share, v.dew(), a.returnS/sec, analyse.Span(time.Duration(sec*float64(time.Second))))},
				share * sec})
		}
	}
	slices.SortStableFunc(list, func(a, b dayHeat) int { return -cmp.Compare(a.hot, b.hot) })
	list = list[:min(len(list), mostEvidence)]
	for _, x := range list {
		out = append(out, x.Evidence)
	}
	slices.SortFunc(out, func(a, b analyse.Evidence) int { return a.From.Compare(b.From) })
	return out
}
