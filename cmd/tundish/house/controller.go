package house

import "time"

const (
	// sensorTauUsual is the usual lag of a boiler's own flow and return sensors, s. Own assumption.
	sensorTauUsual = 6.0
	// gainUsual and resetUsual are the flow-temperature controller's usual gain, kW/K, and integral time, s. Own
	// assumptions.
	gainUsual, resetUsual = 0.25, 60.0
	// settleTime is how long after lighting the burner stays at its ignition output. Own assumption.
	settleTime = 10 * time.Second
	// hotGainKWK and hotResetS are the same in hot-water mode, where the water changes faster. Own assumptions.
	hotGainKWK, hotResetS = 0.6, 30.0
	// throttleKWSK is how fast each K of spread above its limit takes output away, kW/(s·K). Own assumption.
	throttleKWSK = 0.0015
)

// controller is the control of the output: own sensors, PI on the flow temperature, ceiling that the spread leaves.
type controller struct {
	tau, gainKWK, resetS  float64 // lag, s; kW/K; s
	flowLag, retLag       float64 // °C, behind the water
	flowSensor, retSensor float64 // °C, as control and bus see them
	integral, capKW       float64 // kW; controller's memory, ceiling
	outputKW              float64 // into the water; below 0 while a heat pump defrosts
}

func newController(s *BoilerSpec, t0 float64) controller {
	return controller{tau: orUsual(s.SensorTauS, sensorTauUsual), gainKWK: orUsual(s.GainKWK, gainUsual),
		resetS: orUsual(s.ResetS, resetUsual), flowLag: t0, retLag: t0, flowSensor: t0, retSensor: t0}
}

// orUsual is v, or the usual where v is not given.
func orUsual(v, usual float64) float64 {
	if v == 0 {
		return usual
	}
	return v
}

// ceiling is the greatest output of the present mode, kW.
func (b *boiler) ceiling() float64 {
	if b.mode == modeHeating && b.spec.HeatingMaxKW > 0 {
		return b.spec.HeatingMaxKW
	}
	return b.spec.OutputMaxKW
}

// modulate sets the output of the second, kW.
func (b *boiler) modulate(now time.Duration, outside float64) {
	if !b.running() {
		b.outputKW = 0
		return
	}
	b.burnerS++
	low, high := b.spec.OutputMinKW, b.ceiling()
	switch {
	case b.spec.Kind == OnOffBoiler:
		b.outputKW = b.spec.OutputMaxKW
		return
	case b.spec.Kind == HeatPump && now < b.defrostTo:
		b.outputKW = -defrostShare * b.spec.OutputMaxKW
		return
	case b.spec.Kind == HeatPump:
		high = b.spec.capacityKW(outside, b.flowSensor)
		low = min(low, high)
	}
	if b.spec.SpreadLimitK > 0 {
		b.capKW += throttleKWSK * (b.spec.SpreadLimitK - b.spread())
	}
	b.capKW = min(max(b.capKW, low), high)
	if b.phase == phaseFail || now-b.litAt < settleTime {
		b.outputKW = orUsual(b.spec.IgnitionKW, low)
		return
	}
	gain, reset := b.gainKWK, b.resetS
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

// sense lets the sensors follow the water by one second, ailing or not. exchanger is the water that the limiter feels,
// flow and ret the water where the sensors sit, °C.
func (b *boiler) sense(now time.Duration, exchanger, flow, ret float64, f *faults) {
	before := b.flowSensor
	b.flowLag += (flow - b.flowLag) / b.tau
	b.retLag += (ret - b.retLag) / b.tau
	b.flowSensor = f.sensor(now, false, b.flowLag)
	b.retSensor = f.sensor(now, true, b.retLag)
	b.exchanger = exchanger
	b.count(b.flowSensor-before, b.running())
}

// modulation is data id 17: 0 % least output, 100 % greatest (OpenTherm Protocol Specification v2.2, 5.3.4).
func (b *boiler) modulation() float64 {
	span := b.spec.OutputMaxKW - b.spec.OutputMinKW
	switch {
	case b.outputKW <= 0:
		return 0
	case span <= 0 || b.spec.Kind == OnOffBoiler:
		return 100
	}
	return 100 * (b.outputKW - b.spec.OutputMinKW) / span
}
