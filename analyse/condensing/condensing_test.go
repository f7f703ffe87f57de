package condensing_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/condensing"
	"tundish/decode/unit"
)

const kind = "not-condensing"

// heating writes days of firings of forty minutes, twenty minutes apart: flow and return by the hour of the record, the
// weather around outside °C by ±swing K.
func heating(days int, outside, swing float64, water func(hour int, outside float64) (flow, ret float64)) string {
	var b strings.Builder
	b.WriteString("0:00 flame 0 heat-demand 1 hot-water-active 0 modulation 0 flow 30 return 28\n")
	for h := range 24 * days {
		out := outside
		switch h % 24 / 6 {
		case 0:
			out -= swing
		case 2:
			out += swing
		}
		flow, ret := water(h, out)
		fmt.Fprintf(&b, "%d:00 outside %g flow-setpoint %g flow %g return %g flame 1 modulation 40\n%d:40 flame 0 modulation 0 return %g\n",
			h, out, flow, flow, ret, h, ret-4)
	}
	fmt.Fprintf(&b, "%d:00 flame 0", 24*days)
	return b.String()
}

// fixed is water at one flow temperature.
func fixed(flow, spread float64) func(int, float64) (float64, float64) {
	return func(int, float64) (float64, float64) { return flow, flow - spread }
}

func plant(fuel string) analyse.Plant {
	return analyse.Plant{Kind: "boiler", Fuel: fuel, HotWater: analyse.InstantaneousHotWater,
		DesignFlow: analyse.Some[unit.Celsius](70), DesignReturn: analyse.Some[unit.Celsius](50), OutsideDesign: analyse.Some[unit.Celsius](-3)}
}

func judge(t testing.TB, script string, p analyse.Plant) (*analyse.Result, analyse.Checked) {
	r := analysetest.Run(t, analysetest.Case{Script: script, Plant: p, Step: 30 * time.Second}, condensing.Check())
	return r, analysetest.Outcome(t, r, kind)
}

func with(p analyse.Plant, change func(*analyse.Plant)) analyse.Plant { change(&p); return p }

// Hot reheats of 40 min each, between heating with a cool return.
func reheats(hours int) string {
	return analysetest.Repeat("0:00", hours, time.Hour, `
0:00 hot-water-active 1 flame 1 flow 80 return 70 modulation 90
0:40 hot-water-active 0 flame 0 flow 40 return 38
`)
}

func TestOutcomes(t *testing.T) {
	hot := func(spread float64) string { return heating(2, 5, 5, fixed(75, spread)) }
	between := func(ret float64) string { return heating(2, 5, 5, fixed(ret+12, 12)) }
	for name, c := range map[string]struct {
		script string
		plant  analyse.Plant
		want   analyse.Outcome
		says   string
	}{
		"natural gas, return of 63":           {hot(12), plant("natural-gas"), analyse.Found, "condensing boiler, which the job sheet does not say"},
		"natural gas, return of 45":           {between(45), plant("natural-gas"), analyse.Clear, ""},
		"natural gas, return near the dew":    {between(55.5), plant("natural-gas"), analyse.NotAssessable, "flue-gas analysis"},
		"LPG, return of 55":                   {between(55), plant("lpg"), analyse.Found, ""},
		"oil, return of 52":                   {between(52), plant("oil"), analyse.Found, ""},
		"natural gas, return of 52":           {between(52), plant("natural-gas"), analyse.Clear, ""},
		"fuel not known, return of 52":        {between(52), plant(""), analyse.NotAssessable, "does not name"},
		"not made to condense":                {hot(12), with(plant("oil"), func(p *analyse.Plant) { p.Condensing = analyse.Some(false) }), analyse.Clear, "does not apply"},
		"made to condense":                    {hot(12), with(plant("oil"), func(p *analyse.Plant) { p.Condensing = analyse.Some(true) }), analyse.Found, ""},
		"a heat pump":                         {hot(12), with(plant(""), func(p *analyse.Plant) { p.Kind = "heat-pump" }), analyse.Clear, "does not apply"},
		"electric":                            {hot(12), plant("electricity"), analyse.Clear, "does not apply"},
		"hot water alone":                     {reheats(20), plant("natural-gas"), analyse.NotAssessable, "for hot water, which does not count"},
		"no return":                           {"0:00 flame 1 flow 60\n20:00 flame 0", plant("natural-gas"), analyse.NotAssessable, "no return temperature"},
		"an hour of burning":                  {"0:00 flame 1 flow 70 return 60 hot-water-active 0\n1:00 flame 0\n3:00 flame 0", plant("natural-gas"), analyse.NotAssessable, "only 1.0 h"},
		"design weather, for what it's worth": {heating(2, -2, 1, fixed(78, 15)), plant("natural-gas"), analyse.Found, "designed for"},
	} {
		t.Run(name, func(t *testing.T) {
			_, got := judge(t, c.script, c.plant)
			if got.Outcome != c.want || !strings.Contains(got.Because, c.says) {
				t.Errorf("%v: %s\nwant %v with %q", got.Outcome, got.Because, c.want, c.says)
			}
		})
	}
}

