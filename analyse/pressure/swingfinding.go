package pressure

import (
	"fmt"
	"math"
	"slices"
	"time"

	"tundish/analyse"
)

func swingFinding(p *analyse.Pass, s series, days []daySlope, m weighed) analyse.Finding {
	at := func(t float64) time.Time { return p.Facts.From.Add(time.Duration(t * 24 * float64(time.Hour))) }
	slope := max(m.slope, m.steepest.slope)
	f := analyse.Finding{
		Severity: analyse.Advise, From: at(days[0].from), To: at(days[len(days)-1].to),
		Summary: fmt.Sprintf("Pressure rises by %.2f bar for each 10 K that the water warms, on the steepest day: more than a sound expansion vessel lets it", 10*slope),
		Numbers: []analyse.Number{
			{Name: "slope_bar_k", Value: m.slope, Label: "pressure by mean water temperature", Unit: "bar/K"},
			{Name: "slope_error_bar_k", Value: m.error, Label: "its error, ± at 95 %", Unit: "bar/K"},
			{Name: "slope_steepest_day_bar_k", Value: m.steepest.slope, Label: "on the steepest day", Unit: "bar/K"},
			{Name: "highest_bar", Value: s.high, Label: "highest pressure", Unit: "bar"},
			{Name: "rangedk", Value: m.widest, Label: "range of mean water temperature within a day", Unit: "K"},
		},
	}
	if slope >= farSwing || s.high >= nearRelief {
		f.Severity = analyse.Act
	}
	steep := slices.Clone(days)
	slices.SortStableFunc(steep, func(a, b daySlope) int {
		switch {
		case a.slope > b.slope:
			return -1
		case a.slope < b.slope:
			return 1
		}
		return 0
	})
	const most = 5
	for _, d := range steep[:min(most, len(steep))] {
		f.Evidence = append(f.Evidence, analyse.Evidence{From: at(d.from), To: at(d.to),
			Note: fmt.Sprintf("%.4f ± %.4f bar/K over %.0f K, %.2f to %.2f bar", d.slope, d.error, d.ranged, d.low, d.high)})
	}
	f.Causes = swingCauses(s, m)
	return f
}

// swingCauses weighs. Boyle's law makes the slope go with the square of the absolute pressure: what is too steep when
// full to the brim may be sound at the usual filling.
func swingCauses(s series, m weighed) []analyse.Cause {
	coldBar, coldC := s.cells[0].bar, s.cells[0].water
	for _, c := range s.cells {
		if c.bar < coldBar {
			coldBar, coldC = c.bar, c.water
		}
	}
	settle := "by a heating engineer: with the water side let down to nothing measure the vessel's pre-charge and hold its size against the system's content; water at the gas valve means a torn diaphragm"
	because := fmt.Sprintf("%.4f bar/K, and up to %.1f bar hot; which of charge and size is wanting pressure alone cannot tell", m.slope, s.high)
	flat := analyse.Cause{Cause: "expansion-vessel", Support: 0.7, Because: because + "; lost charge is the commonest (common practice)", Settle: settle}
	small := analyse.Cause{Cause: "vessel-too-small", Support: 0.35, Because: because, Settle: settle}
	full := analyse.Cause{Cause: "filled-too-high", Support: 0.1,
		Because: fmt.Sprintf("%.2f bar at %.0f °C is the lowest while the water moved", coldBar, coldC),
		Settle:  "let the system cool, set it to the pressure of the appliance's instructions, and see whether the swing goes on"}
	const usual = 1.3 // bar, cold
	cold := coldBar - m.slope*max(0, coldC-20)
	if eased := m.slope * math.Pow((usual+airBar)/(max(cold, usual)+airBar), 2); cold >= highFill && eased < soundBelow {
		full.Support = 0.75
		full.Because += fmt.Sprintf("; filled to %.1f bar it would swing by %.4f bar/K", usual, eased)
		return []analyse.Cause{full, flat, small}
	}
	return []analyse.Cause{flat, small, full}
}
