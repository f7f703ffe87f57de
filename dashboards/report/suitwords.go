package report

import (
	"cmp"
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

// sideBySide is the table of both bases.
func (s *suitComposer) sideBySide() []block {
	a, b := s.r.Computed, s.r.Measured
	if !a.WPerK.Known() && !b.WPerK.Known() {
		return nil
	}
	t := table{head: []string{"Quantity", s.computedHead(), "Measured"}, numeric: []bool{false, true, true}, stacked: true}
	row := func(what string, x, y suit.Told[suit.Estimate], text func(float64) string, unit string) {
		if !x.Known() && !y.Known() {
			return
		}
		cell := func(s suit.Side, v suit.Told[suit.Estimate]) string {
			if !v.Known() {
				return dash(s)
			}
			return rangeText(v.Value, text, unit)
		}
		t.rows = append(t.rows, []string{what, cell(a, x), cell(b, y)})
	}
	row("Heat loss per kelvin", a.WPerK, b.WPerK, whole, "W/K")
	at := s.designWords()
	row("Load"+at+", no gains taken off", a.LossW, b.LossW, kilo, "kW")
	row("Load"+at+" in use, with sun and people", a.InUseW, b.InUseW, kilo, "kW")
	row("Greatest output ÷ load, no gains taken off", a.GreatestRatio, b.GreatestRatio, timesText, "")
	row("Greatest output ÷ load in use", a.GreatestRatioInUse, b.GreatestRatioInUse, timesText, "")
	row("Least output ÷ load, no gains taken off", a.LeastRatio, b.LeastRatio, timesText, "")
	row("Least output ÷ load in use", a.LeastRatioInUse, b.LeastRatioInUse, timesText, "")
	steady := func(x suit.Side) string {
		switch v := x.SteadyBelowC; {
		case !v.Known():
			return dash(x)
		case v.Value.Never:
			return "all weather"
		default:
			return steadyText(v.Value)
		}
	}
	if a.SteadyBelowC.Known() || b.SteadyBelowC.Known() {
		t.rows = append(t.rows, []string{"Runs without stopping below", steady(a), steady(b)})
	}
	hours := func(what string, of func(suit.Hours) string) {
		if !a.Hours.Known() && !b.Hours.Known() {
			return
		}
		cell := func(x suit.Side) string {
			if !x.Hours.Known() {
				return dash(x)
			}
			return of(x.Hours.Value)
		}
		t.rows = append(t.rows, []string{what, cell(a), cell(b)})
	}
	which := " (this record's hours)"
	if s.r.Input.Hours.Year {
		which = " (hours a year)"
	}
	hours("Must stop and start"+which, cycleText)
	hours("Can run without stopping"+which, func(h suit.Hours) string { return hoursText(h.SteadyH) })
	hours("No heat needed"+which, func(h suit.Hours) string { return hoursText(h.NoHeatH) })
	out := []block{t.dropEmptyColumns()}
	if g := s.r.Agreement; g.Known() {
		out = append(out, para{text: g.Value.Words()})
	}
	if f := s.signature(); f != nil {
		out = append(out, figure{f})
	}
	return append(out, s.basis()...)
}

// dash stands for a figure that is not known, nothing where its whole side is not.
func dash(s suit.Side) string {
	if !s.WPerK.Known() {
		return ""
	}
	return "–"
}

// designWords is " at −3 °C outside" where both sides have one design temperature.
func (s *suitComposer) designWords() string {
	c, m := s.r.Input.Computed, s.r.Input.Measured
	switch {
	case c != nil && m != nil && m.Design != nil && c.OutsideC != m.Design.OutsideC:
		return fmt.Sprintf(" at design (%s %s, measured %s outside)", lowerFirst(s.computedHead()), roundC(c.OutsideC), roundC(m.Design.OutsideC))
	case c != nil:
		return " at " + roundC(c.OutsideC) + " outside"
	case m != nil && m.Design != nil:
		return " at " + roundC(m.Design.OutsideC) + " outside"
	}
	return " at design"
}

// basis says what the measurement rests on.
func (s *suitComposer) basis() []block {
	m := s.r.Input.Measured
	var out []block
	if m != nil {
		text := fmt.Sprintf("The measured load is from %s by %s; ranges are 95 %% intervals with the basis's own error.", plural(uint64(m.Days), "day", "days"), cleanText(m.Basis))
		if n := len(m.Points); n > 0 {
			coldest := slices.MinFunc(m.Points, func(a, b suit.DayPoint) int { return cmp.Compare(a.OutsideC, b.OutsideC) })
			text += fmt.Sprintf(" The coldest of them was at %s; below that the line is reckoned on.", celsiusText(coldest.OutsideC))
		}
		for _, r := range m.Remarks {
			text += " " + capital(cleanText(r)) + "."
		}
		out = append(out, para{aside, text})
	}
	if p := s.r.Input.Plant; p.GreatestW > 0 || p.LeastW > 0 {
		var parts []string
		if p.GreatestW > 0 {
			parts = append(parts, "greatest "+kiloText(p.GreatestW)+fromWords(p.GreatestFrom))
		}
		if p.LeastW > 0 {
			parts = append(parts, "least "+kiloText(p.LeastW)+fromWords(p.LeastFrom))
		}
		text := "Outputs: " + strings.Join(parts, ", ") + "."
		if p.HeatPump {
			text += " A heat pump gives less the colder it is: its output at the design temperature stands in the maker's table."
		}
		out = append(out, para{aside, text})
	}
	return out
}

func fromWords(who string) string {
	if who = cleanText(who); who == "" {
		return ""
	}
	return " by " + who
}