// Hours of hot reheats must not make a cool heating hot, nor hours of a cool tap a hot heating cool.
func TestHotWaterDoesNotDecide(t *testing.T) {
	mixed := func(heat, water float64) string {
		return "0:00 flame 0 hot-water-active 0 flow 30 return 28 modulation 0\n" + analysetest.Repeat("0:00", 24, time.Hour, fmt.Sprintf(`
0:00 hot-water-active 0 flame 1 flow %g return %g modulation 20
0:20 flame 0
0:25 hot-water-active 1 flame 1 flow %g return %g modulation 100
0:55 hot-water-active 0 flame 0 modulation 0
`, heat+10, heat, water+10, water)) + "24:00 flame 0"
	}
	if _, got := judge(t, mixed(42, 72), plant("natural-gas")); got.Outcome != analyse.Clear {
		t.Errorf("hot reheats: %v: %s", got.Outcome, got.Because)
	}
	if _, got := judge(t, mixed(66, 30), plant("natural-gas")); got.Outcome != analyse.Found {
		t.Errorf("cool taps: %v: %s", got.Outcome, got.Because)
	}
}

// Half of the time the burner runs at its least with a hot return, half at its most with a cool one: by time half is above
// the dew point, by heat a fifth.
func TestHeatWeighsAndNotTime(t *testing.T) {
	script := "0:00 flame 1 hot-water-active 0 flow 70 return 62 modulation 0\n" + analysetest.Repeat("0:00", 12, 2*time.Hour, `
0:00 flow 74 return 64 modulation 0
1:08 flow 60 return 40 modulation 100
`) + "24:00 flame 0"
	p := with(plant("natural-gas"), func(p *analyse.Plant) { p.OutputMax, p.OutputMin = analyse.Some[unit.KW](20), analyse.Some[unit.KW](5) })
	_, got := judge(t, script, p)
	if got.Outcome != analyse.Clear || !strings.Contains(got.Because, "2") {
		t.Errorf("%v: %s", got.Outcome, got.Because)
	}
	if _, got := judge(t, strings.ReplaceAll(strings.ReplaceAll(script, "modulation 100", "modulation 50"), "modulation 0", "modulation 50"), p); got.Outcome != analyse.Found {
		t.Errorf("at one output: %v: %s", got.Outcome, got.Because)
	}
}

