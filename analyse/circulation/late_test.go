package circulation_test

import (
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/circulation"
	"tundish/decode/unit"
)

// A big burner of one output on a cold start: 27 kW for 215 s over 41 K are 27·215/(4.11·41) = 34 l (V·ρ·c, ρ·c at
// 60 °C by IAPWS-IF97), more than any exchanger holds, so that water moved. 226 l at 14 l/min need 16 min to come
// round, and the call was over before. With the same course 5 kW would have warmed 6 l: an exchanger alone.
func TestReturnOnlyLate(t *testing.T) {
	const late = `
	0:00 heat-demand 1 flame 1 flow 24 return 24
	0:00:30 flow 37
	0:01 flow 45
	0:02 flow 55
	0:03:30 flow 65
	0:03:35 flame 0 heat-demand 0
	0:06 flow 60
	0:20 flow 40
	0:40 flow 26`
	script := "0:00 flame 0 heat-demand 0 flow 24 return 24 flow-setpoint 78\n" + analysetest.Repeat("0:10", 2, time.Hour, late) + "2:30 flame 0"
	for kw, found := range map[unit.KW]bool{27: false, 5: true} {
		pl := plant
		pl.OutputMin, pl.OutputMax = analyse.Some(kw), analyse.Some(kw)
		r := analysetest.Run(t, analysetest.Case{Script: script, Plant: pl}, circulation.Check())
		if got := analysetest.Outcome(t, r, "no-circulation"); (got.Outcome == analyse.Found) != found {
			t.Errorf("%v kW: %v: %s", kw, got.Outcome, got.Because)
		}
	}
}
