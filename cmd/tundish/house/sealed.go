package house

import "time"

const (
	// reseatBar is how far the pressure falls before a safety valve that lifted is shut again, bar. Own assumption.
	reseatBar = 0.3
	// reliefLps is what a lifted safety valve passes, l/s: it drips and spurts far below what it could. Own assumption.
	reliefLps = 0.05
	// fillLps is what a filling loop lets in, l/s. Own assumption.
	fillLps = 0.1
	// hotLeakC is the flow temperature above which a leak that only shows hot loses water, °C. Own assumption.
	hotLeakC = 50.0
	// emptyBar is the pre-charge at which a vessel counts as without gas, bar: the least that the sum stays finite
	// with. Own assumption.
	emptyBar = -0.95
)

// sealed is the water of the closed system and the vessel that takes its swelling.
type sealed struct {
	spec    *VesselSpec
	faults  *FaultSpec
	litres  float64 // at filling
	extra   float64 // let in less lost since then, l at filling temperature
	lost    float64 // of the pre-charge, bar
	bar     float64 // gauge
	lifted  bool    // the safety valve
	filling float64 // bar that a person fills to; 0: nobody does
	done    int     // refills begun
	let     bool    // water came in for the present one
}

func newSealed(s *Scenario, kg, t float64) sealed {
	w := sealed{spec: &s.Vessel, faults: &s.Faults, litres: kg / Density(fillTemperature) * 1000}
	w.bar = w.pressure(t)
	return w
}

func (w *sealed) charge() charge {
	c := w.spec.charged()
	c.precharge = max(emptyBar, c.precharge-w.lost)
	return c
}

func (w *sealed) pressure(t float64) float64 {
	return w.charge().pressure(w.spec.gas(w.litres, w.extra, fillTemperature, t))
}

// step moves the system by one second; t is the mean temperature of its water, flow that of the flow pipe, °C. It
// tells whether a person began to let water in.
func (w *sealed) step(now time.Duration, t, flow float64) (refilled bool) {
	const dayS = 86400.0
	for _, p := range w.faults.Precharge {
		if p.contains(now) {
			w.lost += p.BarPerDay / dayS
		}
	}
	for _, l := range w.faults.Leak {
		if l.contains(now) && (!l.HotOnly || flow > hotLeakC) {
			w.extra -= l.LPerDay / dayS
		}
	}
	refilled = w.refill(now, t)
	w.bar = w.pressure(t)
	w.relieve(t)
	return refilled
}

// refill lets water in once the time of a planned refill has come, until the pressure is what the person wants.
func (w *sealed) refill(now time.Duration, t float64) (begun bool) {
	for w.done < len(w.faults.Refills) && now >= w.faults.Refills[w.done].At {
		w.filling, w.let = min(w.faults.Refills[w.done].ToBar, w.spec.relief()-reseatBar), false
		w.done++
	}
	if w.filling == 0 {
		return false
	}
	need := w.until(w.filling, t)
	if need <= fillLps { // the person is content and shuts the valves
		w.filling = 0
	}
	if need <= 0 {
		return false
	}
	w.extra += min(need, fillLps)
	begun, w.let = !w.let, true
	return begun
}

// until is the water to let in for a pressure, l at filling temperature; less than 0: to let out.
func (w *sealed) until(bar, t float64) float64 {
	swell := Density(fillTemperature) / Density(t)
	return (w.spec.gas(w.litres, w.extra, fillTemperature, t) - w.charge().gasAt(bar)) / swell
}

// relieve is the safety valve: it lifts at its set pressure and shuts some tenths lower.
func (w *sealed) relieve(t float64) {
	if w.bar >= w.spec.relief() {
		w.lifted = true
	}
	if !w.lifted {
		return
	}
	over := -w.until(w.spec.relief()-reseatBar, t)
	if over <= reliefLps {
		w.lifted = false
	}
	w.extra -= min(max(over, 0), reliefLps)
	w.bar = w.pressure(t)
}
