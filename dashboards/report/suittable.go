package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"tundish/analyse/suit"
)

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
