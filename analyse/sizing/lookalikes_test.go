package sizing

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/episode"
	"tundish/decode/unit"
)

func steps(c analyse.Checked, topic analyse.Topic) string {
	var b strings.Builder
	for _, s := range c.Steps {
		if s.Topic == topic {
			fmt.Fprintf(&b, "%s: %s\n", s.What, s.Text)
		}
	}
	return b.String()
}

// A boiler of the right size in mild weather starts six times an hour all day: that is no plant that is too large.
func TestMildWeatherIsNotOversized(t *testing.T) {
	var b strings.Builder
	for i := range 48 * 6 {
		fmt.Fprintf(&b, "%d:%02d flame 1 outside 13\n%d:%02d flame 0\n", i/6, i%6*10, i/6, i%6*10+3)
	}
	res := analysetest.Run(t, analysetest.Case{Script: b.String(), Plant: plant(func(p *analyse.Plant) {
		p.HotWater = analyse.CylinderHotWater
		outputs(p, 9, 2.5, 7)
	})}, Oversized())
	got := analysetest.Outcome(t, res, "oversized")
	if got.Outcome != analyse.Clear {
		t.Fatalf("%v: %s", got.Outcome, got.Because)
	}
	if out := steps(got, analyse.Excluded); !strings.Contains(out, "mild weather") || !strings.Contains(out, "13.0 °C") {
		t.Errorf("mild weather is not ruled out: %s", out)
	}
}

// heatDays makes days of a heat counter: kW at a mean outside temperature.
func heatDays(te []float64, kw func(te float64) float64) *episode.Facts {
	f := &episode.Facts{From: day0, To: day0.AddDate(0, 0, len(te))}
	for i, x := range te {
		d := episode.Day{From: day0.AddDate(0, 0, i), To: day0.AddDate(0, 0, i+1)}
		d.Heat.Outside, d.Heat.OutsideFor = x, 24*time.Hour
		d.Heat.Energy = episode.HeatSum{Heating: 24 * kw(x), For: 24 * time.Hour}
		f.Days = append(f.Days, d)
	}
	return f
}

func spread(n int, low, high float64) []float64 {
	te := make([]float64, n)
	for i := range te {
		te[i] = low + (high-low)*float64(i*7%n)/float64(n-1)
	}
	return te
}

// What the days do not allow is refused, and what is missing is said.
func TestMeasureRefusesWhatDaysDoNotAllow(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	line := func(te float64) float64 { return max(0.4, 0.25*(16-te)+0.4) + 0.02*r.NormFloat64() }
	for _, c := range []struct {
		name   string
		te     []float64
		kw     func(float64) float64
		design float64
		says   string // "" measured
	}{
		{"cold and warm days", spread(41, -2, 13), line, -3, ""},
		{"19 days", spread(19, -2, 13), line, -3, "1 more heating day"},
		{"days that are alike", spread(41, 2, 9), line, -3, "differ by 8 K"},
		{"one cold day among days that are alike", append([]float64{-3}, spread(41, 3, 10)...), line, -3, "differ by 8 K"},
		{"mild days, a far design temperature", spread(41, 5, 15), line, -16, "farther"},
		{"the same, a near one", spread(41, 5, 15), line, -3, ""},
		{"summer with a few days of heating", append(spread(12, 9, 14), spread(40, 17, 24)...), line, 0, "of 52 were below"},
		{"heat that does not go with the weather", spread(41, -2, 13), func(te float64) float64 { return 3 + r.NormFloat64() }, -3, "did not follow"},
		{"less heat in colder weather", spread(41, -2, 13), func(te float64) float64 { return 2 + 0.1*te }, -3, "did not follow"},
	} {
		m := Measure(heatDays(c.te, c.kw), plant(func(p *analyse.Plant) { p.OutsideDesign = analyse.Some(unit.Celsius(c.design)) }))
		if c.says == "" && m.Refused != "" || !strings.Contains(m.Refused, c.says) {
			t.Errorf("%s: refused with %q, want %q", c.name, m.Refused, c.says)
		}
	}
}

// A house whose cylinder is heated on the heating's call: nobody ever says that heat is for hot water. The bounds must
// hold the load with the hot water and, as far as that is usual, without it.
func TestHotWaterNeverTold(t *testing.T) {
	pl := plant(func(p *analyse.Plant) { p.HotWater = analyse.CylinderHotWater })
	m := Measure(heatDays(spread(41, -2, 13), func(te float64) float64 { return 0.25*(17-te) + 0.4 }), pl)
	if m.Refused != "" || !m.Undivided {
		t.Fatalf("refused %q, undivided %v", m.Refused, m.Undivided)
	}
	b := m.bounds(m.At(-3, 20))
	if !(b.Low < 5.0 && b.High > 5.75) { // 0.25 · 20 in use without hot water, 0.25 · 23 with no gains taken off
		t.Errorf("%.2f to %.2f kW", b.Low, b.High)
	}
}

// The figures of a published series of monthly gas bills (R package mosaicData, data set Utilities, to June 2005: 55
// months, change point 16.1 °C, base 0.53 ccf a day, 0.2718 ccf a day and K with a standard error of 0.0066) must come
// back from months made by them, with an interval of that width. The months' own temperatures are of that climate,
// from memory.
func TestMonthlyBillsOfThatShape(t *testing.T) {
	r := rand.New(rand.NewPCG(55, 1))
	te := make([]float64, 55)
	for i := range te {
		te[i] = 7.5 - 16.5*math.Cos(2*math.Pi*float64(i)/12) + 1.5*r.NormFloat64()
	}
	const base, slope, balance, se = 0.53, 0.2718, 16.1, 0.0066
	make55 := func(s float64) Signature {
		pts := make([]Point, len(te))
		for i, x := range te {
			pts[i] = Point{x, base + slope*max(balance-x, 0) + s*r.NormFloat64()}
		}
		g, ok := Fit(pts)
		if !ok || g.Straight {
			t.Fatal("no change point")
		}
		return g
	}
	g := make55(0)
	near(t, "slope", g.Slope, slope, 1e-3)
	near(t, "balance", g.Balance, balance, 0.051)
	near(t, "base", g.Base, base, 0.02)
	// s = SE · √Sxx gives that standard error; the profile over the balance widens it.
	g = make55(se * math.Sqrt(g.best.sxx))
	if half := (g.SlopeCI.High - g.SlopeCI.Low) / 2; half < 1.6*se || half > 4*se {
		t.Errorf("half the interval is %.4f, the standard error is %.4f", half, se)
	}
}
