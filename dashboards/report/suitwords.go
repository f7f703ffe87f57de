package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tundish/analyse/suit"
)

// kiloText is a power in kW.
func kiloText(w float64) string { return decimal(w/1000, 1) + "\u00a0kW" }

func celsiusText(c float64) string { return decimal(c, 1) + "\u00a0°C" }

func roundC(c float64) string { return figureText(math.Round(c*10)/10) + "\u00a0°C" }

func hoursText(h float64) string { return grouped(uint64(math.Round(max(h, 0)))) + "\u00a0h" }

// timesText is a share of a load: one figure after the point, two below 1.
func timesText(v float64) string {
	if v < 1 {
		return decimal(v, 2)
	}
	return decimal(v, 1)
}

// rangeText prints a figure and, where it is known, its range.
func rangeText(e suit.Estimate, text func(float64) string, unit string) string {
	s := text(e.Value)
	if e.Ranged() && text(e.Low) != text(e.High) {
		s += " (" + text(e.Low) + " to " + text(e.High) + ")"
	}
	if unit != "" {
		s += "\u00a0" + unit
	}
	return s
}

func kilo(w float64) string  { return decimal(w/1000, 1) }
func whole(w float64) string { return decimal(w, 0) }

// appliance is what makes the heat.
func (s *suitComposer) appliance() string {
	if s.r.Input.Plant.HeatPump {
		return "heat pump"
	}
	return "boiler"
}

// bySheet: the load that stands for the computed one is a figure of the job sheet.
func (s *suitComposer) bySheet() bool { return s.r.Input.Computed != nil && s.in.HouseFile == "" }

func (s *suitComposer) computedHead() string {
	if s.bySheet() {
		return "By the job sheet"
	}
	return "Computed"
}

func (s *suitComposer) computedLoad() string {
	if s.bySheet() {
		return "the job sheet's load"
	}
	return "the computed load"
}

// answer is the chapter in a few sentences, and what is missing for more.
func (s *suitComposer) answer() []block {
	var out []block
	if t := s.size(); t != "" {
		out = append(out, para{lead, t})
	}
	for _, t := range []string{s.cycling(), s.cyclingHours()} {
		if t != "" {
			out = append(out, para{text: t})
		}
	}
	if l := s.r.LowTemperature; l.Known() {
		out = append(out, para{text: cleanText(l.Value.Words())})
	}
	if c := s.r.Curve; c.Known() && c.Value.Missing == "" {
		out = append(out, para{text: cleanText(c.Value.Words())})
	}
	if len(out) == 0 {
		out = append(out, para{lead, "Whether the plant suits the house is not assessable."})
	}
	var items list
	for _, m := range s.missing() {
		items.items = append(items.items, item{text: m})
	}
	if len(items.items) > 0 {
		out = append(out, para{text: "Not assessable, or only in part, because:"}, items)
	}
	return out
}

// size says how many times too large the plant is, by each basis.
func (s *suitComposer) size() string {
	p := s.r.Input.Plant
	if p.GreatestW <= 0 {
		return ""
	}
	var parts []string
	if x := s.r.Computed; x.GreatestRatio.Known() {
		parts = append(parts, fmt.Sprintf("%s times %s of %s at %s outside",
			rangeText(x.GreatestRatio.Value, timesText, ""), s.computedLoad(), kiloText(x.LossW.Value.Value), roundC(s.r.Input.Computed.OutsideC)))
	}
	if x := s.r.Measured; x.GreatestRatio.Known() {
		parts = append(parts, fmt.Sprintf("%s times the measured load of %s at %s outside, no gains taken off",
			rangeText(x.GreatestRatio.Value, timesText, ""), kiloText(x.LossW.Value.Value), roundC(s.r.Input.Measured.Design.OutsideC)))
	}
	if len(parts) == 0 {
		return ""
	}
	return fmt.Sprintf("The %s can give %s: %s.", s.appliance(), kiloText(p.GreatestW), strings.Join(parts, ", and "))
}

// cycling says below which outside temperature it can run without stopping.
func (s *suitComposer) cycling() string {
	var parts []string
	for _, x := range []struct {
		side suit.Side
		by   string
	}{{s.r.Computed, "by " + s.computedLoad()}, {s.r.Measured, "by the measured load"}} {
		if !x.side.SteadyBelowC.Known() {
			continue
		}
		v := x.side.SteadyBelowC.Value
		if v.Never {
			parts = append(parts, "in all weather that needs heat "+x.by)
			continue
		}
		parts = append(parts, "only below "+steadyText(v)+" outside "+x.by)
	}
	if len(parts) == 0 {
		return ""
	}
	return fmt.Sprintf("Turned down as far as it goes it gives %s. It can run without stopping %s.", kiloText(s.r.Input.Plant.LeastW), strings.Join(parts, ", and "))
}

