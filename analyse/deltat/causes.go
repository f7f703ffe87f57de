package deltat

import (
	"cmp"
	"fmt"
	"slices"

	"tundish/analyse"
)

const (
	// trendPerDay is the fall of the water flow from each day to the next that is a trend, stepShare the fall at once that
	// is a step, as shares of it, and fallsInADay the change over a day's burning that speaks of valves. Own proposals.
	trendPerDay, stepShare, fallsInADay = 0.04, 0.3, 0.15
)

func lowCauses(p *analyse.Pass, m *measured, design float64) []analyse.Cause {
	with := flowWords(m, design)
	pump := analyse.Cause{Cause: "pump-too-fast", Support: weightFirst, Because: "more water moves than the heat needs" + with,
		Settle: "turn the pump down a step and watch whether ΔT grows while the rooms stay warm"}
	bypass := analyse.Cause{Cause: "bypass-open", Support: weightSecond, Because: "water may pass back to the return without reaching a radiator" + with,
		Settle: "feel the bypass pipe; close it a little and watch ΔT"}
	d := m.byHours()
	if m.scaled != byOutput {
		d.known = false // rooms that warm up take less at the same water: by the emitters' heat the flow seems to grow
	}
	switch {
	case d.known && d.change > fallsInADay:
		bypass.Support = weightShown
		bypass.Because = fmt.Sprintf("the water flow does not fall while the valves shut: it grows by %.0f %% from the first to the last third of the burning of a day%s", 100*d.change, with)
	case d.known && d.change < -fallsInADay:
		pump.Support = weightShown
		pump.Because = fmt.Sprintf("the water flow falls by %.0f %% in the course of a day as valves shut, as it does without a bypass%s", -100*d.change, with)
	}
	return ranked(pump, bypass)
}

func highCauses(p *analyse.Pass, m *measured, design, limit float64) []analyse.Cause {
	with := flowWords(m, design)
	blocked := analyse.Cause{Cause: "restriction", Support: weightFirst, Because: "sludge, a blocked strainer or a valve that is nearly shut holds the water back" + with,
		Settle: "open all valves, look at the strainer, and compare ΔT; a radiator that is cold at its foot holds sludge"}
	slow := analyse.Cause{Cause: "pump-too-slow", Support: weightSecond, Because: "the pump may be set too low, or failing" + with,
		Settle: "turn the pump up a step and watch ΔT"}
	air := analyse.Cause{Cause: "air-lock", Support: weightFaint, Because: "air in the pump or a high point holds water back, mostly after draining down",
		Settle: "bleed the pump and the high points"}
	list := []analyse.Cause{}
	switch t := m.overDays(); {
	case t.step:
		slow.Support, slow.Because = weightShown, fmt.Sprintf("the water flow fell by %.0f %% at once, about %s: a pump fails or is turned down like that, sludge grows%s", 100*t.fall, day(p, t), with)
		air.Support = weightFaint * 2
	case t.known && t.grows:
		blocked.Support, blocked.Because = weightShown, fmt.Sprintf("the water flow falls by about %.0f %% a day: something clogs%s", 100*t.perDay, with)
	case t.known:
		blocked.Because = "the water flow is the same on all days: a valve nearly shut or old sludge" + with
	}
	if design > 0 && m.scaled != notScaled && m.atDesign <= limit {
		list = append(list, analyse.Cause{Cause: "output-above-design", Support: weightShown,
			Because: fmt.Sprintf("the burner gives more than the circuit was laid out for: at the design output the same water flow would give %.1f K", m.atDesign),
			Settle:  "limit the burner's output for heating to the design heat loss, and watch ΔT"})
		blocked.Support, slow.Support, air.Support = weightFaint*2, weightFaint*2, weightFaint
	}
	return ranked(append(list, blocked, slow, air)...)
}

// Weights of causes: what a difference alone says, what a course in time adds. Own proposals.
const (
	weightShown, weightFirst, weightSecond, weightFaint = 0.7, 0.5, 0.45, 0.1
)

func ranked(list ...analyse.Cause) []analyse.Cause {
	slices.SortStableFunc(list, func(x, y analyse.Cause) int { return cmp.Compare(y.Support, x.Support) })
	return list
}

// flowWords tells the water flow against design's.
func flowWords(m *measured, design float64) string {
	if m.scaled == notScaled || m.follows || design <= 0 || m.atDesign <= 0 {
		return ""
	}
	text := fmt.Sprintf(": about %.1f times the design flow", design/m.atDesign)
	if m.lpm() == 0 || !m.plant.DesignHeatLoss.Known {
		return text
	}
	loss := float64(m.plant.DesignHeatLoss.Value)
	return text + fmt.Sprintf(" (%.1f l/min; %.1f kW at %.0f K take %.1f l/min)", m.lpm(), loss, design, loss*60/(4.11*design))
}

// day names the day of a step.
func day(p *analyse.Pass, t trend) string {
	if p == nil {
		return ""
	}
	return p.Site.DayClock(t.at)
}
