package circulation_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/circulation"
	"tundish/decode/unit"
)

var plant = analyse.Plant{
	DesignFlow: analyse.Some[unit.Celsius](70), DesignReturn: analyse.Some[unit.Celsius](50), HotWater: analyse.NoHotWater,
	OutputMax: analyse.Some[unit.KW](24), OutputMin: analyse.Some[unit.KW](7), DesignHeatLoss: analyse.Some[unit.KW](7),
}

// still is a firing that moves no water: 7 kW on 5 l of exchanger warm it by 20 K/min (V·ρ·c with ρ·c = 4.11 kJ/(l·K)
// at 60 °C, IAPWS-IF97), and the return stays as it was.
const still = `
	0:00 flame 1 flow 40 return 20
	0:00:30 flow 50
	0:01:00 flow 60
	0:01:30 flow 70
	0:02:00 flow 80
	0:02:05 flame 0
	0:03 flow 79
	0:08 flow 70
	0:15 flow 55`

// moving is a firing whose return follows.
const moving = `
	0:00 flame 1 flow 35 return 25
	0:01 flow 42 return 27
	0:05 flow 52 return 36
	0:10 flow 60 return 43
	0:30 flame 0
	0:32 flow 50 return 43
	0:40 flow 40 return 38
	0:50 flow 35 return 30`

// farReturn is a cold start on much water. Plug flow: 120 l in the circuit at 12 l/min bring the first warm water back
// after 120/12 = 10 minutes (V/V̇). 7 kW at 12 l/min lift it by 7·60/(4.11·12) = 8.5 K.
const farReturn = `
	0:00 flame 1 flow 20 return 20
	0:01 flow 25
	0:02 flow 28.5
	0:10 return 23 flow 30
	0:14 return 28 flow 36
	0:20 return 34 flow 42
	0:40 return 42 flow 50
	1:00 flame 0
	1:02 flow 43`

const asked = "0:00 flame 0 heat-demand 1 flow 30 return 20 flow-setpoint 78 modulation 0\n"

func TestNoCirculation(t *testing.T) {
	rep := analysetest.Repeat
	cases := []struct {
		name, script string
		outcome      analyse.Outcome
	}{
		{"no water moves, firing after firing", asked + rep("0:10", 8, 20*time.Minute, still) + "3:20 flame 0", analyse.Found},
		{"water moves, then no more", asked + rep("0:10", 4, time.Hour, moving) + rep("5:00", 8, 20*time.Minute, still) + "8:00 flame 0", analyse.Found},
		// Look-alikes.
		{"water moves", asked + rep("0:10", 5, time.Hour, moving) + "5:30 flame 0", analyse.Clear},
		{"cold start on much water: the return comes after ten minutes", asked + rep("0:10", 3, 2*time.Hour, farReturn) + "7:00 flame 0", analyse.Clear},
		{"hot water through a plate, with the heating's pipes cold", "0:00 flame 0 heat-demand 1 hot-water-active 0 flow 30 return 20\n" +
			rep("0:05", 3, time.Hour, moving) + rep("3:10", 8, 10*time.Minute, "0:00 hot-water-active 1\n"+still+"\n0:02:10 hot-water-active 0") + "5:00 flame 0", analyse.Clear},
		{"closed valves: quick and far apart, but the return follows", asked +
			rep("0:10", 10, 15*time.Minute, "0:00 flame 1 flow 45 return 32\n0:00:30 flow 60 return 36\n0:01 flow 72 return 44\n0:01:30 flow 79 return 47\n0:01:35 flame 0\n0:04 flow 58 return 47\n0:10 flow 46 return 40") + "3:00 flame 0", analyse.Clear},
		{"a restriction: 35 K apart, long burns", asked +
			rep("0:10", 4, time.Hour, "0:00 flame 1 flow 40 return 30\n0:02 flow 60 return 31\n0:05 flow 70 return 34\n0:30 flow 75 return 40\n0:40 flame 0\n0:43 flow 50 return 40") + "4:30 flame 0", analyse.Clear},
		{"a return probe that fell off: nothing can be said of the water", asked +
			rep("0:10", 5, time.Hour, "0:00 flame 1 flow 35 return 20\n0:02 flow 45\n0:05 flow 52\n0:10 flow 60\n0:30 flame 0\n0:32 flow 45\n0:40 flow 38") + "5:30 flame 0", analyse.NotAssessable},
		{"only one such firing", asked + rep("0:10", 1, time.Hour, still) + "0:40 flame 0", analyse.NotAssessable},
		{"nothing fires", "0:00 flame 0 flow 30 return 20\n5:00 flame 0", analyse.NotAssessable},
		{"no return", "0:00 flame 0 flow 30\n5:00 flame 0", analyse.NotAssessable},
		{"no flame", "0:00 flow 30 return 20\n5:00 flow 30", analyse.NotAssessable},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := analysetest.Run(t, analysetest.Case{Script: c.script, Plant: plant}, circulation.Check())
			got := analysetest.Outcome(t, r, "no-circulation")
			if got.Outcome != c.outcome {
				t.Fatalf("%v: %s; want %v", got.Outcome, got.Because, c.outcome)
			}
			if strings.Contains(c.name, "fell off") && !strings.Contains(got.Because, "Clip the probe") {
				t.Errorf("it says %s", got.Because)
			}
			if f := analysetest.Finding(r, "no-circulation"); f != nil && (f.Severity != analyse.Act || len(f.Evidence) == 0 || len(f.Causes) == 0) {
				t.Errorf("finding is %+v", f)
			}
		})
	}
}

