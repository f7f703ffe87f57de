package pressure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/pressure"
)

// morning is a system whose heating is off by night and warms up within half an hour at 6:00, then goes with the
// weather, until 22:00. Pressure is by Boyle's law, cut off at the safety valve's 3 bar.
type morning struct {
	s        sealed
	days     float64
	low      float64                  // °C, cold
	top, day float64                  // °C, mean water at the end of the warm-up and by day
	gas      float64                  // bar of the vessel's charge lost a day
	lost     func(at float64) float64 // l, by days
	noise    float64                  // bar, standard deviation
	step     float64                  // bar
}

func (h morning) mean(hour float64) (on bool, c float64) {
	switch {
	case hour < 6:
		return false, h.low + 3 - hour/2
	case hour < 6.5:
		return true, h.low + (h.top-h.low)*(hour-6)/0.5
	case hour < 22:
		return true, h.day + (h.top-h.day)*math.Exp((6.5-hour)/2) + 2*math.Sin(hour)
	}
	return false, h.low + (h.day-h.low)*math.Exp(-(hour-22)/0.6)
}

func (h morning) script() string {
	const every = 2
	noise := rand.New(rand.NewPCG(1, 2))
	var b strings.Builder
	for at := 0; float64(at) < h.days*1440; at += every {
		t := float64(at) / 1440
		on, c := h.mean(float64(at%1440) / 60)
		s, lost := h.s, 0.0
		if h.lost != nil {
			lost = h.lost(t)
		}
		// The content of gas goes with what is left of it; the water's room does not.
		left := (s.charge - h.gas*t + atmosphere) / (s.charge + atmosphere)
		p := min((s.bar(c, lost)+atmosphere)*left-atmosphere, 3) + h.noise*noise.NormFloat64()
		if h.step > 0 {
			p = math.Round(p/h.step) * h.step
		}
		bit := map[bool]int{true: 1}[on]
		fmt.Fprintf(&b, "%d:%d pump %d heat-active %d flame %d flow %.2f return %.2f pressure %.4f\n", at/60, at%60, bit, bit, bit, c+5*float64(bit), c-5*float64(bit), p)
	}
	return b.String()
}

func (h morning) judge(t testing.TB) *analyse.Result {
	return analysetest.Run(t, analysetest.Case{Script: h.script(), Step: 2 * time.Minute, Plant: analyse.Plant{HotWater: analyse.NoHotWater}}, pressure.Loss(), pressure.Swing())
}

// failed is a vessel far too small: 0.03 bar/K cold and 0.1 bar/K hot (the law above).
var failed = sealed{4.2, 1.0, 1.1, 95}

// notFound stands for either of the other two.
const notFound = analyse.Outcome(9)

func TestMornings(t *testing.T) {
	leak := func(perDay float64) func(float64) float64 { return func(at float64) float64 { return perDay * at } }
	for _, c := range []struct {
		name        string
		h           morning
		loss, swing analyse.Outcome
	}{
		{"a flat vessel warmed up each morning loses nothing", morning{s: failed, days: 5, low: 25, top: 54, day: 46, step: 0.02}, notFound, analyse.Found},
		{"a flat vessel read in steps of 0.1 bar", morning{s: failed, days: 5, low: 25, top: 54, day: 46, step: 0.1}, notFound, analyse.Found},
		{"a failed vessel on water that moves little", morning{s: sealed{4.0, 1.0, 1.1, 95}, days: 5, low: 41, top: 49, day: 44}, notFound, analyse.Found},
		{"a sound vessel on water that moves little", morning{s: sound, days: 5, low: 41, top: 49, day: 44}, analyse.Clear, analyse.NotAssessable},
		{"sound, ten days of steps of 0.1 bar that dither", morning{s: sound, days: 10, low: 25, top: 60, day: 50, step: 0.1, noise: 0.06}, analyse.Clear, analyse.Clear},
		{"sound, three days", morning{s: sound, days: 3, low: 25, top: 60, day: 50, step: 0.02}, analyse.Clear, analyse.Clear},
		{"sound, three days of steps of 0.1 bar that dither", morning{s: sound, days: 3, low: 25, top: 60, day: 50, step: 0.1, noise: 0.05}, notFound, analyse.Clear},
		{"half a litre a day for three days, in steps of 0.1 bar", morning{s: sound, days: 3, low: 25, top: 60, day: 50, step: 0.1, lost: leak(0.5)}, analyse.Found, notFound},
		{"a weeping joint for three days", morning{s: sound, days: 3, low: 25, top: 60, day: 50, step: 0.02, lost: leak(0.2)}, analyse.Found, analyse.Clear},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := c.h.judge(t)
			for kind, want := range map[string]analyse.Outcome{"pressure-loss": c.loss, "pressure-swing": c.swing} {
				got := analysetest.Outcome(t, r, kind)
				if got.Outcome != want && (want != notFound || got.Outcome == analyse.Found) {
					t.Errorf("%s: %v, %s; want %v", kind, got.Outcome, got.Because, want)
				}
				if words := got.Because; strings.Contains(words, "let in") {
					t.Errorf("%s: nobody let water in: %s", kind, words)
				}
			}
		})
	}
}

