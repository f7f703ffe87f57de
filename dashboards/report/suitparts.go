package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tundish/analyse/suit"
)

// mostBars is how many rows a chart of bars has at the most; the table below it has all. Own proposal: half a page.
const mostBars = 24

// hours is the chart of hours by outside temperature.
func (s *suitComposer) hours() []block {
	if !s.limitSide().Hours.Known() {
		return nil
	}
	out := []block{figure{s.hoursChart()}}
	text := "Each hour counts as of the outside temperature at which it is listed. It must stop and start where the load is below the least output; a control may make it do so more often."
	if h := s.limitSide().Hours.Value; h.ShortH > 0 {
		text += fmt.Sprintf(" In %s of the hours without stopping the load is above the greatest output.", hoursText(h.ShortH))
	}
	return append(out, para{aside, text})
}

// rooms are the charts of the computed heat loss.
func (s *suitComposer) rooms() []block {
	if len(s.in.Rooms) == 0 {
		return nil
	}
	var out []block
	for _, w := range s.in.Warnings {
		out = append(out, para{text: "Check: " + strings.TrimSuffix(capital(cleanText(w)), ".") + "."})
	}
	out = append(out, figure{s.roomsChart()})
	total := 0.0
	for _, r := range s.in.Rooms {
		total += r.FabricW + r.VentilationW // what is asked for beside is the plant's to weigh
	}
	if c := s.r.Input.Computed; c != nil && math.Abs(total-c.DesignW.Value) > 0.01*total {
		out = append(out, para{aside, fmt.Sprintf("The rooms add up to %s; the house as a whole takes %s, since wind enters on one side at a time and heat between rooms stays in the house. Emitters are held against the rooms, the plant against the house.", kiloText(total), kiloText(c.DesignW.Value))})
	}
	if len(s.in.Elements) > 0 {
		out = append(out, figure{s.elementsChart()})
	}
	t := table{head: []string{"Room", "Inside", "Fabric", "Ventilation", "Other", "Total"}, numeric: []bool{false, true, true, true, true, true}, dense: true, stacked: true}
	for _, r := range s.in.Rooms {
		extra := ""
		if r.ExtraW != 0 {
			extra = wattText(r.ExtraW)
		}
		t.rows = append(t.rows, []string{cleanText(r.Name), roundC(r.InsideC), wattText(r.FabricW), wattText(r.VentilationW), extra, wattText(r.totalW())})
	}
	return append(out, t.dropEmptyColumns())
}

func wattText(w float64) string {
	sign := ""
	if math.Round(w) < 0 {
		sign = "−"
	}
	return sign + grouped(uint64(math.Round(math.Abs(w)))) + "\u00a0W"
}

func wattFigures(w float64) string { return strings.TrimSuffix(wattText(w), "\u00a0W") }

// emitters is the chart of output against need.
func (s *suitComposer) emitters() []block {
	known := slices.ContainsFunc(s.r.Input.Rooms, func(r suit.Room) bool { return r.EmitterKnown })
	if !known {
		return nil
	}
	out := []block{figure{s.emittersChart()}}
	t := table{head: []string{"Room", "Needs", "Emitters give", "Over or short", "Lowest flow"}, numeric: []bool{false, true, true, true, true}, dense: true, stacked: true}
	for _, r := range s.r.Input.Rooms {
		row := []string{cleanText(r.Name), wattText(r.NeedW), "not known", "–", "–"}
		if r.EmitterKnown {
			row[2], row[3], row[4] = wattText(r.OutputW), overText(r.OutputW-r.NeedW), "none reaches"
			if r.LowestFlowC > 0 {
				row[4] = celsiusText(r.LowestFlowC)
			}
		}
		t.rows = append(t.rows, row)
	}
	out = append(out, t)
	return append(out, para{aside, "Lowest flow: the coolest flow temperature at which the room still reaches its temperature in design weather. Outputs are by the emitters' rated figures; dirt, covers and too little water make them less."})
}

func overText(w float64) string {
	if math.Round(w) < 0 {
		return "short by " + wattText(-w)
	}
	return "+" + wattText(w)
}

// curve is the weather curve, needed and delivered.
func (s *suitComposer) curve() []block {
	if !s.r.Curve.Known() {
		return nil
	}
	c := s.r.Curve.Value
	out := []block{para{text: cleanText(c.Words())}}
	if len(c.Bins) == 0 && len(s.r.Input.Needed) == 0 {
		return out
	}
	out = append(out, figure{s.curveChart()})
	if n := slices.Clone(s.r.Input.Needed); len(n) > 0 {
		slices.SortFunc(n, func(a, b suit.CurvePoint) int { return cmp.Compare(a.OutsideC, b.OutsideC) })
		t := table{head: []string{"Outside"}, numeric: []bool{true}, rows: [][]string{{"Flow needed"}}}
		for _, p := range n {
			t.head = append(t.head, roundC(p.OutsideC))
			t.numeric = append(t.numeric, true)
			t.rows[0] = append(t.rows[0], celsiusText(p.FlowC))
		}
		t.numeric[0] = false
		by := cleanText(s.r.Input.NeededBy)
		if by == "" {
			by = "the load that was taken"
		}
		out = append(out, para{text: "The curve to set, by computation, for " + by + ":"}, t)
	}
	if c.LeftOutH > 0 {
		out = append(out, para{aside, fmt.Sprintf("Left out: %s of firing at outside temperatures that were too rare to tell.", decimal(c.LeftOutH, 1)+"\u00a0h")})
	}
	return append(out, para{aside, "A store of hot water is kept at its own temperature, whatever the curve: 60 °C or more, by the rules for hygiene."})
}

// assumed is the table of what was taken.
func (s *suitComposer) assumed() []block {
	all := append(slices.Clone(s.r.Assumptions), s.in.Assumptions...)
	if len(all) == 0 {
		return nil
	}
	t := table{head: []string{"Assumed", "Value", "Source"}, numeric: []bool{false, true, false}, dense: true}
	for _, a := range all {
		value := withUnit(a.Value, cleanText(a.Unit))
		row := []string{capital(cleanText(a.What)), value, cleanText(a.Source)}
		if !slices.ContainsFunc(t.rows, func(r []string) bool { return slices.Equal(r, row) }) {
			t.rows = append(t.rows, row)
		}
	}
	out := []block{t}
	if f := cleanText(s.in.HouseFile); f != "" {
		out = append(out, para{aside, "The computed load is by the house file " + f + "."})
	}
	return out
}
