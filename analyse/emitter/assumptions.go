package emitter

import (
	"fmt"
	"strings"
)

// Assumptions are the defaults that stand in for what nobody gave, each with the rooms it stands in for, and the mean.
func (s System) Assumptions(m Mean) (out []Assumption) {
	add := func(what string, v float64, unit, source string, where []string) {
		if len(where) > 0 {
			out = append(out, Assumption{What: fmt.Sprintf("%s (%s)", what, strings.Join(where, ", ")), Value: v, Unit: unit, Source: source})
		}
	}
	var panel, rated, floor, surface, rough []string
	once := func(list *[]string, name string) {
		if n := len(*list); n == 0 || (*list)[n-1] != name {
			*list = append(*list, name)
		}
	}
	for _, r := range s.Rooms {
		for _, x := range r.Radiators {
			if x.Exponent == 0 {
				once(&panel, r.Name)
			}
			if x.RatedAt == (Condition{}) {
				once(&rated, r.Name)
			}
		}
		for _, x := range r.Underfloor {
			if x.Exponent == 0 {
				once(&floor, r.Name)
			}
			if x.SurfaceExcessK == 0 {
				once(&surface, r.Name)
			}
		}
	}
	for i, p := range s.Pipes {
		if p.RoughnessMM == 0 {
			once(&rough, "pipe "+called(p.Name, i))
		}
	}
	add("exponent of radiators", PanelExponent, "", "EN 442 test reports of panel radiators, 1.2 to 1.35; usual value, from memory", panel)
	add("radiators rated at 75/65/20, an excess of", EN442.excess(Arithmetic), "K", "EN 442-2", rated)
	add("exponent of heated floors", FloorExponent, "", "EN 1264, about; from memory", floor)
	add("a heated floor's surface above the room, at most", SurfaceExcessK, "K", "EN 1264-2, from memory", surface)
	add("roughness of the pipe's wall", Roughness, "mm", "usual value of handbooks for drawn copper and plastic, from memory", rough)
	if m == ByRule {
		out = append(out, Assumption{What: "outputs at a flow and return take the logarithmic mean where (return − room) ÷ (flow − room) is below", Value: LogBelow, Unit: "", Source: "practice with EN 442, from memory"})
	}
	switch {
	case s.Liquid.IsWater():
	case s.Liquid.ErrorShare == 0: // told by whoever filled it in
		out = append(out, Assumption{What: s.Liquid.Name + ": heat by volume", Value: s.Liquid.DensityKgM3 * s.Liquid.HeatKJKgK / 1000, Unit: "kJ/(l·K)", Source: s.Liquid.Source})
	default:
		out = append(out, Assumption{What: s.Liquid.Name + ": heat by volume off by ± at most", Value: s.Liquid.ErrorShare, Unit: "", Source: s.Liquid.Source})
	}
	return out
}