// Water let in while the system warms up shows by the next cold water, and is told as such.
func TestRefillUnseen(t *testing.T) {
	h := morning{s: sound, days: 9, low: 25, top: 60, day: 50, step: 0.02, lost: func(at float64) float64 {
		if at < 4+6.2/24 {
			return 0.2 * at
		}
		return 0.2 * (at - 4 - 6.2/24)
	}}
	f := analysetest.Finding(h.judge(t), "pressure-loss")
	if f == nil {
		t.Fatal("no loss found")
	}
	if got := number(f, "topped_up"); got != 1 {
		t.Errorf("let in %v times, want once: %s", got, f.Summary)
	}
	if f.Causes[0].Cause != "leak" {
		t.Errorf("first cause is %s", f.Causes[0].Cause)
	}
	// 0.2 l a day of a vessel of 10 l: by the law from 1.3 bar at 15 °C.
	want := 7 * (sound.bar(50, 0) - sound.bar(50, 0.2))
	if got := number(f, "fall_bar_week"); math.Abs(got-want) > 0.35*want {
		t.Errorf("%.2f bar a week, want about %.2f", got, want)
	}
}

func number(f *analyse.Finding, name string) float64 {
	for _, n := range f.Numbers {
		if n.Name == name {
			return n.Value
		}
	}
	return math.NaN()
}

// A fall begins its evidence with the first and the last cold pressure and their dates.
func TestColdEnds(t *testing.T) {
	h := morning{s: sound, days: 6, low: 25, top: 60, day: 50, step: 0.02, lost: func(at float64) float64 { return 0.3 * at }}
	f := analysetest.Finding(h.judge(t), "pressure-loss")
	if f == nil || len(f.Evidence) < 2 {
		t.Fatalf("%+v", f)
	}
	first, last := f.Evidence[0], f.Evidence[1]
	if !strings.HasPrefix(first.Note, "first cold pressure, "+analysetest.Start.Format("2 Jan")) ||
		!strings.HasPrefix(last.Note, "last cold pressure, "+analysetest.Start.Add(5*24*time.Hour).Format("2 Jan")) {
		t.Errorf("%q, %q", first.Note, last.Note)
	}
	if d := last.From.Sub(first.From); d < 4*24*time.Hour {
		t.Errorf("%s apart", d)
	}
}

// Gas that leaves the vessel and water that leaves the system lower the pressure alike; by Boyle's law the slope per
// kelvin falls with the absolute pressure in the one case and with its square in the other.
func TestGasOrWater(t *testing.T) {
	for _, c := range []struct {
		name  string
		h     morning
		cause string
	}{
		{"gas", morning{s: sound, days: 8, low: 22, top: 58, day: 48, step: 0.01, gas: 0.07}, "expansion-vessel"},
		{"water", morning{s: sound, days: 8, low: 22, top: 58, day: 48, step: 0.01, lost: func(at float64) float64 { return 0.22 * at }}, "leak"},
	} {
		f := analysetest.Finding(c.h.judge(t), "pressure-loss")
		if f == nil {
			t.Errorf("%s: not found", c.name)
			continue
		}
		if f.Causes[0].Cause != c.cause {
			t.Errorf("%s: first cause %s, because %s", c.name, f.Causes[0].Cause, f.Causes[0].Because)
		}
	}
}

// A vessel that loses its gas while it is topped up each night passes the limit within the record, though the days
// together do not.
func TestSlopeGrows(t *testing.T) {
	large := sealed{13, 1.0, 1.3, 100}
	perNight := large.vessel * 0.14 / (large.fill + atmosphere) // l: by Boyle's law what holds the cold pressure
	h := morning{s: large, days: 6, low: 22, top: 58, day: 48, step: 0.01, gas: 0.14,
		lost: func(at float64) float64 { return -perNight * math.Floor(at+21.0/24) }}
	f := analysetest.Finding(h.judge(t), "pressure-swing")
	if f == nil {
		t.Fatal(analysetest.Outcome(t, h.judge(t), "pressure-swing").Because)
	}
	if together, steepest := number(f, "slope_bar_k"), number(f, "slope_steepest_day_bar_k"); together >= 0.025 || steepest < 0.025 {
		t.Errorf("%.4f bar/K together, %.4f on the steepest day: the test wants the one under the limit, the other over it", together, steepest)
	}
}
