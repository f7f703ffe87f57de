package cycling

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
)

const (
	// slowRise and fastRise bound how quickly the flow climbs at a burn, K/min: a circuit that takes part of the
	// heat climbs slower than the first, one in which too little water moves faster than the second (worked out
	// from V·ρ·c: 30 l at 7 kW gives 3.4 K/min, 12 l gives 8.5 K/min with no load).
	slowRise, fastRise = 4.0, 10.0
	// lowFire is the mean modulation up to which a burner counts as firing at its least output, %. Own proposal.
	lowFire = 15.0
	// volumeHeat is the heat that a litre of water takes for each kelvin at 60 °C, kJ (IAPWS-IF97).
	volumeHeat = 4.1125
	// littleFlow and enoughFlow bound the share of the design water flow at which a burner is short of water. A
	// flow rate follows from output and ΔT at the end of the burn. Own proposal.
	littleFlow, enoughFlow = 0.3, 0.6
	// plainDelta and wideDelta bound the ΔT at the end of a burn that tells the same where the design is not
	// known, K: above 25–30 K too little water moves (common practice, no source).
	plainDelta, wideDelta = 18.0, 28.0
	// smallVolume and tinyVolume bound the water actually warmed that is no more than the heat exchanger and a bypass,
	// l: 7 kW for 40 s and 10 K is 6.8 l. A brief burn on an open circuit warms what flows through meanwhile, as a
	// rule more than that.
	smallVolume, tinyVolume = 7.0, 5.0
	// quickRise and steepRise bound the climb of the flow that no circuit shows in which the water moves, K/min (3 l
	// at 7 kW with no load gives 34 K/min, 5 l gives 20 K/min).
	quickRise, steepRise = 20.0, 30.0
	// leastClimb is the shortest burn whose climb tells something: a bus sensor lags by some seconds. Own proposal.
	leastClimb = 15 * time.Second
	// strongWhenOversized is the share of least output over design heat loss from which the plant is too big
	// without question: it must cycle even on the coldest day.
	strongWhenOversized = 1.0
)

// signs are the averages over the burns that tell the causes apart.
type signs struct {
	byDemand      float64 // share of burns that heat demand ended
	rise          float64 // K/min, median; riseSeen
	riseSeen      bool
	modulation    float64 // %, median of means; modSeen
	modSeen       bool
	volume        float64 // l, median of V_eff; volumeSeen
	volumeSeen    bool
	leastOverLoss float64 // OutputMin ÷ design heat loss; lossSeen
	lossSeen      bool
	delta         float64 // K at the end of the burn, median; deltaSeen
	deltaSeen     bool
	flowShare     float64 // of the design water flow; flowSeen
	flowSeen      bool
}

func read(p *analyse.Pass, burns []episode.Firing) signs {
	var s signs
	var rises, mods, volumes, deltas []float64
	for _, f := range burns {
		if f.End == episode.EndDemand {
			s.byDemand++
		}
		if f.ModulationSeen {
			mods = append(mods, f.MeanModulation)
		}
		if f.DeltaSeen {
			deltas = append(deltas, f.DeltaEnd)
		}
		if f.FlowSeen && f.FlowMax > f.FlowStart && f.Duration() >= leastClimb {
			climb := f.FlowMax - f.FlowStart
			rises = append(rises, climb/f.Duration().Minutes())
			if p.Plant.OutputMin.Known {
				kJ := outputOf(p.Plant, f) * f.Duration().Seconds()
				volumes = append(volumes, kJ/(volumeHeat*climb))
			}
		}
	}
	s.byDemand /= float64(len(burns))
	s.rise, s.riseSeen = median(rises), len(rises) > 0
	s.modulation, s.modSeen = median(mods), len(mods) > 0
	s.volume, s.volumeSeen = median(volumes), len(volumes) > 0
	if p.Plant.OutputMin.Known && p.Plant.DesignHeatLoss.Known && p.Plant.DesignHeatLoss.Value > 0 {
		s.leastOverLoss = float64(p.Plant.OutputMin.Value) / float64(p.Plant.DesignHeatLoss.Value)
		s.lossSeen = true
	}
	s.delta, s.deltaSeen = median(deltas), len(deltas) > 0
	if design, ok := p.Plant.DesignDeltaT(); ok && s.deltaSeen && s.lossSeen && s.delta > 0 {
		// Both flows are output ÷ (ρ·c·ΔT), so that ρ·c falls out.
		s.flowShare = s.leastOverLoss * float64(design) / s.delta
		s.flowSeen = true
	}
	return s
}

// outputOf is the mean output of a firing, kW: the least, where the modulation is not known.
func outputOf(pl analyse.Plant, f episode.Firing) float64 {
	least := float64(pl.OutputMin.Value)
	if !f.ModulationSeen || !pl.OutputMax.Known {
		return least
	}
	return least + f.MeanModulation/100*float64(pl.OutputMax.Value-pl.OutputMin.Value)
}

