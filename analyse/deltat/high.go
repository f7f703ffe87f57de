package deltat

import (
	"fmt"

	"tundish/analyse"
)

// high asks whether the difference is well above design. p is nil where only the answer counts.
func high(p *analyse.Pass, m *measured, design float64) answer {
	if design == 0 {
		return highAnywhere(p, m)
	}
	limit, asWas, far := above(highShare, design), above(highAsWas, design), above(highFar, design)
	lossy := m.error + contactShare*m.median/2
	isFar := m.median-lossy > far
	// the pair's error is in the lowest already; as it was the difference is looked at for mild days only
	isHigh := m.lowest > limit && (m.scaled == byOutput && m.median > asWas || m.scaled == ofEmitters && m.median-m.error > asWas)
	side := limit
	if !isHigh {
		side = far
	}
	switch {
	case !isHigh && !isFar && m.scaled != notScaled && m.atDesign > limit && m.median > asWas && (m.error > m.median/4 || m.scaled == ofEmitters):
		return answer{because: fmt.Sprintf("ΔT of %.1f K by %s would be %.1f K at the design output, high above %.1f K, but may as well be %.1f K: the error is larger than the claim. %s", m.median, m.source, m.atDesign, limit, m.lowest, m.narrower())}
	case !isHigh && !isFar:
		return answer{outcome: analyse.Clear, because: m.says(design)}
	case m.scaled != byOutput && m.alone && m.returnShare() < coldReturn:
		leftOpen(p, "a return probe off its pipe", "the return reads %.0f %% of the flow's excess over the room", 100*m.returnShare())
		return answer{because: fmt.Sprintf("ΔT reads %.1f K, but the return is hardly warmer than the room, as a probe off its pipe reads too, and no other pair tells which it is: see that the return probe sits on bare metal under insulation, or read the bus", m.median)}
	case m.useOpen && m.share(side, true) < sameSide:
		leftOpen(p, "hot water", "nobody says which firings were for the store; in %.0f %% of the burning only ΔT is high", 100*m.share(side, true))
		return answer{because: "ΔT is high in part of the burning only, and nothing tells which firings were for hot water: record with the hot water off for a day, or read the bus"}
	}
	if m.scaled != notScaled && m.atDesign > limit {
		m.lookAlikes(p, "a cold day, a burner at full output", "at the design output the same water flow would give %.1f K of %.1f K", m.atDesign, design)
	} else {
		m.lookAlikes(p, "a difference that only the warm-up has", "it is the median of %s of burning", analyse.Span(m.total))
	}
	f := m.finding(design, fmt.Sprintf("The water comes back much cooler than it leaves: the settled difference is %.1f K, design is %.1f K.", m.median, design))
	f.Evidence = m.evidence(func(x part) bool { return x.k > far || x.scaled != notScaled && x.atDesign > limit })
	f.Causes = highCauses(p, m, design, limit)
	return answer{outcome: analyse.Found, finding: f}
}

// coldReturn is the return's excess over the room as a share of the flow's below which a probe off its pipe is as
// likely as water that hardly moves. Radiators of 70/50 leave 0.6 of it at the design flow, 0.2 at a third of it, 0.1 at
// a quarter (log-mean difference, EN 442). Own proposal.
const coldReturn = 0.14

// returnShare is the return's excess over the room as a share of the flow's.
func (m *measured) returnShare() float64 {
	room := roomOf(m.plant)
	return median(m.parts, func(x part) float64 { return (x.flow - x.k - room) / max(x.flow-room, 1) })
}

// above is a share of design, but at least highOver more than it.
func above(share, design float64) float64 {
	return max(share*design, design+highOver*(share-1)/(highShare-1))
}

// highAnywhere judges without a design: only what no design in use allows is high.
func highAnywhere(p *analyse.Pass, m *measured) answer {
	if m.median-m.error > anyHigh && !m.useOpen {
		m.lookAlikes(p, "a difference that only the warm-up has", "it is the median of %s of burning", analyse.Span(m.total))
		f := m.finding(0, fmt.Sprintf("The water comes back much cooler than it leaves: the settled difference is %.1f K, more than any usual design.", m.median))
		f.Evidence = m.evidence(func(x part) bool { return x.k > anyHigh })
		f.Causes = highCauses(p, m, 0, anyHigh)
		return answer{outcome: analyse.Found, finding: f}
	}
	return answer{because: fmt.Sprintf("the design ΔT is not known: the job sheet lacks design_flow_c or design_return_c. Measured: %.1f K by %s", m.median, m.source)}
}
