package pressure

import (
	"fmt"
	"math"
	"time"

	"tundish/analyse"
)

func lossFinding(p *analyse.Pass, s series, f trend) analyse.Finding {
	week := -7 * f.perDay
	first, last := s.cells[0], s.cells[len(s.cells)-1]
	at := func(t float64) time.Time { return p.Facts.From.Add(time.Duration(t * 24 * float64(time.Hour))) }
	low := lowest(p)
	x := analyse.Finding{
		Severity: analyse.Advise, From: at(first.t), To: at(last.t),
		Summary: fmt.Sprintf("The heating loses pressure: %.2f bar a week at equal temperature of the water", week),
		Numbers: []analyse.Number{
			{Name: "fall_bar_week", Value: week, Label: "fall at equal temperature", Unit: "bar/week"},
			{Name: "fall_error_bar_week", Value: 7 * f.error, Label: "its error, ± at 95 %", Unit: "bar/week"},
			{Name: "record_days", Value: s.span, Label: "days compared", Unit: "days"},
			{Name: "lowest_bar", Value: low, Label: "lowest pressure", Unit: "bar"},
			{Name: "highest_bar", Value: s.high, Label: "highest pressure", Unit: "bar"},
			{Name: "topped_up", Value: float64(len(s.ups) + s.unseen), Label: "water let in", Unit: "times"},
		},
	}
	if len(s.ups) > 0 {
		x.Summary += fmt.Sprintf(", and water was let in %s", analyse.Times(len(s.ups)))
	}
	if s.unseen > 0 {
		x.Summary += fmt.Sprintf("; it came back up %s unseen, as when water is let in", analyse.Times(s.unseen))
	}
	least := emptiedBar
	if m := p.Plant.MinimumPressure; m.Known {
		least = max(float64(m.Value)+0.1, 0.6)
	}
	if week >= fastWeek || low < least {
		x.Severity = analyse.Act
	}
	x.Evidence = append(x.Evidence, coldEnds(p, s)...)
	const most = 8
	for i, d := range dayMeans(s, f) {
		if i == most {
			break
		}
		x.Evidence = append(x.Evidence, analyse.Evidence{From: at(d.from), To: at(d.to), Note: fmt.Sprintf("%.2f bar, reckoned to %.0f °C", d.bar, d.water)})
	}
	for i, u := range s.ups {
		if i == most {
			break
		}
		x.Evidence = append(x.Evidence, analyse.Evidence{From: u.At, To: u.At, Note: fmt.Sprintf("water let in: %.2f to %.2f bar", u.From, u.To)})
	}
	x.Causes = lossCauses(s, f)
	return x
}

type dayMean struct{ from, to, bar, water float64 }

// dayMeans are the days' pressures, reckoned to the mean temperature of all.
func dayMeans(s series, f trend) (out []dayMean) {
	w, mean := 0.0, 0.0
	for _, c := range s.cells {
		w += c.weight
		mean += c.weight * c.water
	}
	mean /= w
	weight, day := 0.0, -1
	for _, c := range s.cells {
		if c.day != day {
			out = append(out, dayMean{from: c.t, to: c.t, water: mean})
			weight, day = 0, c.day
		}
		d := &out[len(out)-1]
		d.from, d.to = min(d.from, c.t), max(d.to, c.t)
		weight += c.weight
		d.bar += c.weight / weight * (c.bar - f.perK*(c.water-mean) - d.bar)
	}
	return out
}

func lowest(p *analyse.Pass) float64 {
	low := math.Inf(1)
	for _, d := range p.Facts.Days {
		if d.Pressure.Readings > 1 {
			low = min(low, d.Pressure.Low)
		}
	}
	return low
}

func lossCauses(s series, f trend) []analyse.Cause {
	leak := analyse.Cause{Cause: "leak", Support: 0.6,
		Because: fmt.Sprintf("pressure falls steadily by %.2f bar a week at equal temperature", -7*f.perDay),
		Settle:  "look at radiator valves, joints, pump, the safety valve's tundish and the condensate; part the heating from the appliance overnight and see which half falls"}
	if s.upDays >= topUps {
		leak.Support = 0.75
		leak.Because += fmt.Sprintf("; water was let in on %d days", s.upDays)
	}
	vessel := analyse.Cause{Cause: "expansion-vessel", Support: 0.3,
		Because: fmt.Sprintf("pressure follows temperature by %.4f bar/K and reaches %.1f bar; gas that leaves the vessel lowers the pressure too", f.perK, s.high),
		Settle:  "by a heating engineer: let the water side down to nothing, then measure the vessel's pre-charge; water at its gas valve means a torn diaphragm"}
	if g := goneGas(s, f); g.known {
		vessel.Because += fmt.Sprintf("; by Boyle's law the slope per kelvin tells of gas: it grew by %.0f ± %.0f %% against water lost alone, gas alone would make %.0f %%", 100*g.grown, 100*g.error, 100*g.gas)
		switch {
		case g.grown > g.error && g.grown > g.gas/2:
			vessel.Support, leak.Support = 0.8, 0.35
		case g.grown+g.error < g.gas/2:
			vessel.Support = 0.15
		}
	}
	if f.perK >= swingLimit && s.high >= nearRelief {
		vessel.Support = 0.8
		vessel.Because += ": the safety valve lets water out when it is hot"
	}
	air := analyse.Cause{Cause: "air-after-filling", Support: 0.15,
		Because: "air in fresh water leaves by automatic vents for days after a filling, and pressure falls less each day",
		Settle:  "ask when the system was filled or drained; bleed, top up once, and see whether the fall goes on"}
	if len(s.ups) == 1 {
		air.Support = 0.25
	}
	causes := []analyse.Cause{leak, vessel, air}
	if vessel.Support > leak.Support {
		causes[0], causes[1] = vessel, leak
	}
	return causes
}
