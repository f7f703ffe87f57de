package overshoot_test

import (
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/overshoot"
	"tundish/decode/unit"
)

var plant = analyse.Plant{HotWater: analyse.NoHotWater, OutputMin: analyse.Some[unit.KW](6), DesignHeatLoss: analyse.Some[unit.KW](6),
	DesignFlow: analyse.Some[unit.Celsius](70), DesignReturn: analyse.Some[unit.Celsius](50)}

// burns are six firings of eight minutes an hour apart, each up to a peak, with more lines at each.
func burns(peak, more string) string {
	return "0:00 flame 0 heat-demand 1 flow-setpoint 50 flow 40 return 35 modulation 0\n" +
		analysetest.Repeat("0:10", 6, time.Hour, "0:00 flame 1\n0:03 flow 48\n0:07 flow "+peak+" return 42\n0:08 flame 0\n0:15 flow 45\n0:30 flow 40 return 35\n"+more) + "6:10 flame 0"
}

// standing are firings with rests of three hours: flow at rest, at its peak and the return then, by the boiler and by the
// probes. The return at rest is 40 °C by both.
func standing(rest, peak, ret, probeRest, probePeak, probeRet string) string {
	cold := "flow " + rest + " return 40 probes/flow " + probeRest + " probes/return 40"
	return "0:00 flame 0 heat-demand 1 flow-setpoint 50 " + cold + "\n" +
		analysetest.Repeat("3:00", 6, 3*time.Hour, "0:00 flame 1\n0:05 flow "+peak+" return "+ret+" probes/flow "+probePeak+" probes/return "+probeRet+"\n0:20 flame 0\n0:40 "+cold) + "21:10 flame 0"
}

// seldom are six burns of two minutes, of which the flow was read once a minute: before lighting, and after it.
func seldom(before, after string) string {
	return "0:00 flame 0 heat-demand 1 flow-setpoint 50 flow 60 return 35 modulation 0\n" +
		analysetest.Repeat("0:10", 6, 20*time.Minute, "0:00 flow "+before+" return 35\n0:00:20 flame 1\n0:01 flow "+after+" return 40\n0:02 flow "+after+" return 42\n0:02:20 flame 0\n0:03 flow 48 return 41\n0:05 flow 46") + "2:20 flame 0"
}

