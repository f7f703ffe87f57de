package sensors_test

import (
	"math"
	"strings"
	"testing"

	"tundish/analyse"
	"tundish/analyse/analysetest"
)

// unrested is a home whose burner never rests: the flow goes from mid−swing to mid+swing and back in a day.
func unrested(mid, swing float64, ownBy, share, probeBy float64) home {
	const days = 3
	hot := func(s int) float64 { return mid + swing*math.Sin(float64(s)*2*math.Pi/dayS) }
	cool := func(s int) float64 { return hot(s) - 12 }
	x := home{days: days, plant: dry}
	x.signals = append(x.signals, signal{"boiler/flame", 2, onOff(func(int) bool { return true })},
		signal{"boiler/flow", 10, always(steps(0.125, func(s int) float64 { return hot(s) + ownBy }))},
		signal{"boiler/return", 10, always(steps(0.125, cool))},
		signal{"probes/flow", 10, strapped(hot, 20, share, probeBy, days)}, signal{"probes/return", 10, strapped(cool, 20, 0.02, 0.1, days)})
	return x
}

// A difference that stays the same from 35 to 55 °C is an offset, one that goes with the excess over a room of 20 °C is
// contact: 7 K of 35 K and 3 K of 15 K are the same share.
func TestOffsetOrContact(t *testing.T) {
	cases := []struct {
		name   string
		home   home
		cause  string
		doubts []string
	}{
		{"the appliance reads 7 K high", unrested(45, 10, 7, 0.01, 0), "sensor-offset", []string{"boiler/flow", "probes/flow"}},
		{"a probe reads 8 K low", unrested(45, 10, 0, 0.01, -8), "sensor-offset", []string{"boiler/flow", "probes/flow"}},
		{"the appliance reads 7 K low", unrested(45, 10, -7, 0.01, 0), "sensor-offset", []string{"boiler/flow", "probes/flow"}},
		{"a fifth of the excess is missing", unrested(45, 10, 0, 0.2, 0), "poor-contact", []string{"probes/flow"}},
		{"a fifth, and of hotter water", unrested(60, 12, 0, 0.2, 0), "poor-contact", []string{"probes/flow"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r := c.home.judge(t)
			want(t, r, "probe-disagreement", analyse.Found, c.cause)
			doubts(t, r, "probe-disagreement", c.doubts...)
			f := analysetest.Finding(r, "probe-disagreement")
			if f.Causes[0].Support < 0.6 {
				t.Errorf("%+v", f.Causes)
			}
		})
	}
}

// At one temperature nothing tells: the answer must not be sure of it, and both are in doubt.
func TestNeitherOffsetNorContact(t *testing.T) {
	r := unrested(50, 1, 0, 0.01, -7).judge(t)
	want(t, r, "probe-disagreement", analyse.Found, "")
	f := analysetest.Finding(r, "probe-disagreement")
	if f.Causes[0].Support > 0.6 || f.Causes[0].Support-f.Causes[1].Support > 0.2 {
		t.Errorf("%+v", f.Causes)
	}
	doubts(t, r, "probe-disagreement", "boiler/flow", "probes/flow")
}

// What is in no circuit is compared where that can be, and named where it cannot.
func TestOtherPairs(t *testing.T) {
	const days = 3
	store := func(off float64) func(int) float64 { // reheated from 48 to 62 °C at six
		return func(s int) float64 {
			x := float64((s+18*h)%dayS) / h // h since six
			return off + 48 + 14*math.Min(1, x)*math.Exp(-max(0, x-1)/20)
		}
	}
	sunny := func(s int) float64 { // sun on the wall by day
		return air(s) + 12*math.Max(0, math.Sin(float64(s%dayS-8*h)*math.Pi/(8*h)))*map[bool]float64{true: 1}[s%dayS > 8*h && s%dayS < 16*h]
	}
	with := func(more ...signal) home {
		x := probes(days, strapped(flow, 20, 0.02, 0, days), strapped(ret, 20, 0.02, 0, days))
		x.signals = append(x.signals, more...)
		return x
	}
	pair := func(point string, a, b func(int) float64) []signal {
		return []signal{{"boiler/" + point, 30, always(steps(0.125, a))}, {"probes/" + point, 30, always(steps(0.125, b))}}
	}
	plus := func(f func(int) float64, k float64) func(int) float64 { return func(s int) float64 { return f(s) + k } }
	cases := []struct {
		name string
		home home
		want analyse.Outcome
		says string
	}{
		{"a store, 9 K apart", with(pair("cylinder", store(0), store(-9))...), analyse.Found, "cylinder"},
		{"a store, 4 K apart", with(pair("cylinder", store(0), store(-4))...), analyse.Clear, "boiler/cylinder and probes/cylinder differ by 4.0 K"},
		{"a store's lower sensor, cold after draws only", with(pair("cylinder", store(0), func(s int) float64 {
			if x := s % dayS; x > 12*h || x < 5*h {
				return 30
			}
			return store(0)(s) - 2
		})...), analyse.Clear, "boiler/cylinder"},
		{"outside, 9 K apart", with(pair("outside", air, plus(air, 9))...), analyse.Found, "outside"},
		{"outside, sun on one", with(pair("outside", air, sunny)...), analyse.Clear, "boiler/outside and probes/outside differ by 0"},
		{"two rooms", with(pair("room", func(int) float64 { return 21 }, func(int) float64 { return 15 })...), analyse.Clear, "not compared: boiler/room and probes/room"},
		{"a store read for minutes", with(signal{"boiler/cylinder", 30, always(store(0))}, signal{"probes/cylinder", 30, func(s int) (float64, bool) { return store(-9)(s), s < 600 }}), analyse.Clear, "not compared: boiler/cylinder"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r := c.home.judge(t)
			want(t, r, "probe-disagreement", c.want, "")
			text := analysetest.Outcome(t, r, "probe-disagreement").Because
			if f := analysetest.Finding(r, "probe-disagreement"); f != nil {
				text = f.Summary
			}
			if !strings.Contains(text, c.says) {
				t.Errorf("%q does not say %q", text, c.says)
			}
			for _, d := range r.Facts.Days {
				for _, p := range d.Pairs {
					if p.Point.String() != "flow" && p.Point.String() != "return" && len(p.Hours) > 1 {
						t.Errorf("facts grow: %+v", p)
					}
				}
			}
		})
	}
}
