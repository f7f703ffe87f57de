package demand_test

import (
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/demand"
	"tundish/decode/unit"
)

var radiators = analyse.Plant{HotWater: analyse.NoHotWater, Emitters: "radiators", InsideDesign: analyse.Some[unit.Celsius](21),
	OutsideDesign: analyse.Some[unit.Celsius](-3), DesignFlow: analyse.Some[unit.Celsius](70), DesignReturn: analyse.Some[unit.Celsius](50)}

var slab = analyse.Plant{HotWater: analyse.NoHotWater, Emitters: "underfloor"}

const rest = "0:00 flame 0 heat-demand 0 flow-setpoint 55 flow 25 return 24 fault 0 hot-water-active 0\n"

func TestDemandNotMet(t *testing.T) {
	cases := []struct {
		name, script string
		plant        analyse.Plant
		outcome      analyse.Outcome
		cause        string
	}{
		{"an hour and a half of demand, cold water, no firing, no fault",
			rest + "1:00 heat-demand 1\n2:30 flame 1\n2:40 flow 50\n3:00 flow 54\n4:00 flame 0", radiators, analyse.Found, "interlock"},
		{"tries that do not hold, and no fault",
			rest + "1:00 heat-demand 1\n" + analysetest.Repeat("1:02", 8, 5*time.Minute, "0:00 flame 1\n0:00:05 flame 0") + "1:55 flame 1\n2:10 flow 54\n3:00 flame 0", radiators, analyse.Found, "ignition"},
		{"a room control that chops its demand, and nothing ever fires",
			rest + analysetest.Repeat("1:00", 9, 10*time.Minute, "0:00 heat-demand 1\n0:06 heat-demand 0") + "2:40 heat-demand 0", radiators, analyse.Found, "interlock"},
		{"the own sensor reads 45 K hot, the probe shows cold water and the burner rests",
			rest + "1:00 heat-demand 1 flow 70 probes/flow 25\n3:00 heat-demand 0", radiators, analyse.Found, "sensor-reads-high"},
		{"all output in cold weather for six hours, and 40 °C instead of 55 °C",
			rest + "1:00 heat-demand 1 outside -2\n1:01 flame 1 modulation 100\n1:30 flow 40 return 34\n7:30 flame 0 heat-demand 0", radiators, analyse.Found, "output-too-small"},
		{"all output in mild weather: the heat goes elsewhere",
			rest + "1:00 heat-demand 1 outside 12\n1:01 flame 1 modulation 100\n1:30 flow 40 return 34\n7:30 flame 0 heat-demand 0", radiators, analyse.Found, "heat-elsewhere"},
		{"never rests, but at a fifth of its range",
			rest + "1:00 heat-demand 1 outside -2\n1:01 flame 1 modulation 20\n1:30 flow 40 return 34\n7:30 flame 0 heat-demand 0", radiators, analyse.Found, "output-limited"},
		{"little water: 35 K between flow and return, and throttled",
			rest + "1:00 heat-demand 1 outside -2 flow-setpoint 75\n1:01 flame 1 modulation 30\n1:30 flow 62 return 27\n7:30 flame 0 heat-demand 0", radiators, analyse.Found, "low-flow"},
		{"rests of forty minutes between all firings: a timer",
			rest + "1:00 heat-demand 1\n" + analysetest.Repeat("1:01", 4, time.Hour, "0:00 flame 1\n0:08 flow 56\n0:10 flame 0\n0:14 flow 40\n0:30 flow 30") + "5:01 flame 1\n5:10 flame 0", radiators, analyse.Found, "anti-cycle-time"},
		// Look-alikes.
		{"rests of twenty minutes: anti-cycle waits",
			rest + "1:00 heat-demand 1\n" + analysetest.Repeat("1:01", 6, 30*time.Minute, "0:00 flame 1\n0:08 flow 56\n0:10 flame 0\n0:14 flow 40\n0:25 flow 30") + "4:01 flame 1\n4:10 flame 0", radiators, analyse.Clear, ""},
		{"hours without firing, but the water is within the differential",
			rest + "0:30 heat-demand 1\n0:31 flame 1\n0:40 flow 56\n0:50 flame 0 flow 50\n4:00 heat-demand 0", radiators, analyse.Clear, ""},
		{"enabled all night with a set-point of 10 °C: nobody asks",
			rest + "0:30 heat-demand 1\n0:31 flame 1\n0:40 flow 56\n2:00 flame 0 flow-setpoint 10\n2:30 flow 22\n9:00 flow 20", radiators, analyse.Clear, ""},
		{"flames of 6 s that keep the water at 50 °C for two hours: fired, though not rightly",
			strings.ReplaceAll(rest, "flow-setpoint 55 flow 25", "flow-setpoint 70 flow 50") + "1:00 heat-demand 1\n" + analysetest.Repeat("1:02", 30, 4*time.Minute, "0:00 flame 1\n0:00:06 flame 0\n0:00:20 flow 52\n0:02 flow 50") + "3:05 flame 1\n3:20 flow 69\n5:00 flame 0", radiators, analyse.Clear, ""},
		{"flames of 25 s each few minutes: firings, if short ones",
			rest + "1:00 heat-demand 1\n" + analysetest.Repeat("1:02", 30, 4*time.Minute, "0:00 flame 1\n0:00:25 flame 0") + "3:05 flame 1\n3:20 flow 54\n5:00 flame 0", radiators, analyse.Clear, ""},
		{"in fault for two hours: a lockout",
			rest + "0:30 heat-demand 1\n0:35 fault 1\n2:30 fault 0\n2:32 flame 1\n2:40 flow 54\n4:00 flame 0", radiators, analyse.Clear, ""},
		{"no mains for two hours",
			rest + "0:30 heat-demand 1 supply 1\n0:31 flame 1\n0:40 flow 54\n1:00 flame 0 supply 0\n1:20 flow 30\n3:00 supply 1\n3:01 flame 1\n3:10 flow 54\n4:00 flame 0", radiators, analyse.Clear, ""},
		{"hot water comes first for an hour",
			rest + "0:30 heat-demand 1\n0:31 hot-water-active 1\n0:32 flame 1\n1:10 flame 0\n1:50 hot-water-active 0\n1:52 flame 1\n2:10 flow 54\n3:00 flame 0", radiators, analyse.Clear, ""},
		{"an hour's silence of the bus is not known, and no unmet demand",
			rest + "0:30 heat-demand 1\n0:31 flame 1\n0:40 flow 54\n6:00 boiler/* -\n7:00 flame 1 heat-demand 1 flow 54 flow-setpoint 55 return 40 fault 0\n11:00 flame 0", radiators, analyse.Clear, ""},
		{"a cold slab that still warms up after eight hours",
			strings.ReplaceAll(rest, "55", "38") + "0:30 heat-demand 1\n0:31 flame 1 flow 22\n3:00 flow 24\n5:00 flow 26\n7:00 flow 28\n8:30 flow 36\n9:00 flame 0", slab, analyse.Clear, ""},
		{"a thermostat that is content with cool water each time",
			rest + analysetest.Repeat("0:10", 8, 40*time.Minute, "0:00 heat-demand 1\n0:01 flame 1\n0:05 flow 40\n0:30 heat-demand 0 flame 0\n0:36 flow 35") + "5:40 flame 0", radiators, analyse.Clear, ""},
		{"water stands hot in the appliance and cools, the probe outside is cold",
			rest + "0:20 probes/flow 25\n0:30 heat-demand 1\n0:31 flame 1\n0:31:20 flow 80\n0:31:30 flame 0\n0:50 flow 72\n1:10 flow 64\n1:30 flow 56\n1:31 flow 50\n1:32 flame 1\n1:40 flow 55 probes/flow 54\n2:30 flame 0", radiators, analyse.Clear, ""},
		{"no set-point", strings.ReplaceAll(rest, "flow-setpoint 55", "") + "1:00 heat-demand 1\n2:30 flame 1\n3:00 flame 0", radiators, analyse.NotAssessable, ""},
		{"hardly any demand", rest + "1:00 heat-demand 1\n1:01 flame 1\n1:20 flow 54\n1:30 flame 0 heat-demand 0\n4:00 flow 30", radiators, analyse.NotAssessable, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := analysetest.Run(t, analysetest.Case{Script: c.script, Plant: c.plant}, demand.Check())
			got := analysetest.Outcome(t, r, "demand-not-met")
			if got.Outcome != c.outcome {
				t.Fatalf("%v, %s; want %v; %+v", got.Outcome, got.Because, c.outcome, r.Facts.Unmet)
			}
			if f := analysetest.Finding(r, "demand-not-met"); c.cause != "" && f.Causes[0].Cause != c.cause {
				t.Errorf("first cause %q (%s), want %q", f.Causes[0].Cause, f.Causes[0].Because, c.cause)
			}
		})
	}
}

