package circulation_test

import (
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/circulation"
)

// Hot water amid firings that move no water clears the pump. Through a cylinder's coil it also shows that only the
// heating's way is shut; at an instantaneous appliance it goes round inside the casing and says nothing of the pipes.
func TestHotWaterAmidStandingWater(t *testing.T) {
	script := "0:00 flame 0 heat-demand 1 hot-water-active 0 flow 30 return 20 flow-setpoint 78 modulation 0\n" +
		analysetest.Repeat("0:10", 12, 20*time.Minute, still) +
		analysetest.Repeat("4:05", 1, time.Hour, "0:00 hot-water-active 1\n"+moving+"\n0:55 hot-water-active 0 return 20") +
		analysetest.Repeat("5:05", 12, 20*time.Minute, still) + "10:00 flame 0"
	for _, c := range []struct {
		water analyse.HotWaterKind
		first string
	}{{analyse.CylinderHotWater, "closed-valves"}, {analyse.InstantaneousHotWater, "air-lock"}} {
		pl := plant
		pl.HotWater = c.water
		r := analysetest.Run(t, analysetest.Case{Script: script, Plant: pl}, circulation.Check())
		f := analysetest.Finding(r, "no-circulation")
		if f == nil {
			t.Fatalf("%v: not found: %s", c.water, analysetest.Outcome(t, r, "no-circulation").Because)
		}
		for _, x := range f.Causes {
			if x.Cause == "pump" && x.Support > 0.3 {
				t.Errorf("%v: the pump moved the hot water's, and has %.2f: %s", c.water, x.Support, x.Because)
			}
		}
		if f.Causes[0].Cause != c.first {
			t.Errorf("%v: first is %s, %s", c.water, f.Causes[0].Cause, f.Causes[0].Because)
		}
	}
}
