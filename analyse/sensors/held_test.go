package sensors_test

import (
	"testing"

	"tundish/analyse"
)

// A modulating boiler holds its set-point for hours while the return of a cold house climbs: told in steps of 0.5 or 1 K,
// the flow reads one value, and is not stuck.
func TestHeldByControl(t *testing.T) {
	const days = 2
	climbing := func(s int) float64 { // from 6:00 on, up by 22 K within 8 h
		x := float64(s%dayS-6*h) / (8 * h)
		if x < 0 || s%dayS >= 22*h {
			return ret(s)
		}
		return 35 + 22*min(1, x)
	}
	held := func(s int) float64 {
		if s%dayS < 6*h || s%dayS >= 22*h {
			return flow(s)
		}
		return 70.2
	}
	burning := func(s int) bool { return s%dayS >= 6*h && s%dayS < 22*h }
	for _, k := range []float64{0.5, 1} {
		r := home{days: days, signals: []signal{{"boiler/flame", 2, onOff(burning)}, {"boiler/flow", 5, always(steps(k, held))}, {"boiler/return", 5, always(steps(k, climbing))}}, plant: dry}.judge(t)
		want(t, r, "sensor-fault", analyse.Clear, "")
	}
}
