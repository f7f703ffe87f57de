package demand

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

// What tells the causes apart. The weights below are own proposals.
const (
	fullOutput  = 85.0             // % modulation from which a burner gives all it has. Own proposal
	restless    = 0.9              // share of the demand with a flame from which the burner never rested. Own proposal
	steadyFlow  = 2.0              // K between the first and the last hour: the flow stands still. Own proposal
	mildLoad    = 0.6              // of the design load by the weather: a plant of its size is not short of output there. Own proposal
	wideDelta   = 1.3              // × design ΔT: too little water takes the output. Own proposal
	sameWaits   = 10 * time.Minute // rests that differ by no more are one timer's. Own proposal
	leastWaits  = 3
	afterFiring = 20 * time.Minute // a rest that begins so soon after a firing can be a wait for the next. Own proposal
)

type causes []analyse.Cause

func (c *causes) add(cause string, support float64, settle, because string, args ...any) {
	*c = append(*c, analyse.Cause{Cause: cause, Support: support, Because: fmt.Sprintf(because, args...), Settle: settle})
}

func weigh(p *analyse.Pass, u unmet) []analyse.Cause {
	var c causes
	if len(u.idle) > 0 {
		c.ofRest(p, u.idle)
	} else {
		c.ofCold(p, longest(u.cold))
	}
	slices.SortStableFunc(c, func(a, b analyse.Cause) int { return -cmp.Compare(a.Support, b.Support) })
	return c
}

const gasWork = "; what is behind the boiler's case is work for a registered gas engineer"

// ofRest weighs why the burner rested.
func (c *causes) ofRest(p *analyse.Pass, idle []episode.Unmet) {
	tries, still, bySecond := 0, time.Duration(0), 0
	asked, _ := sum(idle)
	for _, x := range idle {
		tries += x.Tries
		still += x.PumpOff
		if x.Apart != [2]float64{} {
			bySecond++
		}
	}
	n := failed(p, idle)
	interlock := "measure at the boiler's external contacts and links (room thermostat, underfloor limiter, window or pressure switch) while it happens, isolated from the mains by a competent person"
	sensor := "compare the boiler's own flow reading with a thermometer on the same pipe; a sensor that reads hot is changed by a registered gas engineer"
	switch {
	case 2*bySecond > len(idle):
		c.add("sensor-reads-high", 0.85, sensor, "by the boiler's own sensor the flow is near its set-point, by a second one it is at %.0f °C: control thinks the water hot enough, and the two stay %.0f K apart", longest(idle).Flow, longest(idle).Apart[1])
		c.add("interlock", 0.2, interlock, "the burner rests though the water is cold")
		return
	case tries+n > 0:
		c.add("ignition", 0.75, "see the ignition sequence and the gas supply; do not press reset again and again"+gasWork, "%s to light did not hold while heat was asked for, and no fault was shown", analyse.Count(max(tries, n), "attempt"))
	case waits(p, idle):
		c.add("anti-cycle-time", 0.75, "read the anti-cycle time that is set, by the maker's instructions", "%d rests of much the same length, each soon after a firing and ended by the next: that is a timer", len(idle))
	}
	support := 0.6
	because := "heat was asked for, nothing was tried and no fault was shown: something holds the burner off"
	if tries+n > 0 || waits(p, idle) {
		support = 0.3
	}
	if still > asked/2 {
		support += 0.05
		because += ", and the pump stood too"
	}
	c.add("interlock", support, interlock, "%s", because)
	c.add("control", support-0.15, "see what the boiler's display says while it happens: summer or holiday mode, a blocking time, an outside cut-off or a status code", "a setting of the boiler's own (season, blocking time, outside cut-off) holds it off in the same way")
	if tries+n == 0 {
		c.add("ignition", 0.15, "see whether gas is on and other appliances burn"+gasWork, "no try to light was seen, but tries without any flame show in the appliance's counter only")
	}
	if !p.Has(decode.Fault) {
		c.add("lockout", 0.5, "read the appliance's display, or its bus", "no fault signal is in the record: a lockout looks the same")
	}
}

// failed counts the attempts that failed in the stretches.
func failed(p *analyse.Pass, list []episode.Unmet) (n int) {
	for _, a := range p.Facts.Attempts {
		if slices.ContainsFunc(list, func(x episode.Unmet) bool { return x.Contains(a.At) }) {
			n++
		}
	}
	return n
}

