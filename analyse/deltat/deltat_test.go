package deltat_test

import (
	"testing"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/deltat"
	"tundish/decode/unit"
)

var (
	designed = analyse.Plant{DesignFlow: analyse.Some[unit.Celsius](70), DesignReturn: analyse.Some[unit.Celsius](50), HotWater: analyse.NoHotWater}
	sized    = analyse.Plant{DesignFlow: analyse.Some[unit.Celsius](70), DesignReturn: analyse.Some[unit.Celsius](50), HotWater: analyse.NoHotWater,
		OutputMax: analyse.Some[unit.KW](24), OutputMin: analyse.Some[unit.KW](6), DesignHeatLoss: analyse.Some[unit.KW](12)}
)

var pump = analyse.Plant{Kind: "heat-pump", Emitters: "underfloor", DesignFlow: analyse.Some[unit.Celsius](38), DesignReturn: analyse.Some[unit.Celsius](33),
	HotWater: analyse.NoHotWater}

func burn(water string) string {
	return "0:00 flame 0 " + water + "\n0:02 flame 1\n1:02 flame 0\n2:00 flame 0"
}

func TestDeltaT(t *testing.T) {
	cases := []struct {
		name      string
		plant     analyse.Plant
		script    string
		low, high analyse.Outcome
	}{
		{"design", designed, burn("flow 68 return 49"), analyse.Clear, analyse.Clear},
		{"low: 5 K of 20", designed, burn("flow 60 return 55"), analyse.Found, analyse.Clear},
		{"high: 34 K of 20", designed, burn("flow 70 return 36"), analyse.Clear, analyse.Found},
		{"low within the error: 10.6 K at 55 °C mean, 11.3–13.4 K at the design output by EN 442", designed, burn("flow 60 return 49.4"), analyse.NotAssessable, analyse.Clear},
		{"small because the water is lukewarm: 6 K at 37 °C mean, 20 K by EN 442 at 60 °C", designed, burn("flow 40 return 34"), analyse.Clear, analyse.Clear},
		{"high because of the water flow alone: 26 K at 8 of 12 kW is 39 K", sized, burn("flow 65 return 39 modulation 11.1"), analyse.Clear, analyse.Found},
		{"high in the burner's output alone: 26 K at 18 of 12 kW is 17 K", sized, burn("flow 75 return 49 modulation 66.7"), analyse.Clear, analyse.Clear},
		{"4 K under the design that a heat pump has", pump, burn("flow 38 return 34"), analyse.Clear, analyse.Clear},
		{"2 K of a heat pump's 5", pump, burn("flow 40 return 38"), analyse.Found, analyse.Clear},
		{"9 K of a heat pump's 5", pump, burn("flow 42 return 33"), analyse.Clear, analyse.Found},
		{"no design, but 2 K at full output", analyse.Plant{Kind: "boiler", HotWater: analyse.NoHotWater}, burn("flow 60 return 58 modulation 90"), analyse.Found, analyse.NotAssessable},
		{"no design, but 45 K", analyse.Plant{HotWater: analyse.NoHotWater}, burn("flow 75 return 30"), analyse.NotAssessable, analyse.Found},
		{"no design and 2 K at the least output", analyse.Plant{Kind: "boiler", HotWater: analyse.NoHotWater}, burn("flow 60 return 58 modulation 5"), analyse.NotAssessable, analyse.NotAssessable},
		{"return shorted for most of the time: what is left is design", designed, "0:00 flame 0 flow 68 return 49\n0:02 flame 1\n0:40 return 125\n3:00 return 49\n3:40 flame 0\n4:00 flame 0", analyse.Clear, analyse.Clear},
		{"return probe in the air of the room: 34 K, or so it seems", designed, burn("flow 56 return 22"), analyse.Clear, analyse.NotAssessable},
		{"flow probe off its pipe beside a sound bus: no difference at all", designed, burn("flow 68 return 49 probes/flow 48 probes/return 48.5"), analyse.Clear, analyse.Clear},
		{"bus and probes agree on 5 K", designed, burn("flow 60 return 55 probes/flow 59.4 probes/return 54.6"), analyse.Found, analyse.Clear},
		{"bus says 5 K, probes 19 K", designed, burn("flow 60 return 55 probes/flow 59 probes/return 40"), analyse.NotAssessable, analyse.Clear},
		{"small because the burner is turned right down: 9 K at 6 of 12 kW is 18 K", sized, burn("flow 50 return 41 modulation 0"), analyse.Clear, analyse.Clear},
		{"low all the same: 5 K at 12 kW", sized, burn("flow 60 return 55 modulation 33.3"), analyse.Found, analyse.Clear},
		{"low at the bottom of a burner of unknown output", designed, burn("flow 60 return 55 modulation 5"), analyse.NotAssessable, analyse.Clear},
		{"modulation as a share of rated output: 9 K at 25 % of 24 kW is 18 K at 12 kW", sized, burn("flow 50 return 41 modulation 25"), analyse.Clear, analyse.Clear},
		{"wide at twice the design output: 32 K", sized, burn("flow 75 return 43 modulation 100"), analyse.Clear, analyse.Found},
		{"small, output not told, but the water is cool: 8 K at 46 °C mean, 14 K by EN 442", sized, burn("flow 50 return 42"), analyse.Clear, analyse.Clear},
		{"small whatever the output: 4 K", sized, burn("flow 50 return 46"), analyse.Found, analyse.Clear},
		{"probes swapped", designed, burn("flow 49 return 62"), analyse.NotAssessable, analyse.NotAssessable},
		{"never settles", designed, "0:00 flame 0 flow 40 return 30\n0:02 flame 1\n0:03 flow 50\n0:04 flow 60\n0:05 flame 0\n2:00 flame 0", analyse.NotAssessable, analyse.NotAssessable},
		{"no design", analyse.Plant{}, burn("flow 68 return 49"), analyse.NotAssessable, analyse.NotAssessable},
		{"no return", designed, burn("flow 68"), analyse.NotAssessable, analyse.NotAssessable},
		{"flow and return by different sources", designed, burn("flow 68 probes/return 49"), analyse.NotAssessable, analyse.NotAssessable},
		{"hot water only", designed, "0:00 flame 0 flow 68 return 63 hot-water-active 1\n0:02 flame 1\n1:02 flame 0\n2:00 flame 0", analyse.NotAssessable, analyse.NotAssessable},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := analysetest.Run(t, analysetest.Case{Script: c.script, Plant: c.plant}, deltat.Low(), deltat.High())
			if got := analysetest.Outcome(t, r, "low-delta-t"); got.Outcome != c.low {
				t.Errorf("low is %v: %s; want %v", got.Outcome, got.Because, c.low)
			}
			if got := analysetest.Outcome(t, r, "high-delta-t"); got.Outcome != c.high {
				t.Errorf("high is %v: %s; want %v", got.Outcome, got.Because, c.high)
			}
		})
	}
}
