package sensors_test

import (
	"math"
	"testing"

	"tundish/analyse"
)

// at changes single moments: the value given in the five seconds from each.
func at(f func(int) float64, v func(sound float64) float64, moments ...int) func(int) float64 {
	return func(s int) float64 {
		for _, m := range moments {
			if s >= m && s < m+5 {
				return v(f(s))
			}
		}
		return f(s)
	}
}

func by(k float64) func(float64) float64  { return func(x float64) float64 { return x + k } }
func fix(k float64) func(float64) float64 { return func(float64) float64 { return k } }

const h = 3600

// odd are moments well away from starts and stops.
var odd = []int{7*h + 605, 9*h + 700, 12*h + 605, 15*h + 700, 18*h + 605}

func own(flowAt, retAt func(int) float64, more ...signal) home {
	return home{days: 1, signals: append(bus(flowAt, retAt), more...)}
}

// The systems of these tables are invented; limits are those of the criteria. A jump of 20 K in 5 s is 4 K/s, above the
// 2.9 K/s of 24 kW in 2 l of water and metal (4.19 kJ/(kg·K)).
func TestFault(t *testing.T) {
	standing := func(s int) float64 { // cold water that stood in the pipes passes for a few seconds after a start
		x := s % 1800
		if heated(s) && x >= 10 && x < 15 {
			return ret(s) - 20
		}
		return ret(s)
	}
	cases := []struct {
		name  string
		home  home
		want  analyse.Outcome
		cause string
	}{
		{"sound", own(flow, ret), analyse.Clear, ""},
		{"sound in steps of 1 K", own(steps(1, flow), steps(1, ret)), analyse.Clear, ""},
		{"five jumps down", own(flow, at(ret, by(-22), odd...)), analyse.Found, "loose-connector"},
		{"five jumps up", own(at(flow, by(22), odd...), ret), analyse.Found, "loose-connector"},
		{"two jumps are a knock", own(flow, at(ret, by(-22), odd[:2]...)), analyse.Clear, ""},
		{"cold water that stood in the pipes, at every start", own(flow, standing), analyse.Clear, ""},
		{"open for five minutes", own(flow, with(ret, 9*h, 9*h+300, func(int, float64) float64 { return -40 })), analyse.Found, "open-circuit"},
		{"shorted for five minutes", own(flow, with(ret, 9*h, 9*h+300, func(int, float64) float64 { return 125 })), analyse.Found, "short-circuit"},
		{"one garbled telegram", own(flow, at(ret, fix(-40), 9*h)), analyse.Clear, ""},
		{"stuck while the flow moves by 20 K", own(flow, with(ret, 8*h, 14*h, func(int, float64) float64 { return 41.375 })), analyse.Found, "stuck-converter"},
		{"a quarter of an hour of one value", own(flow, with(ret, 8*h, 8*h+900, func(int, float64) float64 { return 41.375 })), analyse.Clear, ""},
		{"idle: nothing moves", home{days: 1, signals: []signal{{"boiler/flame", 2, onOff(func(int) bool { return false })},
			{"boiler/flow", 5, always(func(int) float64 { return 21 })}, {"boiler/return", 5, always(func(int) float64 { return 21 })}}}, analyse.Clear, ""},
		{"a return that is not fitted: 0 and nothing else", own(flow, func(int) float64 { return 0 }), analyse.Clear, ""},
		{"water that does not move, in steps of 1 K", own(flow, func(s int) float64 {
			if s%dayS < 18*h {
				return 22
			}
			return 23
		}), analyse.Clear, ""},
		{"a file that repeats its last row", own(flow, ret,
			signal{"file/flow", 10, always(steps(0.125, func(s int) float64 { return flow(frozen(s)) }))},
			signal{"file/return", 10, always(steps(0.125, func(s int) float64 { return ret(frozen(s)) }))}), analyse.Clear, ""},
		{"two sensors under one name", own(flow, ret, signal{"file/return", 10, always(func(s int) float64 {
			if s/10%2 == 0 {
				return flow(s)
			}
			return ret(s) - 5
		})}), analyse.Clear, ""},
		{"a gap, and other water after it", own(flow, ret, signal{"probes/flow", 5, func(s int) (float64, bool) {
			return flow(s), s < 9*h || s > 10*h+700
		}}), analyse.Clear, ""},
		{"a probe that a hand took off and put back", own(flow, ret, signal{"probes/flow", 5, strapped(with(flow, 9*h, 9*h+1200, func(int, float64) float64 { return 24 }), 20, 0.02, 0, 1)}), analyse.Clear, ""},
		{"sun on the outside sensor", own(flow, ret, signal{"boiler/outside", 60, always(func(s int) float64 {
			return 4 + 12*math.Exp(-math.Pow(float64(s-12*h)/2400, 2))
		})}), analyse.Clear, ""},
		{"outside sensor open", own(flow, ret, signal{"boiler/outside", 60, always(func(s int) float64 {
			if s > 15*h {
				return -40
			}
			return 4 + float64(s/h)/10
		})}), analyse.Found, "open-circuit"},
		{"pressure that jumps", own(flow, ret, signal{"boiler/pressure", 5, always(at(func(s int) float64 { return 1.2 + flow(s)/200 }, by(2), odd...))}), analyse.Found, ""},
		{"taps: a plate's water falls by 20 K at once", func() home {
			x := own(at(flow, by(-20), odd...), ret)
			x.signals = append(x.signals, signal{"boiler/hot-water-active", 2, onOff(func(s int) bool {
				for _, m := range odd {
					if s >= m-10 && s < m+60 {
						return true
					}
				}
				return false
			})})
			return x
		}(), analyse.Clear, ""},
		{"half an hour", home{days: 1, signals: []signal{{"boiler/flow", 5, func(s int) (float64, bool) { return flow(s), s < 1800 }}}}, analyse.NotAssessable, ""},
		{"probes alone, one of them stuck", home{days: 1, signals: []signal{{"probes/flow", 5, strapped(flow, 20, 0.02, 0, 1)},
			{"probes/return", 5, always(with(steps(0.0625, ret), 8*h, 20*h, func(int, float64) float64 { return 41.375 }))}}}, analyse.Found, "probe-failing"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			want(t, c.home.judge(t), "sensor-fault", c.want, c.cause)
		})
	}
}

// frozen is the second whose row a file repeats: from 8:00 on the one of 8:10:05.
func frozen(s int) int {
	if s > 8*h {
		return 8*h + 605
	}
	return s
}

// DS18B20 datasheet: 85 °C is what the scratchpad holds at power-up, and a temperature that water can have.
func TestPowerOn(t *testing.T) {
	hot := func(s int) float64 { return waterTo(s, 85, 60) } // settles at 85.0 °C
	probe := func(f func(int) float64) home {
		return own(flow, ret, signal{"probes/flow", 5, always(steps(0.0625, f))})
	}
	told := func(n int) home {
		x := probe(flow)
		x.refused = odd[:n]
		return x
	}
	cases := []struct {
		name string
		home home
		want analyse.Outcome
	}{
		{"85 between 65s, five times", probe(at(flow, fix(85), odd...)), analyse.Found},
		{"a true 85", home{days: 1, signals: append(bus(hot, ret), signal{"probes/flow", 5, always(steps(0.0625, hot))})}, analyse.Clear},
		{"the probe itself says so, three times", told(3), analyse.Found},
		{"plugged in once", told(1), analyse.Clear},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			want(t, c.home.judge(t), "sensor-fault", c.want, "probe-supply")
		})
	}
}
