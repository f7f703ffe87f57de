package sensors_test

import (
	"math"
	"testing"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/decode"
)

// table is a file of a home's flow, return and outside, a row every so many seconds, in steps of a tenth.
func table(every, days int, flowAt, retAt, outAt func(int) float64) home {
	return home{days: days, plant: dry, signals: []signal{{"file/flow", every, always(steps(0.1, flowAt))}, {"file/return", every, always(steps(0.1, retAt))},
		{"file/outside", every, always(steps(0.1, outAt))}}}
}

func air(s int) float64 { return 4 + 3*math.Sin(float64(s)*2*math.Pi/dayS) }

func only(v float64) func(int) float64 { return func(int) float64 { return v } }

// spoil gives v at the moments.
func spoil(f func(int) float64, v func(float64) float64, every int, moments ...int) func(int) float64 {
	return func(s int) float64 {
		for _, m := range moments {
			if s/every == m/every {
				return v(f(s))
			}
		}
		return f(s)
	}
}

// calm are moments at which the pipes are at rest or settled, ten a day.
func calm(days int) (list []int) {
	for d := range days {
		for _, m := range []int{1, 2, 3, 4, 5} {
			list = append(list, d*dayS+m*h+907)
		}
		for _, m := range []int{8, 10, 13, 16, 19} {
			list = append(list, d*dayS+m*h+1010)
		}
	}
	return list
}

// −127 °C is what thermometer software writes for a 1-Wire probe that does not answer; −999, 9999 and nan are what tables
// hold for no value (common practice, no source).
func TestImpossible(t *testing.T) {
	half := func(v float64) func(int) float64 {
		return with(flow, 8*h, 20*h, func(int, float64) float64 { return v })
	}
	cases := []struct {
		name  string
		home  home
		want  analyse.Outcome
		cause string
	}{
		{"sound", table(30, 3, flow, ret, air), analyse.Clear, ""},
		{"-127 for half a day", table(10, 1, half(-127), ret, air), analyse.Found, "open-circuit"},
		{"-127 now and then", table(10, 1, spoil(flow, fix(-127), 10, odd...), ret, air), analyse.Found, "open-circuit"},
		{"-127 and nothing else", table(10, 1, only(-127), ret, air), analyse.Found, "open-circuit"},
		{"-999 for half a day", table(10, 1, half(-999), ret, air), analyse.Found, "open-circuit"},
		{"9999 for half a day", table(10, 1, half(9999), ret, air), analyse.Found, "open-circuit"},
		{"a column of -999", table(10, 1, only(-999), ret, air), analyse.NotAssessable, ""},
		{"decimal points lost", table(10, 1, spoil(flow, func(x float64) float64 { return math.Round(x * 10) }, 10, 7*h+605, 9*h+700, 12*h+605, 15*h+700), ret, air), analyse.Found, "decimal-point-lost"},
		{"one cell that cannot be", table(10, 1, spoil(flow, fix(850), 10, 9*h), ret, air), analyse.Clear, ""},
		{"nan for half a day", table(10, 1, half(math.NaN()), ret, air), analyse.NotAssessable, ""},
		{"nan once", table(10, 1, spoil(flow, fix(math.NaN()), 10, 9*h), ret, air), analyse.Clear, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r := c.home.judge(t)
			want(t, r, "sensor-fault", c.want, c.cause)
			if c.name == "-127 now and then" || c.name == "decimal points lost" { // a few of thousands: right in between
				doubts(t, r, "sensor-fault")
				return
			}
			doubts(t, r, "sensor-fault", "file/flow")
		})
	}
}

// doubts holds that a finding says which series is wrong.
func doubts(t *testing.T, r *analyse.Result, kind string, names ...string) {
	t.Helper()
	f := analysetest.Finding(r, kind)
	if f == nil {
		return
	}
	var got []string
	for _, d := range f.Doubts {
		got = append(got, d.String())
	}
	if len(got) != len(names) {
		t.Fatalf("doubts %v, want %v", got, names)
	}
	for i := range got {
		if got[i] != names[i] {
			t.Errorf("doubts %v, want %v", got, names)
		}
	}
}

// A value that cannot be makes no fact, and the end of a converter's range none but of the sensors.
func TestImpossibleMakesNoFact(t *testing.T) {
	two := table(10, 1, flow, ret, air)
	two.signals = append(two.signals, signal{"probes/flow", 10, always(with(flow, 8*h, 20*h, func(int, float64) float64 { return -127 }))})
	for _, d := range two.judge(t).Facts.Days {
		for _, p := range d.Pairs {
			for _, x := range p.Hours {
				if p.Point == decode.Flow && math.Abs(float64(x.Diff)) > 1 {
					t.Errorf("hour %+v", x)
				}
			}
		}
	}
	r := own(with(flow, 8*h, 10*h, func(int, float64) float64 { return 125 }), ret).judge(t)
	if len(r.Facts.Firings) < 20 {
		t.Fatalf("%d firings", len(r.Facts.Firings))
	}
	for _, f := range r.Facts.Firings {
		if f.FlowSeen && f.FlowMax > 66 {
			t.Errorf("a firing's flow reached %v °C", f.FlowMax)
		}
	}
}

// A reader of half a minute cannot see how fast a jump is, but water that was 20 K hotter does not come back to a tenth.
func TestSpikes(t *testing.T) {
	const days = 3
	tap := func(f func(int) float64) func(int) float64 { return spoil(f, by(22), 30, calm(days)...) }
	combi := table(30, days, tap(flow), ret, air)
	combi.plant = analyse.Plant{HotWater: analyse.InstantaneousHotWater}
	burst := func(s int) float64 { // burns of 25 s every two minutes
		if heated(s) && s%120 < 30 {
			return 62
		}
		return 42
	}
	cases := []struct {
		name  string
		home  home
		want  analyse.Outcome
		cause string
	}{
		{"ten a day", table(30, days, tap(flow), ret, air), analyse.Found, "loose-connector"},
		{"ten a day, down", table(30, days, flow, spoil(ret, by(-15), 30, calm(days)...), air), analyse.Found, "loose-connector"},
		{"both pipes at once: water", table(30, days, tap(flow), tap(ret), air), analyse.Clear, ""},
		{"of a combi whose taps nobody tells", combi, analyse.NotAssessable, ""},
		{"three in three days: a knock", table(30, days, spoil(flow, by(22), 30, calm(days)[:3]...), ret, air), analyse.Clear, ""},
		{"a burner that cycles in two minutes", table(30, days, burst, ret, air), analyse.NotAssessable, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			want(t, c.home.judge(t), "sensor-fault", c.want, c.cause)
		})
	}
}

// Outside air without another sensor: it stands for hours in fog, but not for days in tenths.
func TestStuckOutsideAlone(t *testing.T) {
	still := func(from, to int) func(int) float64 {
		return with(air, from, to, func(int, float64) float64 { return 5.9 })
	}
	coarse := func(f func(int) float64) home {
		x := table(60, 3, flow, ret, f)
		x.signals[2].at = always(steps(1, f))
		return x
	}
	cases := []struct {
		name string
		home home
		want analyse.Outcome
	}{
		{"two days of one value", table(60, 3, flow, ret, still(12*h, 60*h)), analyse.Found},
		{"fog from evening to noon", table(60, 3, flow, ret, still(17*h, 36*h)), analyse.Clear},
		{"two days of one value in steps of 1 K", coarse(still(12*h, 60*h)), analyse.Clear},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			want(t, c.home.judge(t), "sensor-fault", c.want, "probe-failing")
		})
	}
}
