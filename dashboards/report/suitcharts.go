package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tundish/analyse/suit"
)

// Marks of the charts. The measured side is drawn solid, the computed one dashed.
var (
	measuredStroke = stroke{ink: inkOther, width: 1.4}
	computedStroke = stroke{inkReturn, 1.4, []float64{5, 2.5}}
	greatestStroke = stroke{inkText, 0.8, []float64{8, 2, 1.5, 2}}
	leastStroke    = stroke{inkText, 0.8, []float64{1.5, 2}}
	designStroke   = stroke{inkMuted, 0.7, []float64{3, 2}}
)

// signature is the load by outside temperature: days, fitted line, computed line, outputs; nil where there is no line.
func (s *suitComposer) signature() *xyChart {
	in := s.r.Input
	c := &xyChart{title: "Heat taken by outside temperature, and what the plant gives", xName: "outside temperature", xUnit: "°C", yUnit: "kW", atY: []float64{0}}
	var said []string
	cold := s.coldest()
	if m := in.Measured; m != nil && len(m.Line) > 0 {
		d := xyDots{key: key{"a day, measured", markDot, stroke{ink: inkOther}}}
		for _, p := range m.Points {
			d.pts = append(d.pts, point{p.OutsideC, p.W / 1000})
		}
		if len(d.pts) > 0 {
			c.dots = append(c.dots, d)
		}
		line := xyLine{key: key{"measured load in use", markLine, measuredStroke}}
		band := xyBand{key: key{"its 95 % interval", markTint, stroke{ink: inkOther}}}
		for _, p := range m.Line {
			if p.OutsideC < cold {
				continue
			}
			line.pts = append(line.pts, point{p.OutsideC, p.W.Value / 1000})
			band.upper = append(band.upper, point{p.OutsideC, p.W.High / 1000})
			band.lower = append(band.lower, point{p.OutsideC, max(p.W.Low, 0) / 1000})
		}
		c.lines, c.bands = append(c.lines, line), append(c.bands, band)
		said = append(said, fmt.Sprintf("Measured on %s: %s\u00a0W/K below %s", plural(uint64(m.Days), "day", "days"), rangeText(m.WPerK, whole, ""), roundC(m.BalanceC)))
		if m.Design != nil {
			u := m.Design.InUseW
			c.spots = append(c.spots, xySpot{key: key{"at design, in use: " + rangeText(u, kilo, "kW"), markDiamond, stroke{ink: inkOther}},
				at: point{m.Design.OutsideC, u.Value / 1000}, low: u.Low / 1000, top: u.High / 1000})
			said = append(said, fmt.Sprintf("at %s it takes %s in use", roundC(m.Design.OutsideC), rangeText(u, kilo, "kW")))
		}
	}
	if k := in.Computed; k != nil && k.WPerK.Value > 0 {
		name := s.computedLoad()[len("the "):] + ", gains ignored"
		if k.GainsW > 0 {
			name = s.computedLoad()[len("the "):] + ", gains taken off"
		}
		from := min(cold, k.OutsideC)
		at := func(te float64) point { return point{te, (k.WPerK.Value*(k.InsideC-te) - k.GainsW) / 1000} }
		c.lines = append(c.lines, xyLine{key: key{name, markLine, computedStroke}, pts: []point{at(from), {k.InsideC - k.GainsW/k.WPerK.Value, 0}}})
		c.spots = append(c.spots, xySpot{key: key{"at design, " + lowerFirst(s.computedHead()) + ": " + rangeText(k.DesignW, kilo, "kW"), markDiamond, stroke{ink: inkReturn}},
			at: point{k.OutsideC, k.DesignW.Value / 1000}, low: k.DesignW.Low / 1000, top: k.DesignW.High / 1000})
		said = append(said, fmt.Sprintf(lowerFirst(s.computedHead())+": %s\u00a0W/K, %s at %s", rangeText(k.WPerK, whole, ""), kiloText(k.DesignW.Value), roundC(k.OutsideC)))
		c.uprights = append(c.uprights, xyUpright{"design, " + roundC(k.OutsideC), k.OutsideC, designStroke})
	} else if m := in.Measured; m != nil && m.Design != nil {
		c.uprights = append(c.uprights, xyUpright{"design, " + roundC(m.Design.OutsideC), m.Design.OutsideC, designStroke})
	}
	if len(c.lines) == 0 {
		return nil
	}
	_, _, _, top := c.bounds()
	if w := in.Plant.GreatestW; w > 0 && w/1000 > greatestFits*max(top, in.Plant.LeastW/1000) {
		said = append(said, "greatest output "+kiloText(w)+", above the chart")
	} else if w > 0 {
		c.levels = append(c.levels, xyLevel{"greatest output, " + kiloText(w), w / 1000, greatestStroke})
		said = append(said, "greatest output "+kiloText(w))
	}
	if w := in.Plant.LeastW; w > 0 {
		c.levels = append(c.levels, xyLevel{"least output, " + kiloText(w), w / 1000, leastStroke})
		said = append(said, "least output "+kiloText(w))
	}
	c.said = capital(strings.Join(said, "; ")) + "."
	return c
}

// greatestFits is how many times the highest of the rest the greatest output may be to stand in the chart: a line far
// above would leave the days no room. Own proposal.
const greatestFits = 2.5

