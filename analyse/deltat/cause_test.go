package deltat_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/deltat"
	"tundish/decode"
	"tundish/decode/unit"
)

// onOff is a burner of one output, 12 kW, on a design of 12 kW at 20 K.
var onOff = analyse.Plant{DesignFlow: analyse.Some[unit.Celsius](70), DesignReturn: analyse.Some[unit.Celsius](50), HotWater: analyse.NoHotWater,
	OutputMax: analyse.Some[unit.KW](12), OutputMin: analyse.Some[unit.KW](12), DesignHeatLoss: analyse.Some[unit.KW](12)}

// hour is an hour's burn at a flow and return.
func hour(water string) string { return "0:00 " + water + " flame 1\n1:00 flame 0\n" }

func days(returns ...string) string {
	script := "0:00 flame 0 flow 70 return 50\n"
	for i, r := range returns {
		for h := range 4 {
			script += analysetest.Repeat(at(24*i+4+4*h), 1, time.Hour, hour("flow 75 return "+r))
		}
	}
	return script + at(24*len(returns)) + " flame 0"
}

func at(hours int) string { return fmt.Sprintf("%d:00", hours) }

// What the water flow did over the days ranks the causes: a step is a pump's, growth is dirt's.
func TestCausesOfHigh(t *testing.T) {
	for _, c := range []struct{ name, script, first, because string }{
		{"falls at once", days("50", "33", "33", "33"), "pump-too-slow", "at once"},
		{"falls day by day", days("45", "41", "36", "30"), "restriction", "clogs"},
		{"always so", days("35", "35", "35", "35"), "restriction", "same on all days"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := analysetest.Run(t, analysetest.Case{Script: c.script, Plant: onOff, Step: 20 * time.Second}, deltat.High())
			f := analysetest.Finding(r, "high-delta-t")
			if f == nil {
				t.Fatalf("not found: %s", analysetest.Outcome(t, r, "high-delta-t").Because)
			}
			if f.Causes[0].Cause != c.first || !strings.Contains(f.Causes[0].Because, c.because) {
				t.Errorf("first cause is %+v, want %s because %q", f.Causes[0], c.first, c.because)
			}
			if len(f.Evidence) == 0 {
				t.Error("no evidence")
			}
		})
	}
}

// In the course of a day thermostatic valves shut: water that then passes by a bypass keeps up the flow and grows while
// the radiators' falls; without one the pump moves less.
func TestCausesOfLow(t *testing.T) {
	for _, c := range []struct {
		name   string
		deltas []int
		first  string
	}{{"ΔT falls", []int{9, 8, 6, 5}, "bypass-open"}, {"ΔT grows", []int{5, 6, 8, 9}, "pump-too-fast"}, {"ΔT stays", []int{6, 6, 6, 6}, "pump-too-fast"}} {
		script := "0:00 flame 0 flow 65 return 60\n"
		for day := range 3 {
			for i, d := range c.deltas {
				script += analysetest.Repeat(at(24*day+6+3*i), 1, time.Hour, hour(fmt.Sprintf("flow 65 return %d", 65-d)))
			}
		}
		r := analysetest.Run(t, analysetest.Case{Script: script + "72:00 flame 0", Plant: onOff, Step: 20 * time.Second}, deltat.Low())
		f := analysetest.Finding(r, "low-delta-t")
		if f == nil {
			t.Fatalf("%s: not found: %s", c.name, analysetest.Outcome(t, r, "low-delta-t").Because)
		}
		shown := f.Causes[0].Support > 0.6
		if f.Causes[0].Cause != c.first || shown != (c.name != "ΔT stays") {
			t.Errorf("%s: causes are %+v", c.name, f.Causes)
		}
	}
}

// A burner of twice the design output on a sound circuit: 32 K that would be 16 K at the design output.
func TestOutputAboveDesign(t *testing.T) {
	r := analysetest.Run(t, analysetest.Case{Script: burn("flow 75 return 43 modulation 100"), Plant: sized}, deltat.High())
	f := analysetest.Finding(r, "high-delta-t")
	if f == nil || f.Causes[0].Cause != "output-above-design" {
		t.Fatalf("finding is %+v", f)
	}
}

