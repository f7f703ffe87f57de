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

	// Weights of the causes, own proposals. oversizedBase is what oversized begins with where the burner stopped by
	// itself; atLowFire and aboveLow are its factors with the burner at its least and above it; oversizedLeast is the
	// least it has where the plant is too big without question.
	oversizedBase, oversizedLeast = 0.7, 0.6
	atLowFire, aboveLow, tooBig   = 1.2, 0.7, 1.15
	// valvesBase is what closed valves have at the strongest sign, shortUnknown the sign where nothing was read.
	valvesBase, shortUnknown = 0.9, 0.3
	// controlBase is what control has where demand ended every burn, controlLeast where it ended none; runsIn is what
	// a burner that runs into its set-point well above its least adds.
	controlBase, controlLeast, runsIn = 0.95, 0.1, 0.3
	// narrowBase is what control has with hardly any differential, narrowTakes the share that this takes from oversized.
	narrowBase, narrowTakes = 0.9, 0.7
	// sameTop is the span within which half of the burns stop that their set-point ends, K, and controlOpen what control
	// has where they do not and nothing tells when heat was asked for.
	sameTop, controlOpen = 2.0, 0.35
	// roomyLeast is what is left of oversized where the burner turns down below the load of that weather: the sheet may
	// be wrong.
	roomyLeast = 0.3
	// climbAlone is what the climb of the flow counts where neither ΔT nor output is known.
	climbAlone = 0.7
	// leastSupport is the support below which a cause is not named.
	leastSupport = 0.05
)

// weigh ranks the causes: oversized, closed-valves, control.
func weigh(p *analyse.Pass, all []episode.Firing, spells []spell) []analyse.Cause {
	var burns []episode.Firing
	for _, x := range spells {
		burns = append(burns, all[x.first:x.last+1]...)
	}
	s := read(p, burns)
	s.balance = weighCycles(p, all, spells)
	s.tell(p)
	s.balance.tell(p)
	causes := []analyse.Cause{s.oversized(), s.closedValves(), s.control()}
	slices.SortStableFunc(causes, func(x, y analyse.Cause) int { return cmp.Compare(y.Support, x.Support) })
	return slices.DeleteFunc(causes, func(c analyse.Cause) bool { return c.Support < leastSupport })
}

// short is how much it looks like too little water moving, 0…1: by whichever sign speaks for it most. A burn can end
// before ΔT has come to its full height, and a burner that is too big climbs quickly too, so that each sign must be
// strong to count. What the circuit takes by what open emitters give decides where it is known.
func (s signs) short() float64 {
	shut, taken := s.balance.shut()
	return max(shut, s.littleWater()*(1-taken)) * (1 - s.balance.narrow())
}

// littleWater is the same by climb, warmed volume and ΔT.
func (s signs) littleWater() float64 {
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
		return shortUnknown // leave room for it
	}
	if !s.deltaSeen && !s.volumeSeen { // the climb alone, which a burner too big for its circuit shows as well
		most = max(most, climbAlone*clamp((s.rise-slowRise)/(fastRise-slowRise)))
	}
	return most
}

func (s signs) oversized() analyse.Cause {
	c := analyse.Cause{Cause: "oversized", Settle: "compare the boiler's least output with the heat the house takes; on a day cold enough to take it, the cycling stops"}
	c.Support = oversizedBase * (1 - s.byDemand) * (1 - s.short())
	if s.modSeen && s.modulation <= lowFire {
		c.Support *= atLowFire
		c.Because = fmt.Sprintf("the burner was at its lowest (%.0f %%) and still gave more than the circuit took", s.modulation)
	} else if s.modSeen {
		c.Support *= aboveLow
		c.Because = fmt.Sprintf("the burner was at %.0f %% modulation", s.modulation)
	} else {
		c.Because = s.stopped()
	}
	if s.riseSeen {
		c.Because += fmt.Sprintf("; the flow climbed at %.1f K/min", s.rise)
	}
	if s.lossSeen {
		c.Because += fmt.Sprintf("; its least output is %.1f times the design heat loss", s.leastOverLoss)
		if s.leastOverLoss >= strongWhenOversized {
			c.Support = max(c.Support, oversizedLeast*(1-s.byDemand)*(1-0.5*s.short())) * tooBig
		}
	}
	b := s.balance
	if b.seen && s.least.Known {
		c.Because += fmt.Sprintf("; the house wants about %.1f kW at %.0f °C outside, the burner gives %.1f kW at the least", b.weather, b.outside, float64(s.least.Value))
	}
	if b.narrow() > 0 {
		c.Because += "; with a usual differential its burns would be longer"
	}
	c.Support = clamp(c.Support * (1 - narrowTakes*b.narrow()) * max(roomyLeast, b.roomy(s.least)))
	return c
}