// beyondCold is how far the lines are drawn beyond the coldest day and the design temperature, K.
const beyondCold = 2.0

// coldest is where the lines begin.
func (s *suitComposer) coldest() float64 {
	cold := math.Inf(1)
	if k := s.r.Input.Computed; k != nil {
		cold = k.OutsideC
	}
	if m := s.r.Input.Measured; m != nil {
		for _, p := range m.Points {
			cold = min(cold, p.OutsideC)
		}
		if m.Design != nil {
			cold = min(cold, m.Design.OutsideC)
		}
		if math.IsInf(cold, 1) && len(m.Line) > 0 {
			return m.Line[0].OutsideC
		}
	}
	return cold - beyondCold
}

// hoursChart is the histogram of the outside temperature, parted by what the plant must do.
func (s *suitComposer) hoursChart() *xyChart {
	side, in := s.limitSide(), s.r.Input
	h, steady := side.Hours.Value, side.SteadyBelowC.Value
	by := "by " + s.computedLoad()
	if s.r.Measured.Hours.Known() {
		by = "by the measured load"
	}
	c := &xyChart{title: "Hours by outside temperature, and when the plant must stop and start, " + by, xName: "outside temperature", xUnit: "°C", yUnit: "hours", atY: []float64{0}}
	width := binWidth(in.Hours.Bins)
	// In the order of the keys, whatever comes first.
	kinds := []key{{"must stop and start", markFill, stroke{ink: inkFiring}}, {"can run without stopping", markTint, stroke{ink: inkOther}}, {"no heat needed", markHatch, stroke{ink: inkAbsent}}}
	for k := range kinds {
		for _, b := range in.Hours.Bins {
			of := 1
			switch {
			case b.OutsideC >= side.LimitC:
				of = 2
			case b.OutsideC > steady.Value:
				of = 0
			}
			if of == k && b.H > 0 {
				c.columns = append(c.columns, xyColumn{b.OutsideC, width, b.H, kinds[k]})
			}
		}
	}
	if n := in.Hours.Bins; !steady.Never && steady.Value >= n[0].OutsideC-width && steady.Value <= n[len(n)-1].OutsideC+width {
		c.uprights = append(c.uprights, xyUpright{"without stopping below " + celsiusText(steady.Value), steady.Value, leastStroke})
	}
	what := "hours of this record, not of a year"
	if in.Hours.Year {
		what = "hours of a typical year"
	}
	c.said = fmt.Sprintf("%s %s: must stop and start %s, can run without stopping %s, no heat needed %s. %s.", capital(hoursText(h.TotalH)), strings.TrimPrefix(what, "hours "),
		cycleText(h), hoursText(h.SteadyH), hoursText(h.NoHeatH), capital(strings.TrimSuffix(cleanText(in.Hours.Source), ".")))
	return c
}

// binWidth is the least distance of two bins, 1 K for one.
func binWidth(bins []suit.HourBin) float64 {
	w := math.Inf(1)
	for i := 1; i < len(bins); i++ {
		if d := bins[i].OutsideC - bins[i-1].OutsideC; d > 0 {
			w = min(w, d)
		}
	}
	if math.IsInf(w, 1) {
		return 1
	}
	return w
}

// curveChart is the weather curve, needed and delivered.
func (s *suitComposer) curveChart() *xyChart {
	c := &xyChart{title: "Flow temperature needed, and delivered, by outside temperature", xName: "outside temperature", xUnit: "°C", yUnit: "°C"}
	var said []string
	if n := slices.Clone(s.r.Input.Needed); len(n) > 0 {
		slices.SortFunc(n, func(a, b suit.CurvePoint) int { return cmp.Compare(a.OutsideC, b.OutsideC) })
		line := xyLine{key: key{"needed by the emitters", markLine, computedStroke}}
		var parts []string
		for _, p := range n {
			line.pts = append(line.pts, point{p.OutsideC, p.FlowC})
			parts = append(parts, celsiusText(p.FlowC)+" at "+roundC(p.OutsideC))
		}
		c.lines = append(c.lines, line)
		said = append(said, "Needed: "+strings.Join(parts, ", "))
	}
	if bins := s.r.Curve.Value.Bins; len(bins) > 0 {
		line := xyLine{key: key{"delivered, mean while firing", markLine, stroke{ink: inkFlow, width: 1.2}}}
		dots := xyDots{key: key{"delivered at one outside temperature", markDot, stroke{ink: inkFlow}}}
		hours := 0.0
		for _, b := range bins {
			line.pts = append(line.pts, point{b.OutsideC, b.FlowC})
			hours += b.H
		}
		dots.pts = line.pts
		c.lines, c.dots = append(c.lines, line), append(c.dots, dots)
		first, last := bins[0], bins[len(bins)-1]
		from := ""
		if f := cleanText(s.r.Input.DeliveredFrom); f != "" {
			from = ", by " + f
		}
		said = append(said, fmt.Sprintf("Delivered over %s of firing%s: %s at %s outside, %s at %s", hoursText(hours), from, celsiusText(first.FlowC), roundC(first.OutsideC), celsiusText(last.FlowC), roundC(last.OutsideC)))
	}
	c.said = strings.Join(said, ". ") + "."
	return c
}
