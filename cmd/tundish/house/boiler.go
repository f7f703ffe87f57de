package house

import (
	"time"

	"tundish/analyse/episode"
)

const (
	// sensorTau is the lag of the boiler's own flow and return sensors, s. Own assumption.
	sensorTau = 6.0
	// gainKWK and resetS are the flow-temperature controller's gain, kW/K, and integral time, s. Own assumptions.
	gainKWK, resetS = 0.25, 60.0
	// settleTime is how long after lighting the burner stays at its ignition output. Own assumption.
	settleTime = 10 * time.Second
	// hotGainKWK and hotResetS are the same in hot-water mode, where the water changes faster. Own assumptions.
	hotGainKWK, hotResetS = 0.6, 30.0
	// throttleKWSK is how fast each K of spread above its limit takes output away, kW/(s·K). Own assumption.
	throttleKWSK = 0.0015
	// limitBackK is how far the flow must fall below its limit before the burner may start again. Own assumption.
	limitBackK = 8.0
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

// asked is what is wanted of the boiler in one second.
type asked struct {
	powered           bool
	heating, hotWater bool
	heatingSP         float64 // °C
	hotWaterSP        float64 // °C of flow
	outside           float64
}

// boiler is the appliance: mode, burner wish, output, pump, fault, counters.
type boiler struct {
	spec *BoilerSpec
	burner
	mode      mode
	modeSince time.Duration

	flowSensor, retSensor float64
	setpoint              float64
	want, limited         bool
	why                   episode.End // why the burner was last told to stop
	offAt                 time.Duration
	integral, capKW       float64 // kW; controller's memory, ceiling that the spread leaves
	outputKW              float64
	overrunTo             time.Duration
	overrunRoute          route

	resetAt  time.Duration
	resetHow episode.Reset
	flags    uint8 // fault flags of data id 5
	cause    string

	starts, failed, flameLosses uint16 // since the scenario's start
	burnerS                     int    // s of flame
}

const never = -1 << 40 * time.Nanosecond

func newBoiler(s *BoilerSpec, t0 float64) boiler {
	return boiler{spec: s, burner: burner{spec: s}, flowSensor: t0, retSensor: t0, offAt: never, overrunTo: never}
}

// locked tells that the boiler is in lockout.
func (b *boiler) locked() bool { return b.phase == phaseLocked }

// step decides for the second that begins now. It returns what the burner did.
func (b *boiler) step(now time.Duration, a asked, f *faults) happened {
	b.choose(now, a)
	b.wish(now, a)
	h := b.burner.step(now, b.want, a.outside, f)
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
	if h.locked {
		b.lock(now, h, f)
	}
	b.modulate(now)
	return h
}

// choose picks the mode: hot water first.
func (b *boiler) choose(now time.Duration, a asked) {
	m := modeIdle
	switch {
	case !a.powered:
	case a.hotWater:
		m = modeHotWater
	case a.heating:
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
		if m == modeHotWater {
			b.why = episode.EndHotWater
		}
	}
	b.mode, b.modeSince = m, now
}

// wish is the burner thermostat: hysteresis about the set-point, anti-cycle time, upper limit.
func (b *boiler) wish(now time.Duration, a asked) {
	switch b.mode {
	case modeIdle:
		b.want = false
		return
	case modeHotWater:
		b.setpoint = a.hotWaterSP
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
	case b.want && b.flowSensor > b.setpoint+b.spec.HystOffK:
		b.want, b.why = false, episode.EndSetpoint
	case !b.want && !b.limited && b.flowSensor < b.setpoint-b.spec.HystOnK:
		b.want = b.mode == modeHotWater || now >= b.offAt+b.spec.AntiCycle
	}
}

func (b *boiler) ceiling() float64 {
	if b.mode == modeHeating {
		return b.spec.HeatingMaxKW
	}
	return b.spec.OutputMaxKW
}

// modulate sets the output of the second, kW.
func (b *boiler) modulate(now time.Duration) {
	if !b.flame() {
		b.outputKW = 0
		return
	}
	b.burnerS++
	low, high := b.spec.OutputMinKW, b.ceiling()
	b.capKW += throttleKWSK * (b.spec.SpreadLimitK - (b.flowSensor - b.retSensor))
	b.capKW = min(max(b.capKW, low), high)
	if b.phase == phaseFail || now-b.litAt < settleTime {
		b.outputKW = b.spec.IgnitionKW
		return
	}
	gain, reset := gainKWK, resetS
	if b.mode == modeHotWater {
		gain, reset = hotGainKWK, hotResetS
	}
	e := b.setpoint - b.flowSensor
	u := gain*e + b.integral
	b.outputKW = min(max(u, low), b.capKW)
	if u == b.outputKW || (u > b.outputKW) != (e > 0) { // no wind-up against a stop
		b.integral += gain * e / reset
	}
}

// sense lets the sensors follow the water by one second.
func (b *boiler) sense(flow, ret float64) {
	b.flowSensor += (flow - b.flowSensor) / sensorTau
	b.retSensor += (ret - b.retSensor) / sensorTau
}

// pump tells where the water goes in this second.
func (b *boiler) pump(now time.Duration, powered bool, hot HotWaterKind) route {
	switch {
	case !powered:
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

// Fault flags of data id 5 (OpenTherm Protocol Specification v2.2, 5.3.1).
const (
	flagResetAllowed = 1 << 1
	flagGasFlame     = 1 << 3
)

func (b *boiler) lock(now time.Duration, h happened, f *faults) {
	b.want = false
	b.flags = flagResetAllowed | flagGasFlame
	b.cause = "ignition"
	if h.lost {
		b.cause = "flame-loss"
	}
	after, how := f.reset()
	b.resetAt, b.resetHow = now+after, how
}

// reset ends a lockout.
func (b *boiler) reset(now time.Duration) {
	b.burner.reset(now)
	b.flags, b.cause = 0, ""
	b.offAt = never
}

// modulation is data id 17: 0 % least output, 100 % greatest (OpenTherm Protocol Specification v2.2, 5.3.4).
func (b *boiler) modulation() float64 {
	if b.outputKW == 0 {
		return 0
	}
	return 100 * (b.outputKW - b.spec.OutputMinKW) / (b.spec.OutputMaxKW - b.spec.OutputMinKW)
}
