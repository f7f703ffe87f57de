package circulation_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/circulation"
	"tundish/decode/unit"
)

// A flow sensor that reads 45 K too hot, read in steps of half a kelvin: the burner lights for a quarter of a minute and
// the flow rises by 3 K, too little for one firing to tell. Together they do: nothing of it is left after two minutes.
// The first two firings began with an exchanger that stood in a cold place, and warmed to what flows in the pipes.
func TestSensorTooHotInSmallSteps(t *testing.T) {
	const (
		first = "\n0:00 flame 1 flow 53 return 15\n0:00:10 flow 58\n0:00:20 flow 64 flame 0\n0:01 flow 60.5\n0:02 flow 60\n0:05 flow 60\n0:30 flow 53"
		moved = "\n0:00 flame 1 flow 59.5 return 14.5\n0:00:10 flow 61.5\n0:00:16 flow 62.5 flame 0\n0:00:40 flow 60\n0:01:30 flow 59.5\n0:04 flow 59.5"
		stood = "\n0:00 flame 1 flow 59.5 return 14.5\n0:00:10 flow 61.5\n0:00:16 flow 62.5 flame 0\n0:00:40 flow 62.5\n0:01:30 flow 62\n0:04 flow 61"
	)
	for course, found := range map[string]bool{moved: false, stood: true} {
		script := "0:00 flame 0 heat-demand 1 flow 53 return 15 flow-setpoint 65\n" + analysetest.Repeat("0:10", 2, 40*time.Minute, first) +
			analysetest.Repeat("1:40", 44, 10*time.Minute, "0:00 flow 53 return 15 flame 0 heat-demand 1\n") + analysetest.Repeat("9:00", 20, 6*time.Minute, course) + "\n11:10 flame 0"
		r := analysetest.Run(t, analysetest.Case{Script: script, Plant: plant}, circulation.Check())
		if got := analysetest.Outcome(t, r, "no-circulation"); (got.Outcome == analyse.Found) != found {
			t.Errorf("found wanted %v: %v: %s", found, got.Outcome, got.Because)
		}
	}
}

// A boiler that is far too big lights for a minute at a time, and the far return does not answer so soon. The flow is back
// where it began when the burner lights again two minutes later, or with the pump's overrun after the call: an exchanger
// of 5 l in which water stands would lose no more than a few kelvins of 38 in that time.
func TestBigBurnerOnMovingWater(t *testing.T) {
	const (
		burn = "\n0:00 heat-demand 1 flame 1 flow 35 return 30\n0:00:20 flow 50\n0:00:40 flow 63\n0:01 flow 73 flame 0\n0:01:30 flow 55"
		last = burn + "\n0:01:40 heat-demand 0\n0:02:30 flow 38\n0:03:10 flow 35.5\n0:12 flow 32"
	)
	five := analysetest.Repeat("0:00", 5, 3*time.Minute, burn+"\n0:02 flow 42\n0:02:40 flow 36") + analysetest.Repeat("0:15", 1, time.Minute, last)
	// The same without water: it keeps what it has.
	keeps := strings.NewReplacer("0:01:30 flow 55", "0:01:30 flow 72", "0:02 flow 42", "0:02 flow 72", "0:02:40 flow 36", "0:02:40 flow 71",
		"0:02:30 flow 38", "0:02:30 flow 71", "0:03:10 flow 35.5", "0:03:10 flow 70")
	sound := analysetest.Repeat("0:05", 2, time.Hour, moving)
	for _, c := range []struct {
		name, course string
		want         analyse.Outcome
	}{{"moving", last, analyse.Clear}, {"standing", keeps.Replace(last), analyse.Found}} {
		script := asked + sound + analysetest.Repeat("3:00", 4, 20*time.Minute, c.course) + "5:00 flame 0"
		r := analysetest.Run(t, analysetest.Case{Script: script, Plant: plant}, circulation.Check())
		if got := analysetest.Outcome(t, r, "no-circulation"); got.Outcome != c.want {
			t.Errorf("%s: %v: %s", c.name, got.Outcome, got.Because)
		}
	}
	r := analysetest.Run(t, analysetest.Case{Script: asked + sound + analysetest.Repeat("3:00", 2, time.Hour, five) + "5:00 flame 0", Plant: plant}, circulation.Check())
	if got := analysetest.Outcome(t, r, "no-circulation"); got.Outcome != analyse.Clear {
		t.Errorf("lit again: %v: %s", got.Outcome, got.Because)
	}
}