// The demand that is counted leaves out hot water and pauses, and the stretch lies where the demand was.
func TestLongestStretch(t *testing.T) {
	script := rest + "1:00 heat-demand 1\n1:20 hot-water-active 1\n1:50 hot-water-active 0\n2:20 flame 1\n2:30 flow 54\n3:30 flame 0"
	r := analysetest.Run(t, analysetest.Case{Script: script, Plant: radiators}, demand.Check())
	f := analysetest.Finding(r, "demand-not-met")
	if f == nil {
		t.Fatal(analysetest.Outcome(t, r, "demand-not-met").Because)
	}
	if got := f.Numbers[0].Value; got < 49 || got > 51 { // 20 min before the hot water and 30 min after it
		t.Errorf("longest %v min, want 50", got)
	}
	if d := f.Evidence[0].From.Sub(analysetest.At("1:00")).Abs(); d > 10*time.Second {
		t.Errorf("begins at %v", f.Evidence[0].From)
	}
}

// Read every eight minutes a firing can hide between two readings: nothing is found, and nothing is called clear.
func TestRarelyRead(t *testing.T) {
	script := rest + "1:00 heat-demand 1\n4:00 flame 1\n4:20 flow 54\n8:00 flame 0"
	r := analysetest.Run(t, analysetest.Case{Script: script, Plant: radiators, Step: 8 * time.Minute}, demand.Check())
	if got := analysetest.Outcome(t, r, "demand-not-met"); got.Outcome != analyse.NotAssessable {
		t.Errorf("%v: %s", got.Outcome, got.Because)
	}
}
