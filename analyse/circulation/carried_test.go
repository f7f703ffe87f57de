package circulation_test

import (
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/circulation"
)

// A flow sensor that reads 45 K too hot. The burner lights for a quarter of a minute at a time, and the pump carries its
// heat away: 15 l/min renew an exchanger of 2 l within 8 s, so that the reading is back where it began. Where the same
// heat stays in the exchanger, no water moves.
func TestSensorTooHot(t *testing.T) {
	const (
		burn  = "\n0:00 flame 1 flow 58 return 14\n0:00:07 flow 62\n0:00:14 flow 66 flame 0\n"
		moved = burn + "0:00:24 flow 60\n0:00:40 flow 58\n0:02 flow 58\n0:04 flow 58\n0:07 flow 58"
		stood = burn + "0:00:24 flow 66\n0:00:40 flow 66\n0:02 flow 65\n0:04 flow 63\n0:07 flow 60"
	)
	for course, found := range map[string]bool{moved: false, stood: true} {
		script := "0:00 flame 0 heat-demand 1 flow 58 return 14 flow-setpoint 65\n" + analysetest.Repeat("0:10", 12, 9*time.Minute, course) + "\n2:30 flame 0"
		r := analysetest.Run(t, analysetest.Case{Script: script, Plant: plant}, circulation.Check())
		if got := analysetest.Outcome(t, r, "no-circulation"); (got.Outcome == analyse.Found) != found {
			t.Errorf("found wanted %v: %v: %s", found, got.Outcome, got.Because)
		}
	}
}