// steadyText prints the temperature with its range; one without an end on the cold side says so.
func steadyText(v suit.Steady) string {
	if math.IsInf(v.Value, -1) {
		return "any temperature that was looked at"
	}
	text := celsiusText(v.Value)
	if !v.Ranged() {
		return text
	}
	low := decimal(v.Low, 1)
	if math.IsInf(v.Low, -1) {
		return text + " (by its range somewhere below " + celsiusText(v.High) + ")"
	}
	return decimal(v.Value, 1) + " (" + low + " to " + decimal(v.High, 1) + ")\u00a0°C"
}

// cyclingHours says for how many hours it must stop and start, and of which hours.
func (s *suitComposer) cyclingHours() string {
	var parts []string
	var none, total float64
	for _, x := range []struct {
		side suit.Side
		by   string
	}{{s.r.Computed, "by " + s.computedLoad()}, {s.r.Measured, "by the measured load"}} {
		if !x.side.Hours.Known() {
			continue
		}
		h := x.side.Hours.Value
		none, total = h.NoHeatH, h.TotalH
		parts = append(parts, cycleText(h)+" "+x.by)
	}
	if len(parts) == 0 || total == 0 {
		return ""
	}
	warm := fmt.Sprintf("no hour was as warm as %s, from where on no heat is needed", roundC(s.limitSide().LimitC))
	if none > 0 {
		warm = fmt.Sprintf("for %s it is %s or warmer outside and no heat is needed", hoursText(none), roundC(s.limitSide().LimitC))
	}
	if s.r.Input.Hours.Year {
		return fmt.Sprintf("Of the %s of a typical year it must stop and start for %s; %s. %s.",
			hoursText(total), strings.Join(parts, ", and for "), warm, capital(cleanText(s.r.Input.Hours.Source)))
	}
	return fmt.Sprintf("Of the %s of this record whose outside temperature is known it had to stop and start for %s; %s. These are hours of the record alone, not of a year.",
		hoursText(total), strings.Join(parts, ", and for "), warm)
}

func cycleText(h suit.Hours) string {
	t := hoursText(h.CycleH)
	if h.CycleLowH < h.CycleHighH && hoursText(h.CycleLowH) != hoursText(h.CycleHighH) {
		t += " (" + grouped(uint64(math.Round(h.CycleLowH))) + " to " + hoursText(h.CycleHighH) + ")"
	}
	return t
}

// limitSide is the side that the charts of hours are drawn by: the measured one where it is known.
func (s *suitComposer) limitSide() suit.Side {
	if s.r.Measured.Hours.Known() {
		return s.r.Measured
	}
	return s.r.Computed
}

// missing lists what could not be said, each reason once.
func (s *suitComposer) missing() []string {
	var out []string
	put := func(known bool, why, what string) {
		if known || why == "" {
			return
		}
		if reason := cleanText(why); !slices.ContainsFunc(out, func(o string) bool { return strings.Contains(o, reason) }) {
			out = append(out, what+": "+reason)
		}
	}
	r := s.r
	put(r.Computed.WPerK.Known(), r.Computed.WPerK.Missing, "Computed load")
	put(r.Measured.WPerK.Known(), r.Measured.WPerK.Missing, "Measured load")
	if r.Measured.WPerK.Known() {
		put(r.Measured.LossW.Known(), r.Measured.LossW.Missing, "Measured load at design")
	}
	if r.Input.Plant.GreatestW <= 0 {
		put(false, "the greatest output is not known", "Plant size ratio")
	}
	if r.Input.Plant.LeastW <= 0 {
		put(false, "the least output is not known", "Stopping and starting")
	} else if !r.Computed.Hours.Known() && !r.Measured.Hours.Known() && len(r.Input.Hours.Bins) == 0 {
		put(false, r.Input.HoursMissing, "Hours of stopping and starting")
	}
	put(r.LowTemperature.Known(), r.LowTemperature.Missing, "Low temperature")
	put(r.Curve.Known(), r.Curve.Missing, "Weather curve")
	if r.Curve.Known() {
		put(r.Curve.Value.Missing == "", r.Curve.Value.Missing, "Weather curve against what was delivered")
	}
	return out
}
