package cycling_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/cycling"
	"tundish/decode/unit"
)

// plant is 24 kW down to 8 kW on a house of 5.6 kW: too big even on the coldest day.
var plant = analyse.Plant{
	OutputMax: analyse.Some[unit.KW](24), OutputMin: analyse.Some[unit.KW](8), DesignHeatLoss: analyse.Some[unit.KW](5.6),
	HotWater: analyse.NoHotWater,
}

// cycle is one short firing that its set-point ends: 2 min on at 4 K/min, then a pause.
const cycle = `
	0:00 flame 1 flow 52 return 50 modulation 0
	0:01 flow 56
	0:01:55 flow 61
	0:02 flame 0 flow 60
	0:04 flow 54
	0:07 flow 52`

// everyMorning is an hour and a half of two-minute burns, and a steady day after it.
func everyMorning(days int) string {
	out := ""
	for d := range days {
		at := time.Duration(24*d+6) * time.Hour
		clock := func(t time.Duration) string { return fmt.Sprintf("%d:%02d", int(t.Hours()), int(t.Minutes())%60) }
		out += clock(at) + " heat-demand 1\n" + clock(at+10*time.Hour) + " heat-demand 0\n" +
			analysetest.Repeat(clock(at), 10, 10*time.Minute, cycle) +
			analysetest.Repeat(clock(at+2*time.Hour), 8, time.Hour, "0:00 flame 1\n0:40 flame 0")
	}
	return out + fmt.Sprintf("%d:00 flame 0", 24*days)
}

func warmUp(at string) string {
	return analysetest.Repeat(at, 1, 0, "0:00 flame 1\n0:44 flame 0\n0:46 flame 1\n0:48 flame 0\n0:52 flame 1\n0:54 flame 0\n0:59 flame 1\n1:01 flame 0")
}

// With flame alone, short burns of a plant that also makes hot water may be taps.
func TestTapsOrCycling(t *testing.T) {
	script := "0:00 flame 0\n" + analysetest.Repeat("0:10", 20, 10*time.Minute, "0:00 flame 1\n0:01:30 flame 0") + "4:00 flame 0"
	for hot, want := range map[analyse.HotWaterKind]analyse.Outcome{analyse.InstantaneousHotWater: analyse.NotAssessable, analyse.NoHotWater: analyse.Found} {
		r := analysetest.Run(t, analysetest.Case{Script: script, Plant: analyse.Plant{HotWater: hot}}, cycling.Short())
		if got := analysetest.Outcome(t, r, "short-cycling"); got.Outcome != want {
			t.Errorf("%v: %v, %s; want %v", hot, got.Outcome, got.Because, want)
		}
	}
}