// weigh ranks the causes: oversized, closed-valves, control.
func weigh(p *analyse.Pass, burns []episode.Firing) []analyse.Cause {
	s := read(p, burns)
	causes := []analyse.Cause{s.oversized(), s.closedValves(), s.control()}
	slices.SortStableFunc(causes, func(x, y analyse.Cause) int { return cmp.Compare(y.Support, x.Support) })
	return slices.DeleteFunc(causes, func(c analyse.Cause) bool { return c.Support < 0.05 })
}

// short is how much it looks like too little water moving, 0…1: by whichever sign speaks for it most. A burn can end
// before ΔT has come to its full height, and a burner that is too big climbs quickly too, so that each sign must be
// strong to count.
func (s signs) short() float64 {
	most, known := 0.0, false
	sign := func(seen bool, strength float64) {
		if seen {
			most, known = max(most, clamp(strength)), true
		}
	}
	sign(s.volumeSeen, (smallVolume-s.volume)/(smallVolume-tinyVolume))
	sign(s.riseSeen, (s.rise-quickRise)/(steepRise-quickRise))
	sign(s.deltaSeen, (s.delta-plainDelta)/(wideDelta-plainDelta))
	sign(s.flowSeen, (enoughFlow-s.flowShare)/(enoughFlow-littleFlow))
	if !known {
		return 0.3 // leave room for it
	}
	if !s.deltaSeen && !s.volumeSeen { // the climb alone, which a burner too big for its circuit shows as well
		most = max(most, 0.7*clamp((s.rise-slowRise)/(fastRise-slowRise)))
	}
	return most
}

func (s signs) oversized() analyse.Cause {
	c := analyse.Cause{Cause: "oversized", Settle: "compare the boiler's least output with the heat the house takes; on a day cold enough to take it, the cycling stops"}
	c.Support = 0.7 * (1 - s.byDemand) * (1 - s.short())
	if s.modSeen && s.modulation <= lowFire {
		c.Support *= 1.2
		c.Because = fmt.Sprintf("the burner was at its lowest (%.0f %%) and still gave more than the circuit took", s.modulation)
	} else if s.modSeen {
		c.Support *= 0.7
		c.Because = fmt.Sprintf("the burner was at %.0f %% modulation", s.modulation)
	} else {
		c.Because = "heat was still asked for when the burner stopped"
	}
	if s.riseSeen {
		c.Because += fmt.Sprintf("; the flow climbed at %.1f K/min", s.rise)
	}
	if s.lossSeen {
		c.Because += fmt.Sprintf("; its least output is %.1f times the design heat loss", s.leastOverLoss)
		if s.leastOverLoss >= strongWhenOversized {
			c.Support = max(c.Support, 0.6*(1-s.byDemand)*(1-0.5*s.short())) * 1.15
		}
	}
	c.Support = clamp(c.Support)
	return c
}

func (s signs) closedValves() analyse.Cause {
	c := analyse.Cause{Cause: "closed-valves", Settle: "open every radiator valve and watch one firing: if the burn becomes long, too little water was moving"}
	c.Support = clamp(0.9 * s.short() * (1 - s.byDemand))
	switch {
	case s.flowSeen && s.flowShare >= 1:
		c.Because = fmt.Sprintf("flow and return were %.0f K apart at the end of a burn, which speaks for water enough", s.delta)
	case s.flowSeen:
		c.Because = fmt.Sprintf("flow and return were %.0f K apart at the end of a burn: at most about %.0f %% of the design water flow moves", s.delta, s.flowShare*100)
	case s.deltaSeen:
		c.Because = fmt.Sprintf("flow and return were %.0f K apart at the end of a burn", s.delta)
	case !s.riseSeen:
		c.Because = "the flow temperature is not known, so too little water moving cannot be ruled out"
		return c
	}
	if s.riseSeen {
		c.Because = strings.TrimPrefix(c.Because+fmt.Sprintf("; the flow climbed at %.1f K/min", s.rise), "; ")
	}
	if s.volumeSeen {
		c.Because += fmt.Sprintf(", as if no more than %.0f l of water were being warmed", s.volume)
	}
	return c
}

func (s signs) control() analyse.Cause {
	c := analyse.Cause{Cause: "control", Settle: "look at the thermostat's cycle rate and differential, and at the boiler's anti-cycle timer"}
	c.Support = clamp(0.95*s.byDemand + 0.1)
	c.Because = fmt.Sprintf("%.0f %% of the burns ended because heat was no longer asked for", s.byDemand*100)
	if s.modSeen && s.modulation > 2*lowFire && s.byDemand < 0.5 {
		c.Support = clamp(c.Support + 0.3)
		c.Because += fmt.Sprintf("; the burner ran into its set-point at %.0f %% modulation instead of turning down", s.modulation)
	}
	return c
}

func clamp(v float64) float64 { return min(1, max(0, v)) }
