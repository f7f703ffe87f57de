package overshoot

import (
	"cmp"
	"fmt"
	"slices"

	"tundish/analyse"
	"tundish/analyse/episode"
)

// What tells the causes apart.
const (
	lateK     = 3.0  // K the flow still climbs after the burner stopped: its sensor follows late. Own proposal
	wideDelta = 25.0 // K of flow over return at the end of the burn: too little water (above 25 to 30 K, common practice, no source)
	quickRise = 10.0 // K/min: 12 l warmed by 7 kW climb by 8.5 K/min (from V·ρ·c)
	lowFire   = 15.0 // % modulation up to which a burner counts as at its least output. Own proposal
	evenK     = 2.0  // K between the quarters: the same overshoot each time, as a differential makes it. Own proposal
)

// signs are the medians over the starts that overshot.
type signs struct {
	late, rise, delta, mod, least float64
	deltaSeen, modSeen            bool
	spread                        float64 // K between the quarters of the overshoot
	bySetpoint                    float64 // share that the set-point ended
	burnMin                       float64
}

func read(over []start, m measured) signs {
	var late, rise, delta, mod, least, excess, burn []float64
	var s signs
	for _, x := range over {
		late = append(late, max(0, x.Excess.Setpoint+x.first()-x.FlowEnd))
		burn = append(burn, x.Duration().Minutes())
		if x.FlowSeen {
			rise = append(rise, (x.FlowMax-x.FlowStart)/max(0.25, x.Duration().Minutes()))
		}
		if x.DeltaSeen {
			delta = append(delta, x.DeltaEnd)
		}
		if x.ModulationSeen {
			mod, least = append(mod, x.MeanModulation), append(least, x.MinModulation)
		}
		excess = append(excess, m.of(x))
		if x.End == episode.EndSetpoint {
			s.bySetpoint++
		}
	}
	s.bySetpoint /= float64(len(over))
	slices.Sort(excess)
	s.spread = excess[len(excess)*3/4] - excess[len(excess)/4]
	s.late, s.rise, s.burnMin = median(late), median(rise), median(burn)
	s.delta, s.deltaSeen = median(delta), len(delta) > 0
	s.mod, s.least, s.modSeen = median(mod), median(least), len(mod) > 0
	return s
}

// weigh ranks the causes. The weights are own proposals.
func weigh(p *analyse.Pass, over []start, m measured) []analyse.Cause {
	s := read(over, m)
	p.Measured("climb after the burner stopped", "%.1f K in the median", s.late)
	p.Measured("climb of the flow", "%.1f K/min in the median over burns of %.1f min", s.rise, s.burnMin)
	var out []analyse.Cause
	add := func(cause string, support float64, settle, because string, args ...any) {
		out = append(out, analyse.Cause{Cause: cause, Support: support, Because: fmt.Sprintf(because, args...), Settle: settle})
	}
	sensor := "look where the boiler's flow sensor sits, whether it is seated on clean pipe and clipped tight, and compare it with a thermometer of known error at steady flow; inside the boiler's case this is work for a registered gas engineer"
	switch {
	case m.ownLow && m.atRest.ownLow(m.apart):
		add("sensor-placement", 0.9, sensor, "a second sensor peaks %.0f K above the boiler's own, which reads %.0f K below its return even when the water has stood for hours: control follows a sensor that reads low", m.apart, -m.atRest.own)
	case m.ownLow:
		add("sensor-placement", 0.9, sensor, "a second sensor peaks %.0f K above the boiler's own, which reads hardly above its return while it burns: control follows a sensor that reads low", m.apart)
	case m.overStill >= mostShare:
		add("sensor-placement", 0.3, sensor, "the return does not answer to these burns: the water stands, and a sensor in standing water follows late wherever it sits")
	case m.bothSeen > 0 && m.apart >= apartK:
		add("sensor-placement", 0.75, sensor, "a second sensor of the flow peaks %.1f K above the one that control uses", m.apart)
	case s.late >= lateK:
		add("sensor-placement", 0.7, sensor, "the flow reading climbs by %.1f K more after the burner has stopped: its sensor follows the water late, or the water stands", s.late)
	default:
		add("sensor-placement", 0.15, sensor, "the flow reading stops climbing with the burner (%.1f K after)", s.late)
	}
	water := "read pump setting, strainer, valves and how many radiators are open while it happens; compare flow less return at full output with the design"
	switch {
	case m.overStill >= mostShare:
		add("closed-valves", 0.8, water, "in %.0f %% of these burns the flow shoots up and the return does not answer: next to no water moves, by a valve, a pump or air (see no-circulation)", 100*m.overStill)
	case s.deltaSeen && s.delta >= wideDelta && s.rise >= quickRise:
		add("closed-valves", 0.8, water, "the flow climbs by %.0f K/min and stands %.0f K above the return at the end of the burn: too little water takes the heat away", s.rise, s.delta)
	case s.rise >= quickRise && !s.deltaSeen:
		add("closed-valves", 0.5, water, "the flow climbs by %.0f K/min; the return, which would tell, is not known", s.rise)
	case s.rise >= quickRise || s.deltaSeen && s.delta >= wideDelta:
		add("closed-valves", 0.35, water, "the flow climbs by %.0f K/min%s", s.rise, deltaWords(s))
	default:
		add("closed-valves", 0.1, water, "the flow climbs by only %.1f K/min%s", s.rise, deltaWords(s))
	}
	control := "read the boiler's switching differential, its start output and start time, and the heating output that is set, by the maker's instructions"
	switch {
	case m.ownLow:
		add("control", 0.2, control, "by its own sensor control keeps to the set-point")
	case s.late >= lateK:
		add("control", 0.35, control, "the burner itself stops %.1f K above the set-point", max(0, m.median-s.late))
	case s.spread <= evenK && s.bySetpoint >= 0.5:
		add("control", 0.7, control, "the burner goes off at much the same overshoot each time (within %.1f K for half of the starts): that is how a wide switching differential shows", s.spread)
	default:
		add("control", 0.4, control, "the overshoot varies by %.1f K between the quarters of the starts", s.spread)
	}
	if s.modSeen && s.least <= lowFire && s.burnMin < 10 {
		support := 0.45
		if q, loss := p.Plant.OutputMin, p.Plant.DesignHeatLoss; q.Known && loss.Known && q.Value >= 0.6*loss.Value {
			support = 0.6
		}
		add("oversized", support, "compare the least output by the maker's data with the heat loss of the house", "the burner is down at its least output (%.0f %%) and the flow still climbs: it makes more than the circuit takes", s.least)
	}
	slices.SortStableFunc(out, func(a, b analyse.Cause) int { return -cmp.Compare(a.Support, b.Support) })
	return out
}

func deltaWords(s signs) string {
	if !s.deltaSeen {
		return ""
	}
	return fmt.Sprintf(", flow less return %.0f K at the end", s.delta)
}