// The rise is told in K/min: 10 K in 30 s are 20 K/min, as 5 l of exchanger at 7 kW.
func TestFigures(t *testing.T) {
	r := analysetest.Run(t, analysetest.Case{Script: asked + analysetest.Repeat("0:10", 8, 20*time.Minute, still) + "3:20 flame 0", Plant: plant}, circulation.Check())
	f := analysetest.Finding(r, "no-circulation")
	if f == nil {
		t.Fatal("not found")
	}
	for name, want := range map[string]float64{"firings_without_circulation": 8, "flow_c_highest": 80, "return_c_highest": 20, "burn_s_median": 125} {
		i := slices.IndexFunc(f.Numbers, func(n analyse.Number) bool { return n.Name == name })
		if i < 0 || f.Numbers[i].Value != want {
			t.Errorf("%s: %+v, want %v", name, f.Numbers, want)
		}
	}
}

// What comes between decides the cause.
func TestCauses(t *testing.T) {
	rep := analysetest.Repeat
	dead := func(at string) string { return rep(at, 6, 20*time.Minute, still) }
	cases := []struct{ name, script, want string }{
		{"it comes and goes: the pump", asked + dead("0:10") + rep("4:00", 3, time.Hour, moving) + dead("9:00") + rep("13:00", 2, time.Hour, moving) + "16:00 flame 0", "pump"},
		{"stopped from one firing to the next, for six hours: the pump, for valves would have opened as rooms cool", asked + rep("0:10", 3, 40*time.Minute, moving) +
			rep("2:05", 18, 20*time.Minute, still) + "8:20 flame 0", "pump"},
		{"stopped while hot water still finds water moving: the heating's valve", "0:00 flame 0 heat-demand 1 hot-water-active 0 flow 30 return 20 flow-setpoint 78 modulation 0\n" +
			rep("0:10", 3, 40*time.Minute, moving) + dead("2:05") + "4:10 hot-water-active 1\n" + rep("4:10", 1, time.Hour, moving) + "4:50 hot-water-active 0\n" + dead("5:10") + "7:20 flame 0", "closed-valves"},
		{"the pump's own word: off", asked + "0:00 pump 0\n" + dead("0:10") + "3:00 flame 0", "pump"},
	}
	for _, c := range cases {
		r := analysetest.Run(t, analysetest.Case{Script: c.script, Plant: plant}, circulation.Check())
		f := analysetest.Finding(r, "no-circulation")
		if f == nil {
			t.Errorf("%s: not found: %s", c.name, analysetest.Outcome(t, r, "no-circulation").Because)
			continue
		}
		if f.Causes[0].Cause != c.want {
			t.Errorf("%s: %+v, want %s first", c.name, f.Causes, c.want)
		}
		if strings.TrimSpace(f.Causes[0].Settle) == "" {
			t.Errorf("%s: nothing said to settle it", c.name)
		}
	}
}

// Shown is the firing that shows it best: of the six, one rose twice as fast, by 20 K at a step.
func TestEvidenceShowsTheFastest(t *testing.T) {
	quick := strings.NewReplacer("0:00:30 flow 50", "0:00:30 flow 60", "0:01:00 flow 60", "0:01:00 flow 80", "0:01:30 flow 70", "0:01:05 flame 0", "0:02:00 flow 80", "", "0:02:05 flame 0", "").Replace(still)
	script := asked + analysetest.Repeat("0:10", 3, 20*time.Minute, still) + analysetest.Repeat("1:10", 1, time.Hour, quick) + analysetest.Repeat("1:30", 2, 20*time.Minute, still) + "2:20 flame 0"
	r := analysetest.Run(t, analysetest.Case{Script: script, Plant: plant}, circulation.Check())
	f := analysetest.Finding(r, "no-circulation")
	if f == nil || len(f.Evidence) != 1 || !strings.Contains(f.Evidence[0].Note, "at 01:10:00 the flow went from 55 to 80 °C at up to 120 K") {
		t.Errorf("finding is %+v", f)
	}
}

// A probe on the pipe below, in which no water moves, is read oftener and stays as it was: the bus, read every 20 s,
// saw the flow climb.
func TestStillProbe(t *testing.T) {
	script := "0:00 flame 0 heat-demand 1 flow 30 return 20 flow-setpoint 78 modulation 0 probes/flow 50 probes/return 20\n"
	for i := range 6 {
		base := time.Duration(10+20*i) * time.Minute
		at := func(s int) string {
			d := base + time.Duration(s)*time.Second
			return fmt.Sprintf("%d:%02d:%02d", int(d.Hours()), int(d.Minutes())%60, int(d.Seconds())%60)
		}
		script += at(0) + " flame 1 flow 55\n" + at(20) + " flow 62\n" + at(40) + " flow 69\n" + at(45) + " flame 0\n" + at(180) + " flow 66\n" + at(600) + " flow 55\n"
	}
	r := analysetest.Run(t, analysetest.Case{Script: script + "2:20 flame 0", Plant: plant}, circulation.Check())
	f := analysetest.Finding(r, "no-circulation")
	if f == nil || f.Numbers[1].Name != "flow_rise_k_per_min" || f.Numbers[1].Value < 20 || f.Numbers[2].Value != 69 {
		t.Errorf("want a rise of 21 K/min up to 69 °C by the bus: %+v", f)
	}
}
