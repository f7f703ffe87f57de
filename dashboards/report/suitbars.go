package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// shownRows cuts rows of bars to the greatest, and says how many are left out.
func shownRows(rows []barRow, reach func(barRow) float64) ([]barRow, string) {
	rest := len(rows) - mostBars
	if rest <= 0 {
		return rows, ""
	}
	kept := slices.Clone(rows)
	slices.SortStableFunc(kept, func(a, b barRow) int { return cmp.Compare(reach(b), reach(a)) })
	return kept[:mostBars], fmt.Sprintf(" The chart shows the %d greatest; %d more are in the table.", mostBars, rest)
}

func (s *suitComposer) roomsChart() *barChart {
	c := &barChart{title: "Heat loss by room, in design weather", unit: "W", figures: wattFigures, parts: []key{
		{"fabric", markFill, stroke{ink: inkReturn}}, {"ventilation", markHatch, stroke{ink: inkReturn}}}}
	extra := slices.ContainsFunc(s.in.Rooms, func(r SuitRoom) bool { return r.ExtraW != 0 })
	if extra {
		c.parts = append(c.parts, key{"other", markTint, stroke{ink: inkReturn}})
	}
	var said []string
	for _, r := range s.in.Rooms {
		row := barRow{name: cleanText(r.Name), values: []float64{r.FabricW, r.VentilationW}}
		if extra {
			row.values = append(row.values, r.ExtraW)
		}
		c.rows = append(c.rows, row)
		said = append(said, row.name+" "+wattText(row.total()))
	}
	var more string
	c.rows, more = shownRows(c.rows, barRow.total)
	c.said = "Watts by room, fabric and ventilation together: " + strings.Join(said, ", ") + "." + more
	return c
}

func (s *suitComposer) elementsChart() *barChart {
	c := &barChart{title: "Heat loss by element, all rooms together", unit: "W", figures: wattFigures,
		parts: []key{{"heat loss", markFill, stroke{ink: inkReturn}}}}
	all := slices.Clone(s.in.Elements)
	slices.SortStableFunc(all, func(a, b SuitElement) int { return cmp.Compare(b.LossW, a.LossW) })
	total := 0.0
	for _, e := range all {
		total += max(e.LossW, 0)
	}
	for _, e := range all {
		row := barRow{name: cleanText(e.Name), values: []float64{e.LossW}}
		if total > 0 && e.LossW > 0 {
			row.note = fmt.Sprintf(" (%.0f\u00a0%%)", 100*e.LossW/total)
		}
		c.rows = append(c.rows, row)
	}
	var more string
	c.rows, more = shownRows(c.rows, barRow.total)
	var said []string
	for _, r := range c.rows {
		said = append(said, r.name+" "+wattText(r.total())+r.note)
	}
	c.said = "Watts by element, and the share of all: " + strings.Join(said, ", ") + "." + more
	return c
}

func (s *suitComposer) emittersChart() *barChart {
	at := ""
	if s.in.EmittersAt != "" {
		at = " at " + cleanText(s.in.EmittersAt)
	}
	c := &barChart{title: "What each room needs in design weather, and what its emitters give" + at, unit: "W", side: true, figures: wattFigures, parts: []key{
		{"needed", markHatch, stroke{ink: inkReturn}}, {"emitters give", markFill, stroke{ink: inkOther}}}}
	var said []string
	for _, r := range s.r.Input.Rooms {
		if !r.EmitterKnown {
			said = append(said, cleanText(r.Name)+" needs "+wattText(r.NeedW)+", its emitters are not known")
			continue
		}
		row := barRow{name: cleanText(r.Name), values: []float64{r.NeedW, r.OutputW}}
		words := "enough"
		if short := r.NeedW - r.OutputW; math.Round(short) > 0 {
			words = "short by " + wattText(short)
		}
		row.note = ", " + words
		c.rows = append(c.rows, row)
		said = append(said, fmt.Sprintf("%s needs %s and gets %s, %s", row.name, wattText(r.NeedW), wattText(r.OutputW), words))
	}
	var more string
	c.rows, more = shownRows(c.rows, func(r barRow) float64 { return r.values[0] - r.values[1] })
	c.said = strings.Join(said, "; ") + "." + more
	return c
}
