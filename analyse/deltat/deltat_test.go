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
		{"low within the probes' error: 9.6 K", designed, burn("flow 60 return 50.4"), analyse.Clear, analyse.Clear},
		{"small because the burner is turned right down: 9 K at 6 of 12 kW is 18 K", sized, burn("flow 50 return 41 modulation 0"), analyse.Clear, analyse.Clear},
		{"low all the same: 5 K at 12 kW", sized, burn("flow 60 return 55 modulation 33.3"), analyse.Found, analyse.Clear},
		{"low at the bottom of a burner of unknown output", designed, burn("flow 60 return 55 modulation 5"), analyse.NotAssessable, analyse.Clear},
		{"modulation as a share of rated output: 9 K at 25 % of 24 kW is 18 K at 12 kW", sized, burn("flow 50 return 41 modulation 25"), analyse.Clear, analyse.Clear},
		{"wide at twice the design output: 32 K", sized, burn("flow 75 return 43 modulation 100"), analyse.Clear, analyse.Found},
		{"small, output not told, and it may be the burner's least: 8 K at 6 of 12 kW is 16 K", sized, burn("flow 50 return 42"), analyse.NotAssessable, analyse.Clear},
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
