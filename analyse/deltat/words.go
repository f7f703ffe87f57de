package deltat

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"tundish/analyse"
)

// tell keeps what was measured for whoever asks why.
func (m *measured) tell(p *analyse.Pass) {
	how := "settled"
	if m.ends {
		how = "settled, or at the end of firings of five minutes or more,"
	}
	p.Measured("ΔT "+how, "%.1f K ± %.1f K by %s, median of %s of burning in %s", m.median, m.error, m.source, analyse.Span(m.total), analyse.Count(len(m.parts), "firing"))
	if m.follows {
		p.Measured("the pump", "ΔT is the same at small and at great outputs: its speed follows them, and ΔT is judged as it was")
	}
	switch m.scaled {
	case byOutput:
		p.Measured("ΔT at the design output", "%.1f K (%.1f to %.1f K), by the burner's output, median %.1f kW", m.atDesign, m.lowest, m.highest, m.kw)
		if lpm := m.lpm(); lpm > 0 {
			p.Measured("water flow", "about %.1f l/min by heat and difference", lpm)
		}
	case ofEmitters:
		p.Measured("ΔT at the design output", "%.1f K (%.1f to %.1f K), by what emitters of the design give at these water temperatures (EN 442)", m.atDesign, m.lowest, m.highest)
	default:
		p.LeftOpen("the output that went with it", "neither modulation with the plant's outputs nor the design temperatures tell it")
	}
	if m.reheats > 0 {
		p.RuledOut("hot water", "%s left out that a store may have taken", analyse.Count(m.reheats, "firing"))
	}
	if m.below > 0 {
		p.LeftOpen("the sensors", "%s left out in which flow read below return", analyse.Count(m.below, "firing"))
	}
}

// lookAlikes tells what else was looked at before a finding.
func (m *measured) lookAlikes(p *analyse.Pass, load, format string, args ...any) {
	if p == nil {
		return
	}
	ruledOut(p, load, format, args...)
	if m.useOpen {
		leftOpen(p, "hot water", "nobody says what the firings were for, but ΔT was the same in nearly all of them")
	} else {
		ruledOut(p, "hot water", "only firings for heating were taken")
	}
	ruledOut(p, "warm-up", "only water that stood still within 2 K for two minutes, or the ends of long firings, was taken")
	if m.below == 0 {
		ruledOut(p, "swapped probes", "flow read above return in every stretch")
	}
	if m.alone && !slices.Contains(p.Buses, m.source) {
		leftOpen(p, "a probe that is not well on its pipe", "there is no second pair to hold it against")
	}
	if m.scaled == ofEmitters {
		leftOpen(p, "emitters that are not as designed", "the heat was told by the emitters: radiators of another size, or shut valves, would shift it")
	}
}

func ruledOut(p *analyse.Pass, what, format string, args ...any) {
	if p != nil {
		p.RuledOut(what, format, args...)
	}
}

func leftOpen(p *analyse.Pass, what, format string, args ...any) {
	if p != nil {
		p.LeftOpen(what, format, args...)
	}
}

// says is the because of a clear answer.
func (m *measured) says(design float64) string {
	text := fmt.Sprintf("settled ΔT %.1f K by %s, design %.1f K", m.median, m.source, design)
	if m.scaled != notScaled {
		text += fmt.Sprintf("; at the design output the same water flow would give %.1f K", m.atDesign)
	}
	return text
}

// narrower says what would make the error smaller.
func (m *measured) narrower() string {
	if m.scaled == ofEmitters {
		return "Modulation by the bus with the plant's outputs in the job sheet would tell the heat better"
	}
	return "Pair the probes in one water bath and put paired_k in the job sheet, or record a colder day"
}

// share is how much of the burning is on a side of a limit at the design output, or as it was where nothing scales it.
func (m *measured) share(limit float64, above bool) float64 {
	return m.agree(func(x part) bool {
		v := x.atDesign
		if x.scaled == notScaled {
			v = x.k
		}
		return v > limit == above
	})
}

// lpm is the water flow by heat and difference, l/min: 4.11 kJ/(l·K) at 60 °C (IAPWS-IF97); 0: not known.
func (m *measured) lpm() float64 {
	if m.kw <= 0 || m.median <= 0 {
		return 0
	}
	return m.kw * 60 / (4.11 * m.median)
}

// finding is the common part of a finding.
func (m *measured) finding(design float64, summary string) analyse.Finding {
	f := analyse.Finding{
		Severity: analyse.Advise, Summary: summary, From: m.parts[0].from, To: m.parts[len(m.parts)-1].to,
		Numbers: []analyse.Number{{Name: "delta_t_k_median", Value: round(m.median), Label: "settled ΔT", Unit: "K"}},
	}
	add := func(name string, v float64, label, unit string) {
		f.Numbers = append(f.Numbers, analyse.Number{Name: name, Value: round(v), Label: label, Unit: unit})
	}
	if design > 0 {
		add("delta_t_k_design", design, "design ΔT", "K")
	}
	if m.scaled != notScaled {
		add("delta_t_k_at_design_output", m.atDesign, "ΔT at design output", "K")
	}
	add("delta_t_k_error", m.error, "error of the pair", "K")
	if lpm := m.lpm(); lpm > 0 {
		add("water_flow_lpm", lpm, "water flow by heat and ΔT", "l/min")
	}
	f.Numbers = append(f.Numbers, analyse.Number{Name: "settled_min", Value: math.Round(m.total.Minutes()), Label: "settled burning seen", Unit: "min"})
	return f
}

// mostEvidence is how many stretches are shown.
const mostEvidence = 6

// evidence are the longest stretches that show it.
func (m *measured) evidence(shows func(part) bool) (list []analyse.Evidence) {
	longest := slices.DeleteFunc(slices.Clone(m.parts), func(x part) bool { return !shows(x) })
	slices.SortStableFunc(longest, func(x, y part) int { return cmp.Compare(y.counts, x.counts) })
	longest = longest[:min(len(longest), mostEvidence)]
	slices.SortFunc(longest, func(x, y part) int { return x.from.Compare(y.from) })
	for _, x := range longest {
		note := fmt.Sprintf("ΔT %.1f K at %.0f °C flow, settled for %s (%s)", x.k, x.flow, analyse.Span(x.counts), m.source)
		if !x.settled {
			note = fmt.Sprintf("ΔT %.1f K at %.0f °C flow at the end of a firing of %s (%s)", x.k, x.flow, analyse.Span(x.whole), m.source)
		}
		if x.kw > 0 {
			note += fmt.Sprintf(", at %.1f kW", x.kw)
		}
		list = append(list, analyse.Evidence{From: x.from, To: x.to, Note: note})
	}
	return list
}

func round(v float64) float64 { return math.Round(v*10) / 10 }

// negative and apart say why a pair of sensors cannot be trusted.
func negative(m *measured) string {
	return fmt.Sprintf("flow reads below return by %.1f K while the burner runs (%s): the probes are swapped, or one of them is wrong; put both on one pipe and compare", -m.median, m.source)
}

func apart(a, b *measured) string {
	return fmt.Sprintf("the pairs of sensors contradict each other: ΔT is %.1f K by %s and %.1f K by %s, and what follows is not the same. Put both probes on one pipe, then on flow and return, and compare", a.median, a.source, b.median, b.source)
}
