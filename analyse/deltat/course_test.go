package deltat_test

import (
	"fmt"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/deltat"
	"tundish/decode/unit"
)

// Rooms that warm up in the course of a day take less heat at the same water temperatures, and ΔT falls with it. Where
// only the emitters tell the heat that is no growing water flow, and no bypass.
func TestCourseWantsTheOutput(t *testing.T) {
	known := onOff
	unknown := analyse.Plant{DesignFlow: analyse.Some[unit.Celsius](70), DesignReturn: analyse.Some[unit.Celsius](50), HotWater: analyse.NoHotWater}
	script := "0:00 flame 0 flow 65 return 60\n"
	for day := range 3 {
		for i, d := range []int{8, 7, 5, 4} {
			script += analysetest.Repeat(at(24*day+6+3*i), 1, time.Hour, hour(fmt.Sprintf("flow 65 return %d", 65-d)))
		}
	}
	for _, c := range []struct {
		plant analyse.Plant
		first string
	}{{known, "bypass-open"}, {unknown, "pump-too-fast"}} {
		r := analysetest.Run(t, analysetest.Case{Script: script + "72:00 flame 0", Plant: c.plant, Step: 20 * time.Second}, deltat.Low())
		f := analysetest.Finding(r, "low-delta-t")
		if f == nil {
			t.Fatalf("not found: %s", analysetest.Outcome(t, r, "low-delta-t").Because)
		}
		if f.Causes[0].Cause != c.first {
			t.Errorf("first is %s, want %s: %s", f.Causes[0].Cause, c.first, f.Causes[0].Because)
		}
	}
}
