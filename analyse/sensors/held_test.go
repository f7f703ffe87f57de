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

// Burns of three quarters of a minute every four minutes on little water: the flow swings by 16 K, and emitters keep the
// return even. Told in steps of 1/8 K it stands for hours, and is not stuck; nor is it where it is read alone.
func TestEvenReturn(t *testing.T) {
	burning := func(s int) bool { return heated(s) && s%240 < 45 }
	swings := func(s int) float64 {
		switch x := float64(s % 240); {
		case !heated(s) || s%dayS < 7*h:
			return flow(s)
		case x < 45:
			return 30 + 16*x/45
		default:
			return 46 - 16*(x-45)/195
		}
	}
	even := func(s int) float64 {
		if !heated(s) || s%dayS < 7*h {
			return ret(s)
		}
		return 27.41
	}
	boiler := []signal{{"boiler/flame", 2, onOff(burning)}, {"boiler/flow", 5, always(steps(0.125, swings))}, {"boiler/return", 5, always(steps(0.125, even))}}
	for _, x := range []home{{days: 1, signals: boiler, plant: dry},
		{days: 1, signals: append(boiler, signal{"probes/return", 5, strapped(even, 20, 0.02, 0, 1)}), plant: dry}} {
		want(t, x.judge(t), "sensor-fault", analyse.Clear, "")
	}
}
