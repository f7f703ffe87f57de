package overshoot_test

import (
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/overshoot"
	"tundish/decode"
)

// peaks are six firings of half an hour: a peak by both sensors, then settled water by both.
func peaks(own, probe, settled, probeSettled string) string {
	return "0:00 flame 0 heat-demand 1 flow-setpoint 50 flow 30 return 28 probes/flow 30 probes/return 28\n" +
		analysetest.Repeat("1:00", 6, 2*time.Hour, "0:00 flame 1\n0:03 flow "+own+" probes/flow "+probe+" return 38 probes/return 38\n"+
			"0:06 flow "+settled+" return 38 probes/flow "+probeSettled+" probes/return 38\n0:30 flame 0\n0:31 flow 39 probes/flow 39\n0:50 flow 30 return 28 probes/flow 30 probes/return 28") + "13:10 flame 0"
}

// still are short burns of water that stands: the flow climbs to a peak, and on to after once the burner is off.
const still = "0:00 flame 1\n0:00:30 flow 48\n0:01:20 flow 58\n0:01:25 flame 0\n0:02 flow 62 probes/flow 32\n0:12 flow 45\n0:20 flow 40"

func TestTwoSensorsOfTheFlow(t *testing.T) {
	moving := "0:00 flame 0 heat-demand 1 flow-setpoint 52 flow 30 return 28 probes/flow 30 probes/return 28\n" +
		analysetest.Repeat("1:00", 3, 2*time.Hour, "0:00 flame 1\n0:03 flow 52 return 38 probes/flow 52 probes/return 38\n0:30 flame 0\n0:31 flow 39 probes/flow 39\n0:50 flow 30 return 28 probes/flow 30 probes/return 28")
	doubt := func(kind string, list ...decode.Series) analyse.Check {
		return analyse.Check{Kind: kind, Sensors: true, Run: func(p *analyse.Pass) {
			p.Found(analyse.Finding{Severity: analyse.Note, From: p.Facts.From, To: p.Facts.To, Summary: "wrong", Doubts: list})
		}}
	}
	own, probe := decode.Series{Source: "boiler", Point: decode.Flow}, decode.Series{Source: "probes", Point: decode.Flow}
	none := doubt("sensor-fault")
	for _, c := range []struct {
		name, script string
		doubt        analyse.Check
		want         analyse.Outcome
		cause        string
	}{
		{"they agree when settled, and the own one is late to the peak", peaks("55", "61", "51", "51"), none, analyse.Found, "sensor-placement"},
		{"they agree when settled, and the probe's pipe is late to the peak", peaks("61", "54", "51", "51"), none, analyse.Found, ""},
		{"the probe reads 3 K high, settled as at the peak", peaks("56", "59", "51", "54"), none, analyse.Clear, ""},
		{"neither passes it by 8 K", peaks("56", "57", "51", "51"), none, analyse.Clear, ""},
		{"the own sensor jumps, the probe shows no overshoot", peaks("61", "54", "51", "51"), doubt("sensor-fault", own), analyse.Clear, ""},
		{"the own sensor is stuck, the probe shows one", peaks("51", "61", "51", "51"), doubt("sensor-fault", own), analyse.Found, ""},
		{"the probe jumps", peaks("54", "61", "51", "51"), doubt("sensor-fault", probe), analyse.Clear, ""},
		{"no flow to rely on", peaks("61", "61", "51", "51"), doubt("sensor-fault", own, probe), analyse.NotAssessable, ""},
		{"water that stands: the probe's pipe stays cold", moving + "\n" + analysetest.Repeat("7:00", 8, 30*time.Minute, still) + "11:10 flame 0", none, analyse.Found, "closed-valves"},
		{"it stood for two starts of five only", moving + "\n" + analysetest.Repeat("7:00", 2, 30*time.Minute, still) + "11:10 flame 0", none, analyse.Clear, ""},
	} {
		r := analysetest.Run(t, analysetest.Case{Script: c.script, Plant: plant}, c.doubt, overshoot.Check())
		got := analysetest.Outcome(t, r, "flow-overshoot")
		if got.Outcome != c.want {
			t.Errorf("%s: %v, %s; want %v", c.name, got.Outcome, got.Because, c.want)
		} else if f := analysetest.Finding(r, "flow-overshoot"); c.cause != "" && f.Causes[0].Cause != c.cause {
			t.Errorf("%s: first cause %q (%s), want %q", c.name, f.Causes[0].Cause, f.Causes[0].Because, c.cause)
		}
	}
}

// A sensor that hangs off its pipe comes down late with the pump running, and flattens peaks.
func TestLateSensorNearTheBorder(t *testing.T) {
	burns := func(peak, after string) string {
		return "0:00 flame 0 heat-demand 1 flow-setpoint 50 flow 30 return 28\n" +
			analysetest.Repeat("1:00", 6, 2*time.Hour, "0:00 flame 1\n0:05 flow "+peak+"\n0:10 return 40\n0:20 flame 0\n0:21 flow "+after+"\n0:30 flow 30 return 28") + "13:10 flame 0"
	}
	for _, c := range []struct {
		name, script string
		want         analyse.Outcome
	}{
		{"7 K past, and half of it left two minutes later", burns("57", "48"), analyse.NotAssessable},
		{"7 K past, and down at once", burns("57", "40.5"), analyse.Clear},
		{"5 K past, and half of it left", burns("55", "47"), analyse.Clear},
		{"7 K past, and the pump stopped with the burner", burns("57", "56"), analyse.Clear},
	} {
		r := analysetest.Run(t, analysetest.Case{Script: c.script, Plant: plant}, overshoot.Check())
		if got := analysetest.Outcome(t, r, "flow-overshoot"); got.Outcome != c.want {
			t.Errorf("%s: %v, %s; want %v", c.name, got.Outcome, got.Because, c.want)
		}
	}
}

// Of starts of unknown use some overshoot while the water stands: they may be all that were for heating.
func TestUnknownUseAndStandingWater(t *testing.T) {
	script := "0:00 flame 0 flow-setpoint 50 flow 30 return 28\n" +
		analysetest.Repeat("1:00", 20, time.Hour, "0:00 flame 1\n0:03 flow 51 return 40\n0:20 flame 0\n0:21 flow 40\n0:30 flow 30 return 28") +
		analysetest.Repeat("21:30", 5, 30*time.Minute, still) + "25:10 flame 0"
	r := analysetest.Run(t, analysetest.Case{Script: script, Plant: analyse.Plant{HotWater: analyse.CylinderHotWater}}, overshoot.Check())
	if got := analysetest.Outcome(t, r, "flow-overshoot"); got.Outcome != analyse.NotAssessable {
		t.Errorf("%v, %s; want not assessable", got.Outcome, got.Because)
	}
}