// Little water: valves shut but one. By the heat of each cycle 7 kW for 100 s in 280 s are 2.5 kW. The flow climbs by 16 K and
// is back within two minutes, so that its mean stands 4.8 K above its lowest; at a mean spread of 13.8 K 2.5/(4.11·13.8) =
// 0.044 l/s move; the design's 7 kW at 20 K are 0.085 l/s. That is half of it, and with 12 K more spread 0.28. The return never answers, and a burn with little water looks as one with none: neither clear nor found.
func TestLittleWaterIsNotClear(t *testing.T) {
	cycle := func(above float64) string {
		return fmt.Sprintf("\n0:00 flame 1 flow %.1f return 30\n0:00:30 flow %.1f\n0:01 flow %.1f\n0:01:40 flow %.1f flame 0\n0:02:10 flow %.1f\n0:03:40 flow %.1f\n0:04:30 flow %.1f",
			30+above-8, 30+above-3, 30+above+2, 30+above+8, 30+above-4, 30+above-7.5, 30+above-8)
	}
	for above, want := range map[float64]analyse.Outcome{17: analyse.Clear, 29: analyse.NotAssessable} {
		script := asked + analysetest.Repeat("0:05", 1, time.Hour, moving) + analysetest.Repeat("1:10", 40, 280*time.Second, cycle(above)) + "4:30 flame 0"
		r := analysetest.Run(t, analysetest.Case{Script: script, Plant: plant}, circulation.Check())
		got := analysetest.Outcome(t, r, "no-circulation")
		if got.Outcome != want || want == analyse.NotAssessable && !strings.Contains(got.Because, "less than a third of the design's water") {
			t.Errorf("flow %.0f K above return: %v: %s", above, got.Outcome, got.Because)
		}
	}
}

// A pump at its last: all day the flow rises fast and the return stays, yet the burner runs for a third of the time, so that
// some water must move. One short call in which it seemed to move does not make it clear.
func TestRunsWithoutAnswerAreNotClear(t *testing.T) {
	const dying = "\n0:00 flame 1 flow 41 return 16\n0:00:30 flow 46\n0:01 flow 51\n0:01:50 flow 56 flame 0\n0:02:30 flow 52\n0:03:50 flow 48\n0:05 flow 43"
	script := asked + analysetest.Repeat("0:05", 1, time.Hour, moving) + "1:00 heat-demand 0\n5:00 heat-demand 1\n" +
		analysetest.Repeat("5:10", 30, 320*time.Second, dying) + "8:10 flame 0"
	pl := plant
	pl.DesignHeatLoss = analyse.Opt[unit.KW]{} // nothing to hold the water's rate against
	r := analysetest.Run(t, analysetest.Case{Script: script, Plant: pl}, circulation.Check())
	got := analysetest.Outcome(t, r, "no-circulation")
	if got.Outcome != analyse.NotAssessable || !strings.Contains(got.Because, "longer than an exchanger alone takes") {
		t.Errorf("%v: %s", got.Outcome, got.Because)
	}
}

// A cylinder, and nothing tells reheats from heating. Between two mornings without water the house was heated for nine hours:
// no reheat takes so long, so that the water came back, as with a pump that sticks. Runs of half an hour between firings
// without water may be reheats, and clear the pump.
func TestHoursOfHeatingAreNoReheat(t *testing.T) {
	rep := analysetest.Repeat
	dead := func(at string) string { return rep(at, 6, 20*time.Minute, still) }
	pl := plant
	pl.HotWater = analyse.CylinderHotWater
	for _, c := range []struct{ name, script, first string }{
		{"hours of heating", asked + dead("0:10") + rep("4:00", 3, time.Hour, moving) + rep("9:00", 6, time.Hour, moving) + dead("16:00") + "19:00 flame 0", "pump"},
		{"half an hour each", asked + dead("0:10") + rep("2:20", 1, time.Hour, moving) + dead("3:20") + rep("5:30", 1, time.Hour, moving) + dead("6:30") + "9:00 flame 0", "closed-valves"},
	} {
		r := analysetest.Run(t, analysetest.Case{Script: c.script, Plant: pl}, circulation.Check())
		f := analysetest.Finding(r, "no-circulation")
		if f == nil {
			t.Errorf("%s: %s", c.name, analysetest.Outcome(t, r, "no-circulation").Because)
			continue
		}
		if f.Causes[0].Cause != c.first {
			t.Errorf("%s: %+v, want %s first", c.name, f.Causes, c.first)
		}
	}
}