// Water flow by heat and difference: 12 kW at 5 K take 12·60/(4.11·5) = 35.0 l/min (4.11 kJ/(l·K) at 60 °C, IAPWS-IF97).
func TestWaterFlow(t *testing.T) {
	r := analysetest.Run(t, analysetest.Case{Script: burn("flow 62 return 57"), Plant: onOff}, deltat.Low())
	f := analysetest.Finding(r, "low-delta-t")
	if f == nil {
		t.Fatal("not found")
	}
	got := map[string]float64{}
	for _, n := range f.Numbers {
		got[n.Name] = n.Value
	}
	if got["water_flow_lpm"] != 35 || got["delta_t_k_median"] != 5 || got["delta_t_k_at_design_output"] != 5 {
		t.Errorf("numbers are %v", got)
	}
	if f.Causes[0].Cause != "pump-too-fast" || f.Causes[1].Cause != "bypass-open" {
		t.Errorf("causes are %+v", f.Causes)
	}
}

// Where nobody says what burns were for, a store's reheats lie apart from heating by the radiators' law: 16 K at 65 °C
// settled in reheats, 45 K at the end of heating burns that never settle.
func TestReheatsApart(t *testing.T) {
	plant := onOff
	plant.HotWater = analyse.CylinderHotWater
	heating := "0:00 flow 50 return 25 flame 1\n0:02 flow 55\n0:03 flow 58\n0:04 flow 61 return 26\n0:05 flow 65\n0:06 flow 70\n0:07 flow 73 return 28\n0:08 flame 0\n"
	reheat := "0:00 flow 65 return 49 flame 1\n0:40 flame 0\n"
	script := "0:00 flame 0 flow 40 return 30 heat-demand 1\n" + analysetest.Repeat("1:00", 20, 30*time.Minute, heating) +
		analysetest.Repeat("12:00", 2, 2*time.Hour, reheat) + "18:00 flame 0"
	r := analysetest.Run(t, analysetest.Case{Script: script, Plant: plant}, deltat.High(), deltat.Low())
	if f := analysetest.Finding(r, "high-delta-t"); f == nil {
		t.Errorf("high is %s", analysetest.Outcome(t, r, "high-delta-t").Because)
	}
	if f := analysetest.Finding(r, "low-delta-t"); f != nil {
		t.Errorf("low found: %s", f.Summary)
	}
}

// Pairing decides: 2.9 K of a heat pump's 5 K is not proved by thermistors of ±0.7 K each, by a pair of ±0.1 K it is.
func TestSensorsDecide(t *testing.T) {
	paired := []analyse.Sensor{{Series: decode.Series{Source: "boiler", Point: decode.Flow}, Error: 0.5, Paired: analyse.Some[unit.Kelvin](0.1)}}
	for _, c := range []struct {
		sensors []analyse.Sensor
		want    analyse.Outcome
	}{{nil, analyse.NotAssessable}, {paired, analyse.Found}} {
		r := analysetest.Run(t, analysetest.Case{Script: burn("flow 40 return 37.1"), Plant: pump, Sensors: c.sensors}, deltat.Low())
		if got := analysetest.Outcome(t, r, "low-delta-t"); got.Outcome != c.want {
			t.Errorf("with %v it is %v: %s", c.sensors, got.Outcome, got.Because)
		}
	}
}

// An appliance whose mains go with the demand takes its flame's signal along: what probes say afterwards is of cooling
// water, and no burning.
func TestCoolingWaterIsNoBurning(t *testing.T) {
	plant := designed
	plant.Supply = analyse.SwitchedLive
	once := "0:00 flame 0 probes/flow 60 probes/return 41\n0:01 flame 1\n0:31 boiler/* -\n0:31:30 probes/flow 52 probes/return 50\n2:00 flame 0\n"
	r := analysetest.Run(t, analysetest.Case{Script: analysetest.Repeat("0:00", 4, 3*time.Hour, once) + "12:00 flame 0", Plant: plant, Live: true}, deltat.Low())
	if f := analysetest.Finding(r, "low-delta-t"); f != nil {
		t.Errorf("found: %s", f.Summary)
	}
}