func (s signs) closedValves() analyse.Cause {
	c := analyse.Cause{Cause: "closed-valves", Settle: "see that the pump turns, open every radiator valve and watch one firing: if the burn becomes long, too little water was moving"}
	c.Support = clamp(valvesBase * s.short() * (1 - s.byDemand))
	c.Because = s.closedBecause()
	return c
}

func (s signs) closedBecause() string {
	var parts []string
	b := s.balance
	if r, ok := b.share(); ok && (b.exact || r >= takesSomewhat) {
		parts = append(parts, fmt.Sprintf("the circuit took %.1f kW, %.0f %% of what open emitters give at that flow temperature", b.load, r*100))
	}
	if b.longest >= ranLong {
		parts = append(parts, fmt.Sprintf("the same burner ran for %s at a stretch in such weather", analyse.Span(b.longest)))
	}
	switch {
	case s.flowSeen && s.flowShare >= 1:
		parts = append(parts, fmt.Sprintf("flow and return were %.0f K apart at the end of a burn, which speaks for water enough", s.delta))
	case s.flowSeen:
		parts = append(parts, fmt.Sprintf("flow and return were %.0f K apart at the end of a burn: at most about %.0f %% of the design water flow moves", s.delta, s.flowShare*100))
	case s.deltaSeen:
		parts = append(parts, fmt.Sprintf("flow and return were %.0f K apart at the end of a burn", s.delta))
	case !s.riseSeen:
		parts = append(parts, "the flow temperature is not known, so too little water moving cannot be ruled out")
	}
	if s.riseSeen {
		climb := fmt.Sprintf("the flow climbed at %.1f K/min", s.rise)
		if s.volumeSeen {
			climb += fmt.Sprintf(", as if no more than %.0f l of water were being warmed", s.volume)
		}
		parts = append(parts, climb)
	}
	return strings.Join(parts, "; ")
}

// stopped says what is known of why the burner stopped.
func (s signs) stopped() string {
	switch {
	case s.demandSeen:
		return "heat was still asked for when the burner stopped"
	case s.steady():
		return fmt.Sprintf("the burner stopped at the same temperature again and again, half of the times within %.1f K", s.spread)
	}
	return "why the burner stopped is not known"
}

// steady tells whether the burner stopped at the same flow again and again, as its own set-point ends a burn.
func (s signs) steady() bool { return s.spreadSeen && s.spread <= sameTop }

func (s signs) control() analyse.Cause {
	c := analyse.Cause{Cause: "control", Settle: "look at the thermostat's cycle rate and differential, and at the boiler's anti-cycle timer"}
	c.Support = clamp(controlBase*s.byDemand + controlLeast)
	switch {
	case s.demandSeen:
		c.Because = fmt.Sprintf("%.0f %% of the burns ended because heat was no longer asked for", s.byDemand*100)
	default:
		c.Because = "nothing tells when heat was asked for, so a thermostat that chops its call is not ruled out; " + s.stopped()
		if !s.steady() {
			c.Support = controlOpen
		}
	}
	b := s.balance
	if n := b.narrow(); n > 0 {
		c.Support = max(c.Support, clamp(narrowBase*n*(1-s.byDemand)))
		c.Because += fmt.Sprintf("; the burner goes off and on again within %.1f K, with pauses of %s", b.swing, analyse.Span(b.pause))
		if b.pause < noPause {
			c.Because += ": no anti-cycle time holds it back"
		}
		if b.stretched >= shortBurn {
			c.Because += fmt.Sprintf("; at a usual differential of %.0f K burns of %s would last about %s", usualDifferential, analyse.Span(b.on), analyse.Span(b.stretched))
		}
	}
	if s.modSeen && s.modulation > 2*lowFire && s.byDemand < 0.5 && !s.fixed {
		c.Support = clamp(c.Support + runsIn*(1-s.short()))
		c.Because += fmt.Sprintf("; the burner ran into its set-point at %.0f %% modulation instead of turning down", s.modulation)
	}
	return c
}

func clamp(v float64) float64 { return min(1, max(0, v)) }