func TestOvershoot(t *testing.T) {
	probe := "probes/flow 40 probes/return 35"
	cases := []struct {
		name, script string
		plant        analyse.Plant
		outcome      analyse.Outcome
		cause        string
	}{
		{"off at the same 12 K above its set-point each time", burns("62", ""), plant, analyse.Found, "control"},
		{"climbs on by 9 K after the burner stopped: the sensor follows late", burns("51", "0:08:20 flow 60"), plant, analyse.Found, "sensor-placement"},
		{"little water: steep, and 38 K over the return",
			"0:00 flame 0 heat-demand 1 flow-setpoint 60 flow 40 return 35\n" +
				analysetest.Repeat("0:10", 6, 20*time.Minute, "0:00 flame 1\n0:00:40 flow 60\n0:01:10 flow 74 return 36\n0:01:20 flame 0\n0:03 flow 50\n0:05 flow 40 return 35") + "2:20 flame 0",
			plant, analyse.Found, "closed-valves"},
		{"the own sensor reads 13 K low, by the probes the water is that much hotter",
			"0:00 flame 0 heat-demand 1 flow-setpoint 50 flow 27 return 35 probes/flow 40 probes/return 35\n" +
				analysetest.Repeat("0:10", 6, time.Hour, "0:00 flame 1\n0:10 flow 51 return 54 probes/flow 64 probes/return 54\n0:25 flame 0\n0:28 flow 42 probes/flow 55\n0:45 flow 27 return 35 "+probe) + "6:10 flame 0",
			plant, analyse.Found, "sensor-placement"},
		{"the own sensor reads 12 K low: so it does when the water has stood for hours", standing("27", "50", "42", "40", "62", "41"), plant, analyse.Found, "sensor-placement"},
		{"12 K above it at the first reading after lighting, of one a minute: it had come down by the last one before",
			seldom("44", "62"), plant, analyse.Found, "control"},
		// Look-alikes.
		{"as hot, but it was so before lighting too", seldom("56", "62"), plant, analyse.NotAssessable, ""},
		{"read once a minute, and 7 K above by that: the peak lies between", seldom("44", "57"), plant, analyse.NotAssessable, ""},
		{"read once a minute, and 4 K above by that", seldom("44", "54"), plant, analyse.Clear, ""},
		{"the second sensor reads 12 K high: so it does when the water has stood for hours", standing("40", "50", "42", "52", "62", "42"), plant, analyse.Clear, ""},
		{"goes off 4 K above, as burner thermostats do", burns("54", ""), plant, analyse.Clear, ""},
		{"the set-point falls during the burn: what was in force when it was reached counts",
			"0:00 flame 0 heat-demand 1 flow-setpoint 60 flow 40 return 35\n" +
				analysetest.Repeat("0:10", 6, time.Hour, "0:00 flame 1 flow-setpoint 60\n0:10 flow 61 return 45\n0:12 flow-setpoint 45\n0:20 flame 0\n0:40 flow 40 return 35") + "6:10 flame 0",
			plant, analyse.Clear, ""},
		{"as hot, but for the cylinder",
			"0:00 flame 0 heat-demand 1 flow-setpoint 50 flow 40 return 35 hot-water-active 0\n" +
				analysetest.Repeat("0:10", 6, time.Hour, "0:00 flame 1\n0:10 flow 51\n0:20 hot-water-active 1\n0:25 flow 74\n0:35 hot-water-active 0 \n0:37 flow 50\n0:40 flame 0\n0:50 flow 40") + "6:10 flame 0",
			analyse.Plant{HotWater: analyse.CylinderHotWater}, analyse.Clear, ""},
		{"demand ends the burn, and the standing water warms at the sensor",
			"0:00 flame 0 heat-demand 0 flow-setpoint 50 flow 40 return 35\n" +
				analysetest.Repeat("0:10", 6, time.Hour, "0:00 heat-demand 1\n0:01 flame 1\n0:10 flow 51\n0:20 heat-demand 0 flame 0\n0:20:20 flow 63\n0:50 flow 40") + "6:10 flame 0",
			plant, analyse.Clear, ""},
		{"the second sensor alone passes it, and both pairs look sound: which is right is not known",
			burns("52", "0:03 probes/flow 58 probes/return 35\n0:07 probes/flow 62 probes/return 42\n0:30 "+probe), plant, analyse.NotAssessable, ""},
		{"off at its set-point, but 55 K over the return: a sensor on standing water says little",
			"0:00 flame 0 heat-demand 1 flow-setpoint 70 flow 60 return 18\n" +
				analysetest.Repeat("0:10", 6, 20*time.Minute, "0:00 flame 1\n0:01:10 flow 73\n0:01:20 flame 0\n0:05 flow 60") + "2:20 flame 0",
			plant, analyse.NotAssessable, ""},
		{"off 3 K above its set-point after a minute, and the return, 35 K below, never answers: the water stands",
			"0:00 flame 0 heat-demand 1 flow-setpoint 50 flow 36 return 18\n" +
				analysetest.Repeat("0:10", 6, 20*time.Minute, "0:00 flame 1\n0:00:30 flow 45\n0:01 flow 53\n0:01:05 flame 0\n0:05 flow 45\n0:15 flow 36") + "2:20 flame 0",
			plant, analyse.NotAssessable, ""},
		{"as quick and short, and the return does not answer at once, but in a long burn it comes: a burner too big for its circuit",
			"0:00 flame 0 heat-demand 1 flow-setpoint 50 flow 36 return 35\n" +
				analysetest.Repeat("0:10", 6, 20*time.Minute, "0:00 flame 1\n0:00:30 flow 45\n0:01 flow 53\n0:01:05 flame 0\n0:05 flow 45\n0:15 flow 36") +
				"2:20 flame 1\n2:25 flow 48 return 38\n2:40 flow 51 return 42\n2:50 flame 0\n3:10 flame 0",
			plant, analyse.Clear, ""},
		{"as quick and short, but the return answers: little water, and it moves",
			"0:00 flame 0 heat-demand 1 flow-setpoint 50 flow 36 return 28\n" +
				analysetest.Repeat("0:10", 6, 20*time.Minute, "0:00 flame 1\n0:00:30 flow 45 return 31\n0:01 flow 53 return 35\n0:01:05 flame 0\n0:05 flow 45 return 35\n0:15 flow 36 return 28") + "2:20 flame 0",
			plant, analyse.Clear, ""},
		{"three starts are too few", "0:00 flame 0 heat-demand 1 flow-setpoint 50 flow 40\n" +
			analysetest.Repeat("0:10", 3, time.Hour, "0:00 flame 1\n0:07 flow 62\n0:08 flame 0\n0:30 flow 40") + "3:10 flame 0", plant, analyse.NotAssessable, ""},
		{"no set-point", strings.ReplaceAll(burns("62", ""), "flow-setpoint 50", ""), plant, analyse.NotAssessable, ""},
		{"a tap may have taken them: the record does not say what the firings were for, and some stop at 50 °C",
			burns("62", "") + "\n" + analysetest.Repeat("0:40", 6, time.Hour, "0:00 flame 1\n0:05 flow 50\n0:06 flame 0\n0:16 flow 40"),
			analyse.Plant{HotWater: analyse.InstantaneousHotWater}, analyse.NotAssessable, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := analysetest.Run(t, analysetest.Case{Script: c.script, Plant: c.plant}, overshoot.Check())
			got := analysetest.Outcome(t, r, "flow-overshoot")
			if got.Outcome != c.outcome {
				t.Fatalf("%v, %s; want %v", got.Outcome, got.Because, c.outcome)
			}
			if f := analysetest.Finding(r, "flow-overshoot"); c.cause != "" && f.Causes[0].Cause != c.cause {
				t.Errorf("first cause %q (%s), want %q", f.Causes[0].Cause, f.Causes[0].Because, c.cause)
			}
		})
	}
}