func TestShortCycling(t *testing.T) {
	start := "0:00 flame 0 heat-demand 1 flow-setpoint 60 flow 50 modulation 0\n"
	cases := []struct {
		name    string
		script  string
		outcome analyse.Outcome
		cause   string
	}{
		{"three hours of two-minute burns every ten minutes",
			start + analysetest.Repeat("0:10", 18, 10*time.Minute, cycle) + "3:30 flame 0", analyse.Found, "oversized"},
		{"steep climb: little water moves",
			start + analysetest.Repeat("0:10", 24, 8*time.Minute, "0:00 flame 1 flow 45 return 34\n0:00:30 flow 55\n0:00:55 flow 62\n0:01 flame 0\n0:03 flow 48\n0:06 flow 45") + "3:40 flame 0",
			analyse.Found, "closed-valves"},
		{"the thermostat ends every burn",
			start + analysetest.Repeat("0:10", 20, 9*time.Minute, "0:00 heat-demand 1 flame 1 flow 40\n0:02 flow 42\n0:03:58 flow 44\n0:04 heat-demand 0 flame 0") + "3:30 flame 0",
			analyse.Found, "control"},
		// Look-alikes.
		{"only the last quarter of an hour of a warm-up",
			start + "0:05 flame 1\n1:30 flame 0\n" + analysetest.Repeat("1:32", 4, 4*time.Minute, "0:00 flame 1\n0:02 flame 0") + "6:00 flame 0", analyse.Clear, ""},
		{"short burns, but for hot water",
			"0:00 flame 0 heat-demand 1 hot-water-active 0\n" + analysetest.Repeat("0:10", 20, 10*time.Minute, "0:00 hot-water-active 1 flame 1\n0:02 flame 0 hot-water-active 0") + "4:00 flame 0",
			analyse.Clear, ""},
		{"frost protection: short burns that nobody asked for",
			"0:00 flame 0 heat-demand 0 flow 8\n" + analysetest.Repeat("0:10", 20, 10*time.Minute, "0:00 flame 1\n0:02 flame 0") + "3:40 heat-demand 1\n5:00 flame 0", analyse.Clear, ""},
		{"a long warm-up and its last quarter of an hour, on two mornings",
			"0:00 flame 0 heat-demand 1 flow-setpoint 60 flow 50\n" + warmUp("6:00") + warmUp("30:00") + "36:00 flame 0", analyse.Clear, ""},
		{"two evenings in sixty days of sound running",
			start + analysetest.Repeat("0:10", 1400, time.Hour, "0:00 flame 1\n0:30 flame 0") + analysetest.Repeat("1410:00", 8, 8*time.Minute, "0:00 flame 1\n0:02 flame 0") +
				analysetest.Repeat("1434:00", 8, 8*time.Minute, "0:00 flame 1\n0:02 flame 0") + "1440:00 flame 0", analyse.Clear, ""},
		{"an hour and a half every morning", start + everyMorning(5), analyse.Found, "oversized"},
		{"a flame read too rarely to see short burns", "0:00 flame 0 heat-demand 1\n" + analysetest.Repeat("0:10", 30, 20*time.Minute, "0:00 flame 1\n0:10 flame 0") + "12:00 flame 0", analyse.NotAssessable, ""},
		{"too short a record", start + analysetest.Repeat("0:02", 5, 8*time.Minute, "0:00 flame 1\n0:02 flame 0") + "0:45 flame 0", analyse.NotAssessable, ""},
		{"long burns", start + analysetest.Repeat("0:10", 8, 30*time.Minute, "0:00 flame 1\n0:18 flame 0") + "4:30 flame 0", analyse.Clear, ""},
		{"no demand and no firing", "0:00 flame 0 heat-demand 0\n6:00 flame 0", analyse.NotAssessable, ""},
		{"no flame signal", "0:00 flow 40\n6:00 flow 40", analyse.NotAssessable, ""},
		{"seen for only half of the time", start + "1:00 flame -\n3:00 flow 50", analyse.NotAssessable, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			step := 5 * time.Second
			switch {
			case strings.Contains(c.name, "rarely"):
				step = 5 * time.Minute
			case len(c.script) > 3e4:
				step = 30 * time.Second
			}
			r := analysetest.Run(t, analysetest.Case{Script: c.script, Plant: plant, Step: step}, cycling.Short())
			got := analysetest.Outcome(t, r, "short-cycling")
			if got.Outcome != c.outcome {
				t.Fatalf("%v: %s; want %v", got.Outcome, got.Because, c.outcome)
			}
			f := analysetest.Finding(r, "short-cycling")
			if (f != nil) != (c.outcome == analyse.Found) {
				t.Fatalf("finding is %+v", f)
			}
			if f != nil && f.Causes[0].Cause != c.cause {
				t.Errorf("first cause is %+v, want %s", f.Causes, c.cause)
			}
		})
	}
}

func TestNumbers(t *testing.T) {
	script := "0:00 flame 0 heat-demand 1 flow-setpoint 60 flow 50 modulation 0\n" + analysetest.Repeat("0:10", 18, 10*time.Minute, cycle) + "3:30 flame 0"
	r := analysetest.Run(t, analysetest.Case{Script: script, Plant: plant}, cycling.Short())
	f := analysetest.Finding(r, "short-cycling")
	if f == nil {
		t.Fatal("not found")
	}
	want := map[string]float64{"starts_per_hour_peak": 6, "burn_s_median": 120, "off_s_median": 480, "starts": 18}
	for _, n := range f.Numbers {
		if w, ok := want[n.Name]; ok && n.Value != w {
			t.Errorf("%s is %v, want %v", n.Name, n.Value, w)
		}
		delete(want, n.Name)
	}
	if len(want) > 0 {
		t.Errorf("missing: %v", want)
	}
	if !f.From.Equal(analysetest.At("0:10")) || !f.To.Equal(analysetest.At("3:02")) {
		t.Errorf("finding is from %v to %v", f.From, f.To)
	}
}
