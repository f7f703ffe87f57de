package pressure_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/pressure"
)

// density of air-free water at one atmosphere, kg/m³, every 10 °C from 10 to 80 °C: CRC Handbook of Chemistry and Physics,
// "Properties of Water" (values from memory, rounded to 0.1).
var density = []float64{999.7, 998.2, 995.7, 992.2, 988.0, 983.2, 977.8, 971.8}

func water(c float64) float64 {
	i := min(max(int(c/10)-1, 0), len(density)-2)
	return density[i] + (c-float64(10*(i+1)))/10*(density[i+1]-density[i])
}

// sealed is a system by Boyle's law at constant temperature of the gas.
type sealed struct{ vessel, charge, fill, litres float64 } // l, bar, bar at 15 °C, l

const atmosphere = 1.01325

func (s sealed) bar(c, lost float64) float64 {
	gas := s.vessel*(s.charge+atmosphere)/(s.fill+atmosphere) - s.litres*(water(15)/water(c)-1) + lost
	return (s.charge+atmosphere)*s.vessel/gas - atmosphere
}

// The test's own law against hot pressures that follow from it by hand: V_gas = V·(p0+1.013)/(p+1.013).
func TestLawOfTheTest(t *testing.T) {
	for _, c := range []struct {
		s   sealed
		hot float64
	}{{sealed{8, 1.0, 1.2, 80}, 1.90}, {sealed{8, 1.0, 1.2, 120}, 2.44}, {sealed{8, 0.2, 1.2, 100}, 3.39}} {
		if got := c.s.bar(70, 0); math.Abs(got-c.hot) > 0.05 {
			t.Errorf("%+v: %.2f bar at 70 °C, want %.2f", c.s, got, c.hot)
		}
	}
}

// home is a script of days in which the heating runs from 6 to 22 h, the water going up and down every four hours.
type home struct {
	s         sealed
	days      int
	low, high float64 // °C, mean water
	perDay    float64 // l lost
	milder    float64 // K a day by which the high falls
	offset    float64 // bar, of the sensor
	step      float64 // bar
	refillDay int     // 0: none; at 12:00 of that day all that was lost comes back
	drainDay  int     // 0: none; at 12:00 of that day a litre goes
	every     int     // min between readings; 0: 4
	without   string
}

func (h home) script() string {
	var b strings.Builder
	lost, every := 0.0, h.minutes()
	for at := 0; at < h.days*1440; at += every {
		hour := float64(at%1440) / 60
		lost += h.perDay * float64(every) / 1440
		day := at / 1440
		if day == h.refillDay && h.refillDay > 0 && at%1440 == 720 {
			lost = 0
		}
		if day == h.drainDay && h.drainDay > 0 && at%1440 == 720 {
			lost++
		}
		on, c := 0, 20.0
		if hour >= 6 && hour < 22 {
			on = 1
			c = h.low + (h.high-h.milder*float64(day)-h.low)*(0.5-0.5*math.Cos((hour-6)*math.Pi/2))
		}
		p := h.s.bar(c, lost) + h.offset
		if h.step > 0 {
			p = math.Round(p/h.step) * h.step
		}
		line := fmt.Sprintf("%d:%d pump %d heat-active %d flame %d flow %.2f return %.2f pressure %.4f", at/60, at%60, on, on, on, c+4*float64(on), c-4*float64(on), p)
		for _, w := range strings.Fields(h.without) {
			f := strings.Fields(line)
			for i := 1; i < len(f); i += 2 {
				if f[i] == w {
					f = append(f[:i], f[i+2:]...)
					break
				}
			}
			line = strings.Join(f, " ")
		}
		b.WriteString(line + "\n")
	}
	return b.String()
}

func (h home) minutes() int { return max(4, h.every) }

func judge(t testing.TB, h home) *analyse.Result {
	return analysetest.Run(t, analysetest.Case{Script: h.script(), Step: time.Duration(h.minutes()) * time.Minute, Plant: analyse.Plant{HotWater: analyse.NoHotWater}}, pressure.Loss(), pressure.Swing())
}

var sound = sealed{10, 1.0, 1.3, 100}