// waits tells whether the rests are of one length, each between two firings.
func waits(p *analyse.Pass, idle []episode.Unmet) bool {
	if len(idle) < leastWaits {
		return false
	}
	low, high := idle[0].Asked, idle[0].Asked
	for _, x := range idle {
		low, high = min(low, x.Asked), max(high, x.Asked)
		after := slices.ContainsFunc(p.Facts.Firings, func(f episode.Firing) bool {
			d := x.From.Sub(f.To)
			return d >= 0 && d <= afterFiring
		})
		if !after {
			return false
		}
	}
	return high-low <= sameWaits
}

// ofCold weighs why the flow never neared its set-point.
func (c *causes) ofCold(p *analyse.Pass, x episode.Unmet) {
	burnt := x.Fired.Seconds() / max(1, x.Asked.Seconds())
	rise := x.FlowLast - x.FlowFirst
	load, loadSeen := weatherLoad(p, x)
	p.Measured("the longest stretch", "burner on for %.0f %% of it, flow %.1f °C in the first hour and %.1f °C in the last, set-point %.0f °C", 100*burnt, x.FlowFirst, x.FlowLast, x.Setpoint)
	if x.ModSeen {
		p.Measured("modulation", "%.0f %% while it burned", x.Modulation)
	}
	if loadSeen {
		p.Measured("load by the weather", "%.0f %% of the design load", 100*load)
	}
	size := "hold the heat loss of the house against the output that the appliance gives in such weather, by the maker's data"
	if p.Plant.Kind == "heat-pump" {
		size += "; look too whether its evaporator is clean and ice-free"
	}
	full := p.Plant.Kind == "heat-pump" && burnt >= 0.8 || !x.ModSeen && burnt >= restless || x.ModSeen && x.Modulation >= fullOutput && burnt >= 0.7
	design, designSeen := p.Plant.DesignDeltaT()
	wide := designSeen && x.DeltaSeen && x.Delta > wideDelta*float64(design)
	limit := "read the heating output and the flow limit that are set, by the maker's instructions, and what the controller allows"
	switch {
	case wide:
		c.add("low-flow", 0.75, "see pump, strainer and valves: too little water moves", "flow less return was %.0f K, the design has %.0f K: the heat is not taken away, and the boiler throttles", x.Delta, float64(design))
		c.add("output-too-small", 0.3, size, "burner on for %.0f %% of the time", 100*burnt)
	case full && loadSeen && load < mildLoad:
		c.add("heat-elsewhere", 0.6, "feel the pipes to other circuits and to the cylinder: a valve that stands open takes heat; and hold the set-point against the heating curve", "the burner gives all it has in weather that takes %.0f %% of the design load: more heat goes than the house should take", 100*load)
		c.add("output-too-small", 0.45, size, "all output was in use for %s", analyse.Span(x.Asked))
	case full:
		c.add("output-too-small", 0.8, size, "the appliance ran for %.0f %% of the time with all it has, and the flow stood at %.0f °C", 100*burnt, x.Flow)
		c.add("heat-elsewhere", 0.3, "feel the pipes to other circuits and to the cylinder: a valve that stands open takes heat", "heat that goes elsewhere looks the same")
	case burnt >= restless && x.ModSeen:
		c.add("output-limited", 0.75, limit, "the burner never rested, but at %.0f %% of its range: it is held below what it could give", x.Modulation)
		c.add("output-too-small", 0.4, size, "where the modulation is told as a share of rated output, this may be all it has")
	case burnt < restless && rise < steadyFlow:
		c.add("flow-limited", 0.65, limit, "the burner rested by itself for %.0f %% of the time with the flow at %.0f °C: a limit of its own lies below the set-point that is asked for", 100*(1-burnt), x.Flow)
		c.add("control", 0.4, limit, "control does not follow the set-point that is asked for")
	default:
		c.add("output-too-small", 0.4, size, "burner on for %.0f %% of the time", 100*burnt)
		c.add("control", 0.35, limit, "control does not follow the set-point that is asked for")
	}
	if x.Ceiling < fullOutput {
		c.add("modulation-ceiling", 0.7, limit, "the controller allowed no more than %.0f %% of the output", x.Ceiling)
	}
	if p.Plant.Kind != "heat-pump" && rise >= steadyFlow {
		c.add("warm-up", 0.25, "see whether it gets there on another day", "the flow still rose by %.1f K: a very cold house takes long", rise)
	}
}

// weatherLoad is the share of the design load that the weather makes, by inside and outside design.
func weatherLoad(p *analyse.Pass, x episode.Unmet) (share float64, ok bool) {
	in, out := p.Plant.InsideDesign, p.Plant.OutsideDesign
	if !x.OutSeen || !in.Known || !out.Known || in.Value <= out.Value {
		return 0, false
	}
	return (float64(in.Value) - x.Outside) / float64(in.Value-out.Value), true
}