// The flow that a design needs in milder weather is by EN 442's law with the exponent 1.3 of panel radiators, worked by hand:
// 70/50 at −3 °C needs 55/42 at 5 °C (load 15/23, excess 40·0.652^(1/1.3) = 28.8 K); 85/78 needs 76/70 at 1 °C and 69/64 at 5 °C.
func TestCauses(t *testing.T) {
	laid := func(flow, ret unit.Celsius) analyse.Plant {
		return with(plant("natural-gas"), func(p *analyse.Plant) { p.DesignFlow, p.DesignReturn = analyse.Some(flow), analyse.Some(ret) })
	}
	measured := with(plant("natural-gas"), func(p *analyse.Plant) {
		p.OutputMax, p.OutputMin, p.DesignHeatLoss = analyse.Some[unit.KW](20), analyse.Some[unit.KW](5), analyse.Some[unit.KW](8)
	})
	noDesign := with(plant("natural-gas"), func(p *analyse.Plant) {
		p.DesignFlow, p.DesignReturn = analyse.Opt[unit.Celsius]{}, analyse.Opt[unit.Celsius]{}
	})
	// This curve lies 20 K above what a 70/50 design needs, and is as steep.
	curve := func(_ int, out float64) (float64, float64) { return 75 - 2*(out-5), 63 - 1.6*(out-5) }
	hotCurve := func(_ int, out float64) (float64, float64) { return 76 - 2*(out-1), 70 - 2*(out-1) }
	little := func(flow, ret float64) func(int, float64) (float64, float64) {
		return func(_ int, out float64) (float64, float64) { return flow + 3*(5-out), ret + 3*(5-out) }
	}
	noWeather := func(script string) string {
		return strings.ReplaceAll(strings.ReplaceAll(script, " outside ", " room "), " flow-setpoint ", " cylinder ")
	}
	for name, c := range map[string]struct {
		script string
		plant  analyse.Plant
		first  string
	}{
		"fixed whatever the weather":               {heating(2, 5, 5, fixed(76, 13)), plant("natural-gas"), "weather-compensation-missing"},
		"fixed, the weather moved by 5 K":          {heating(2, 5, 2.5, fixed(76, 13)), plant("natural-gas"), "weather-compensation-missing"},
		"fixed, no design known":                   {heating(2, 5, 5, fixed(76, 13)), noDesign, "weather-compensation-missing"},
		"fixed, still weather":                     {heating(2, 5, 0.5, fixed(76, 13)), plant("natural-gas"), "set-point-too-high"},
		"fixed above a hot design, still weather":  {heating(2, 5, 0.5, fixed(84, 5)), laid(85, 78), "set-point-too-high"},
		"fixed above a hot design, weather moved":  {heating(2, 5, 4, fixed(84, 5)), laid(85, 78), "weather-compensation-missing"},
		"fixed where a hot design needs it":        {heating(2, 1, 3, fixed(77, 7)), laid(85, 78), "emitters-undersized"},
		"a curve that lies too high":               {heating(2, 4, 5, curve), plant("natural-gas"), "set-point-too-high"},
		"a curve that a hot design needs":          {heating(2, 1, 1, hotCurve), laid(85, 78), "emitters-undersized"},
		"the return hardly cools":                  {heating(2, 5, 1, little(60, 58)), plant("lpg"), "bypass-open"},
		"cools too little for the burner's output": {heating(2, 5, 1, little(75, 67)), measured, "bypass-open"},
		"cools little, but too hot first":          {heating(2, 5, 4, fixed(84, 3)), laid(84, 73), "weather-compensation-missing"},
		"cools little, too hot, no weather":        {noWeather(heating(2, 5, 4, fixed(84, 3))), laid(84, 73), "weather-compensation-missing"},
	} {
		t.Run(name, func(t *testing.T) {
			r, got := judge(t, c.script, c.plant)
			f := analysetest.Finding(r, kind)
			if f == nil {
				t.Fatal(got.Outcome, got.Because)
			}
			if f.Causes[0].Cause != c.first {
				t.Errorf("first cause %s (%s), want %s; %+v", f.Causes[0].Cause, f.Causes[0].Because, c.first, f.Causes)
			}
			for _, x := range f.Causes {
				if x.Settle == "" || x.Because == "" || x.Support <= 0 || x.Support > 1 {
					t.Errorf("%+v", x)
				}
			}
			if f.Severity > analyse.Advise || len(f.Evidence) == 0 {
				t.Errorf("severity %v, %d stretches", f.Severity, len(f.Evidence))
			}
		})
	}
}

// Two sensors of the return that tell opposite things: neither is believed.
func TestSensorsThatDoNotAgree(t *testing.T) {
	script := heating(2, 5, 5, fixed(75, 12)) + "\n0:00 probes/flow 60 probes/return 44\n"
	if _, got := judge(t, script, plant("natural-gas")); got.Outcome != analyse.NotAssessable || !strings.Contains(got.Because, "do not agree") {
		t.Errorf("%v: %s", got.Outcome, got.Because)
	}
}

// Whatever the return: more than 4 K from any dew point of natural gas (54 to 58 °C) the answer is certain, and never the
// wrong way round; a higher return never turns a finding into clear.
func TestFarFromTheDewPointIsCertain(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		ret := rapid.Float64Range(30, 75).Draw(r, "return")
		spread := rapid.Float64Range(4, 20).Draw(r, "spread")
		_, got := judge(t, heating(1, 5, 3, fixed(ret+spread, spread)), plant("natural-gas"))
		switch {
		case ret < 50 && got.Outcome != analyse.Clear, ret > 61 && got.Outcome != analyse.Found:
			r.Errorf("%.1f °C: %v: %s", ret, got.Outcome, got.Because)
		case ret < 53 && got.Outcome == analyse.Found, ret > 59 && got.Outcome == analyse.Clear:
			r.Errorf("%.1f °C: %v: %s", ret, got.Outcome, got.Because)
		}
	})
}
