package deltat

import (
	"fmt"

	"tundish/analyse"
)

// low asks whether the difference is well below design. p is nil where only the answer counts.
func low(p *analyse.Pass, m *measured, design float64) answer {
	if design == 0 {
		return lowAnywhere(p, m)
	}
	limit, asWas := lowShare*design, lowAsWas*design
	if m.scaled == notScaled {
		return lowUnscaled(p, m, design)
	}
	isLow := m.highest < limit && m.median+m.error < asWas
	switch {
	case !isLow && m.atDesign < limit && m.median < asWas && (m.error > m.median/4 || m.scaled == ofEmitters):
		return answer{because: fmt.Sprintf("ΔT of %.1f K by %s would be %.1f K at the design output, low below %.1f K, but may as well be %.1f K: the error is larger than the claim. %s", m.median, m.source, m.atDesign, limit, m.highest, m.narrower())}
	case !isLow:
		if m.atDesign >= limit && m.median < asWas {
			ruledOut(p, "mild weather, a burner turned down", "the small difference goes with little heat: at the design output the same water flow would give %.1f K", m.atDesign)
		}
		return answer{outcome: analyse.Clear, because: m.says(design)}
	case m.scaled == ofEmitters && m.modSeen && m.mod < fairModulation:
		return answer{because: fmt.Sprintf("the settled ΔT was %.1f K, but the burner ran at %.0f %% modulation, where ΔT is small on a sound circuit too; output_max_kw, output_min_kw and design_heat_loss_kw in the job sheet would settle it", m.median, m.mod)}
	case m.scaled == ofEmitters && m.share(limit, false) < sameSide:
		return answer{because: fmt.Sprintf("ΔT of %.1f K is low in part of the burning only, and nothing tells the burner's output: valves that shut make it small too. Read modulation from the bus, or record a cold morning", m.median)}
	case m.useOpen && m.share(limit, false) < sameSide:
		leftOpen(p, "hot water", "nobody says which firings were for the store; in %.0f %% of the burning only ΔT is low", 100*m.share(limit, false))
		return answer{because: "ΔT is low in part of the burning only, and nothing tells which firings were for hot water: record with the hot water off for a day, or read the bus"}
	}
	m.lookAlikes(p, "mild weather, a burner turned down", "at the design output the same water flow would still give only %.1f K of %.1f K", m.atDesign, design)
	f := m.finding(design, fmt.Sprintf("The water comes back almost as hot as it leaves: the settled difference is %.1f K, design is %.1f K.", m.median, design))
	f.Evidence = m.evidence(func(x part) bool { return x.atDesign < limit && x.k < asWas })
	f.Causes = lowCauses(p, m, design)
	return answer{outcome: analyse.Found, finding: f}
}

// lowUnscaled judges where nothing tells the heat.
func lowUnscaled(p *analyse.Pass, m *measured, design float64) answer {
	if m.median+m.error >= lowShare*design {
		return answer{outcome: analyse.Clear, because: m.says(design)}
	}
	leftOpen(p, "mild weather, a burner turned down", "nothing tells the output")
	return answer{because: fmt.Sprintf("ΔT is %.1f K, design %.1f K, but nothing tells how much heat went with it: modulation by the bus with output_max_kw, output_min_kw and design_heat_loss_kw in the job sheet, or a colder day, would settle it", m.median, design)}
}

// lowAnywhere judges without a design: only what no design in use allows is low.
func lowAnywhere(p *analyse.Pass, m *measured) answer {
	pl, atLoad := m.plant, m.modSeen && m.mod >= anyLoad
	if pl.Kind == "boiler" && pl.Emitters != "underfloor" && atLoad && !m.useOpen && m.median+m.error < anyLow {
		m.lookAlikes(p, "mild weather, a burner turned down", "the burner ran at %.0f %% modulation", m.mod)
		f := m.finding(0, fmt.Sprintf("The water comes back almost as hot as it leaves: the settled difference is %.1f K, less than any usual design.", m.median))
		f.Evidence = m.evidence(func(x part) bool { return x.k < anyLow })
		f.Causes = lowCauses(p, m, 0)
		return answer{outcome: analyse.Found, finding: f}
	}
	return answer{because: fmt.Sprintf("the design ΔT is not known: the job sheet lacks design_flow_c or design_return_c. Measured: %.1f K by %s", m.median, m.source)}
}