func TestVerdicts(t *testing.T) {
	flat := sealed{8, 0.2, 1.2, 100}
	for _, c := range []struct {
		name        string
		h           home
		loss, swing analyse.Outcome
		cause       string // first of the finding
	}{
		{"sound", home{s: sound, days: 7, low: 25, high: 60}, analyse.Clear, analyse.Clear, ""},
		{"sound, in steps of 0.1 bar", home{s: sound, days: 9, low: 25, high: 60, step: 0.1}, analyse.Clear, analyse.Clear, ""},
		{"a joint weeps", home{s: sound, days: 7, low: 25, high: 60, perDay: 0.12}, analyse.Found, analyse.Clear, "leak"},
		{"a joint weeps, in steps of 0.1 bar", home{s: sound, days: 10, low: 25, high: 60, perDay: 0.12, step: 0.1}, analyse.Found, analyse.Clear, "leak"},
		{"a leak topped up in mid-record", home{s: sound, days: 9, low: 25, high: 60, perDay: 0.25, refillDay: 4}, analyse.Found, analyse.Clear, "leak"},
		{"the vessel is flat", home{s: flat, days: 4, low: 22, high: 60}, analyse.Clear, analyse.Found, "expansion-vessel"},
		{"the vessel is far too small", home{s: sealed{4.2, 1.0, 1.3, 100}, days: 4, low: 22, high: 50}, analyse.Clear, analyse.Found, "expansion-vessel"},
		// Look-alikes.
		{"the weather turns mild: pressure falls with the water", home{s: sound, days: 7, low: 25, high: 65, milder: 4}, analyse.Clear, analyse.Clear, ""},
		{"a litre let out once", home{s: sound, days: 9, low: 25, high: 60, drainDay: 4}, analyse.Clear, analyse.Clear, ""},
		{"a wide range of temperature at a sound vessel", home{s: sealed{12, 1.0, 1.2, 100}, days: 7, low: 20, high: 72}, analyse.Clear, analyse.Clear, ""},
		// What the data cannot tell.
		{"two days", home{s: sound, days: 2, low: 25, high: 60, perDay: 0.12}, analyse.NotAssessable, analyse.Clear, ""},
		{"steps of 0.5 bar for four days", home{s: sound, days: 4, low: 25, high: 45, perDay: 0.1, step: 0.5}, analyse.NotAssessable, analyse.NotAssessable, ""},
		{"the water hardly changes", home{s: flat, days: 4, low: 35, high: 40}, analyse.Clear, analyse.NotAssessable, ""},
		{"no pressure", home{s: flat, days: 4, low: 25, high: 50, without: "pressure"}, analyse.NotAssessable, analyse.NotAssessable, ""},
		{"no temperature", home{s: flat, days: 4, low: 25, high: 50, without: "flow return"}, analyse.NotAssessable, analyse.NotAssessable, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := judge(t, c.h)
			for kind, want := range map[string]analyse.Outcome{"pressure-loss": c.loss, "pressure-swing": c.swing} {
				got := analysetest.Outcome(t, r, kind)
				if got.Outcome != want {
					t.Errorf("%s: %v, %s; want %v", kind, got.Outcome, got.Because, want)
				}
				if f := analysetest.Finding(r, kind); f != nil && c.cause != "" && f.Causes[0].Cause != c.cause {
					t.Errorf("%s: first cause %q, want %q", kind, f.Causes[0].Cause, c.cause)
				}
			}
		})
	}
}

// The slope found is that of the law over the range: 0.013 to 0.023 bar/K for sound vessels of 8 l on 80 to 120 l.
func TestSlopeAgainstBoyle(t *testing.T) {
	for _, litres := range []float64{150, 170} {
		s := sealed{8, 1.0, 1.2, litres}
		f := analysetest.Finding(judge(t, home{s: s, days: 3, low: 20, high: 60}), "pressure-swing")
		want := (s.bar(60, 0) - s.bar(20, 0)) / 40
		if want < 0.026 {
			t.Fatalf("%.0f l: %.4f bar/K, the test wants a fault", litres, want)
		}
		if f == nil {
			t.Fatalf("%.0f l: not found, %.4f bar/K", litres, want)
		}
		if got := f.Numbers[0].Value; math.Abs(got-want) > 0.1*want {
			t.Errorf("%.0f l: %.4f bar/K, want %.4f", litres, got, want)
		}
	}
}

// A constant offset of the sensor changes nothing; a pure swing of temperature is no loss; a fall that goes on is not
// called clear.
func TestProperties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := home{s: sealed{rapid.Float64Range(6, 14).Draw(rt, "vessel"), 1.0, 1.3, 100}, days: rapid.IntRange(4, 7).Draw(rt, "days"),
			low: 25, every: 20, high: rapid.Float64Range(40, 65).Draw(rt, "high"), milder: rapid.Float64Range(-1, 2).Draw(rt, "milder")}
		if f := analysetest.Finding(judge(t, h), "pressure-loss"); f != nil {
			rt.Fatalf("%+v: a pure swing is a loss: %s", h, f.Summary)
		}
		h.perDay = rapid.Float64Range(0.15, 0.3).Draw(rt, "lost")
		a := judge(t, h)
		h.offset = rapid.Float64Range(-0.3, 0.6).Draw(rt, "offset")
		b := judge(t, h)
		for _, kind := range []string{"pressure-loss", "pressure-swing"} {
			if x, y := analysetest.Outcome(t, a, kind), analysetest.Outcome(t, b, kind); x.Outcome != y.Outcome {
				rt.Fatalf("%+v: %s is %v (%s) without the offset, %v (%s) with it", h, kind, x.Outcome, x.Because, y.Outcome, y.Because)
			}
		}
		if analysetest.Outcome(t, a, "pressure-loss").Outcome == analyse.Found {
			h.days += 2
			if got := analysetest.Outcome(t, judge(t, h), "pressure-loss"); got.Outcome == analyse.Clear {
				rt.Fatalf("%+v: two days more of falling make it clear: %s", h, got.Because)
			}
		}
	})
}
