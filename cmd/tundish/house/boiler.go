package house

import (
	"time"

	"tundish/analyse/episode"
)

const (
	// hotWaterOverrun keeps the pump on the coil after a reheat, to save the heat in the exchanger. Own assumption.
	hotWaterOverrun = time.Minute
)

// mode is what the boiler is working for.
type mode uint8

const (
	modeIdle mode = iota
	modeHeating
	modeHotWater
)

// asked is what is wanted of the boiler in one second, and what it finds.
type asked struct {
	powered           bool
	heating, hotWater bool
	heatingSP         float64 // °C
	hotWaterSP        float64 // °C of flow
	outside           float64 // °C
	pressure          float64 // bar gauge; looked at only where the boiler has a least pressure
}

// boiler is the appliance: mode, burner wish, output, pump, limits, fault, counters. A heat pump is one too: its
// compressor stands where the burner does.
type boiler struct {
	spec *BoilerSpec
	burner
	controller
	limits
	mode      mode
	modeSince time.Duration
	frost     bool // its own frost protection is at work

	setpoint     float64
	want         bool
	why          episode.End // why the burner was last told to stop
	offAt        time.Duration
	overrunTo    time.Duration
	overrunRoute route

	lockout

	starts, failed, flameLosses uint16 // since the scenario's start
	burnerS                     int    // s of flame, or of the compressor running
}

const never = -1 << 40 * time.Nanosecond

func newBoiler(s *BoilerSpec, t0 float64) boiler {
	return boiler{spec: s, burner: burner{spec: s}, controller: newController(s, t0), limits: limits{restTo: never},
		offAt: never, overrunTo: never}
}

// locked tells that the boiler is in lockout.
func (b *boiler) locked() bool { return b.phase == phaseLocked }

// step decides for the second that begins now. It returns what the burner did.
func (b *boiler) step(now time.Duration, a asked, f *faults) happened {
	b.choose(now, a)
	b.wish(now, a)
	b.look(now, a, f)
	h, tripped := b.trip(now, a, f)
	if !tripped {
		h = b.burner.step(now, b.want, a.outside, f)
		switch {
		case h.locked && h.lost:
			b.lock(now, episode.CauseFlameLoss, f)
		case h.locked:
			b.lock(now, episode.CauseIgnition, f)
		}
	}
	switch {
	case h.lit:
		b.starts++
		b.integral, b.capKW = b.spec.OutputMinKW, b.ceiling()
	case h.out:
		b.offAt = now
	case h.failed:
		b.failed++
	case h.lost:
		b.flameLosses++
		b.offAt = now
	}
	b.modulate(now, a.outside)
	return h
}

// choose picks the mode: hot water first, frost protection last. A heat pump's least running time holds the mode.
func (b *boiler) choose(now time.Duration, a asked) {
	m := modeIdle
	b.frost = a.powered && b.cold()
	switch {
	case !a.powered:
	case b.held(now):
		m = b.mode
	case a.hotWater:
		m = modeHotWater
	case a.heating || b.frost:
		m = modeHeating
	}
	if m == b.mode {
		return
	}
	switch b.mode {
	case modeHeating:
		b.overrunTo, b.overrunRoute = now+b.spec.Overrun, routeHeating
	case modeHotWater:
		b.overrunTo, b.overrunRoute = now+hotWaterOverrun, routeCoil
	}
	if b.want { // a change of mode puts the flame out; it lights again for the new one
		b.want, b.why = false, episode.EndDemand
		switch {
		case m == modeHotWater:
			b.why = episode.EndHotWater
		case !a.powered && (a.heating || a.hotWater):
			b.why = episode.EndUnknown // the mains went: none of the reasons a boiler has
		}
	}
	b.mode, b.modeSince = m, now
}

// wish is the burner thermostat: hysteresis about the set-point, anti-cycle time, upper limits.
func (b *boiler) wish(now time.Duration, a asked) {
	switch {
	case b.mode == modeIdle:
		b.want = false
		return
	case b.mode == modeHotWater:
		b.setpoint = a.hotWaterSP
	case b.frost && !a.heating && !b.held(now):
		b.setpoint = b.spec.FrostC + frostBackK
	default:
		b.setpoint = min(a.heatingSP, b.spec.FlowLimitC)
	}
	if b.flowSensor < b.spec.FlowLimitC-limitBackK {
		b.limited = false
	}
	if b.modeSince == now {
		return // one second of rest between modes
	}
	switch {
	case b.want && b.flowSensor > b.spec.FlowLimitC:
		b.want, b.limited, b.why = false, true, episode.EndLimit
	case b.want && b.standing():
		b.want, b.restTo, b.why = false, now+standingRest, episode.EndLimit
	case b.want && b.flowSensor > b.setpoint+b.spec.HystOffK && !b.held(now):
		b.want, b.why = false, episode.EndSetpoint
	case !b.want && !b.limited && now >= b.restTo && b.flowSensor < b.setpoint-b.spec.HystOnK:
		b.want = b.rested(now)
	}
}

// rested tells whether the burner may start again. A boiler lets hot water pass the anti-cycle time by, a compressor
// cannot.
func (b *boiler) rested(now time.Duration) bool {
	return b.mode == modeHotWater && b.spec.Kind != HeatPump || now >= b.offAt+b.spec.AntiCycle
}

// pump tells where the water goes in this second.
func (b *boiler) pump(now time.Duration, powered bool, hot HotWaterKind) route {
	switch {
	case !powered || b.short:
		return routeNone
	case b.locked():
		if now < b.since+b.spec.Overrun {
			return routeHeating
		}
		return routeNone
	case b.mode == modeHeating:
		return routeHeating
	case b.mode == modeHotWater:
		return hot.route()
	case now < b.overrunTo && b.overrunRoute == routeCoil:
		return hot.route()
	case now < b.overrunTo:
		return b.overrunRoute
	}
	return routeNone
}
