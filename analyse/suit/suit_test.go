package suit

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %.6g, want %.6g ± %g", what, got, want, within)
	}
}

// semi is an invented semi-detached house: 90 m² on two floors of 6.0 × 7.5 m, storeys of 2.5 m, one long side a party
// wall, 20 °C inside and −3 °C outside. Its loss is added up here from areas and U-values, apart from any code of ours:
// walls of two brick leaves with an empty cavity (1.45 by ISO 6946), 100 mm of wool in the loft (0.42), slab on ground
// (0.64 by ISO 13370), 0.8 air changes an hour at 0.33 Wh/m³K, bridges 0.10 W/m²K of the exposed area (EN 12831).
func semi() (c Computed) {
	walls := 19.5*5.0 - 16.0 - 3.8
	fabric := walls*1.45 + 16.0*2.8 + 3.8*3.0 + 45*0.42 + 45*0.64
	bridges := (walls + 16.0 + 3.8 + 45 + 45) * 0.10
	air := 0.33 * 0.8 * 225
	perK := math.Round(100*(fabric+bridges+air)) / 100
	return Computed{WPerK: Exactly(perK), DesignW: Exactly(perK * 23), InsideC: 20, OutsideC: -3}
}

// The figures follow by hand: 294.72 W/K × 23 K = 6779 W; 24 kW ÷ 6.779 kW = 3.54; 20 − 6000/294.72 = −0.36 °C and
// 20 − 2400/294.72 = 11.86 °C.
func TestSemi(t *testing.T) {
	c := semi()
	near(t, "W/K", c.WPerK.Value, 294.72, 0.005)
	for _, x := range []struct{ least, ratio, steady float64 }{{6000, 0.885, -0.4}, {2400, 0.354, 11.9}} {
		r := Judge(Input{Computed: &c, Plant: Plant{GreatestW: 24000, LeastW: x.least}})
		near(t, "load at design, W", r.Computed.LossW.Value.Value, 6779, 0.5)
		near(t, "plant size ratio", r.Computed.GreatestRatio.Value.Value, 3.54, 0.005)
		near(t, "least output ÷ load", r.Computed.LeastRatio.Value.Value, x.ratio, 0.0005)
		near(t, "runs without stopping below, °C", r.Computed.SteadyBelowC.Value.Value, x.steady, 0.05)
		if r.Computed.SteadyBelowC.Value.Never {
			t.Error("it is said never to have to stop")
		}
	}
}

// Degree-days and hours are the same sum: with no gains taken off and heat needed up to the rooms' temperature, the load
// summed up over the hours is 24 · HTC · degree-days to that base (CIBSE TM41).
func TestDegreeDays(t *testing.T) {
	c := semi()
	h := Histogram{Year: true}
	degreeDays, kWh := 0.0, 0.0
	for te := -6; te <= 28; te++ {
		hours := 700 * math.Exp(-math.Pow(float64(te)-10.5, 2)/60)
		h.Bins = append(h.Bins, HourBin{float64(te), hours})
		degreeDays += max(0, c.InsideC-float64(te)) * hours / 24
	}
	l := computedLine(c, c.InsideC)
	for _, b := range h.Bins { // the line, found again by where it takes each load
		for w := 0.0; w < 10000; w += 5 {
			if l.steady(w+2.5).Value < b.OutsideC {
				kWh += w / 1000 * b.H
				break
			}
		}
	}
	near(t, "kWh", kWh, 24*c.WPerK.Value/1000*degreeDays, 0.002*kWh)
	// 500 W of gains: base temperature 20 − 500/294.72 = 18.30 °C, by hand.
	c.GainsW = 500
	r := Judge(Input{Computed: &c, Plant: Plant{LeastW: 6000}, Hours: h})
	near(t, "base temperature, °C", r.Computed.LimitC, 18.30, 0.005)
	near(t, "runs without stopping below, °C", r.Computed.SteadyBelowC.Value.Value, 20-6500/294.72, 1e-9)
}

// whitesideLine is the weekly gas of one house before its walls were filled, as a line with the interval of its mean
// (R 4.2.2, lm(Gas ~ Temp) on MASS::whiteside, Insulation == "Before": 6.853828 − 0.393239·te, residual standard deviation
// 0.281334 on 24 degrees of freedom, slope's standard error 0.019586, so that the temperatures' sum of squares is
// (0.281334/0.019586)² = 206.3, and their mean, from the intercept's standard error 0.118423, 5.35 °C). In units of the
// data, thousand cubic feet a week, times 1000.
func whitesideLine() Measured {
	const a, b, s, n, t95 = 6853.828, 393.239, 281.334, 26, 2.063899
	sxx := math.Pow(281.334/19.586, 2)
	mean := math.Sqrt((math.Pow(118.423/281.334, 2) - 1.0/n) * sxx)
	m := Measured{Basis: "gas", Days: n, WPerK: Estimate{b, 352.82, 433.66}, BalanceC: a / b}
	for te := -10.0; te <= 17; te += 0.25 {
		w := a - b*te
		half := t95 * s * math.Sqrt(1.0/n+(te-mean)*(te-mean)/sxx)
		m.Line = append(m.Line, LinePoint{te, Estimate{w, w - half, w + half}})
	}
	return m
}

// The line takes 4.888 at 5 °C and 6.854 at 0 °C (the same fit): there lie the temperatures below which a plant with such a
// least output need not stop. The interval's edges are those of predict(…, interval = "confidence"), by its formula.
func TestMeasuredLine(t *testing.T) {
	m := whitesideLine()
	for _, x := range []struct{ least, want float64 }{{4888, 5}, {6854, 0}} {
		r := Judge(Input{Measured: &m, Plant: Plant{LeastW: x.least}})
		s := r.Measured.SteadyBelowC.Value
		near(t, "°C", s.Value, x.want, 0.003)
		if !(s.Low < s.Value && s.Value < s.High) || s.High-s.Low > 2 {
			t.Errorf("range %v to %v", s.Low, s.High)
		}
	}
	// At the mean temperature the interval is t·s/√n wide either way: 2.0639 · 281.334/√26 = 113.9, so ±0.290 K of the line.
	w := 6853.828 - 393.239*5.35
	s := Judge(Input{Measured: &m, Plant: Plant{LeastW: w}}).Measured.SteadyBelowC.Value
	near(t, "half width, K", (s.High-s.Low)/2, 113.9/393.239, 0.004)
	r := Judge(Input{Measured: &m, Plant: Plant{LeastW: 100}})
	if near(t, "limit, °C", r.Measured.LimitC, 17.43, 0.005); r.Measured.SteadyBelowC.Value.Never {
		t.Error("it stops in the last quarter of a kelvin")
	}
	m.BaseW = 200
	if r = Judge(Input{Measured: &m, Plant: Plant{LeastW: 100}}); !r.Measured.SteadyBelowC.Value.Never {
		t.Error("a base load above the least output keeps it running")
	}
}

func drawnInput(rt *rapid.T) Input {
	f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(rt, name) }
	perK := f("perK", 50, 600)
	inside, outside := f("inside", 17, 22), f("outside", -15, 0)
	c := Computed{WPerK: Within(perK, f("±", 0, 0.3)), DesignW: Within(perK*(inside-outside), 0.1), InsideC: inside, OutsideC: outside}
	in := Input{Computed: &c, Plant: Plant{GreatestW: f("greatest", 5000, 40000)}}
	in.Plant.LeastW = in.Plant.GreatestW / f("turndown", 1, 12)
	if rapid.Bool().Draw(rt, "measured") {
		m := Measured{WPerK: Within(f("slope", 40, 500), 0.15), BalanceC: f("balance", 12, 19), BaseW: f("base", 0, 400)}
		for te := -20.0; te < m.BalanceC; te++ {
			m.Line = append(m.Line, LinePoint{te, Within(m.BaseW+m.WPerK.Value*(m.BalanceC-te), 0.2)})
		}
		in.Measured = &m
	}
	for te := -18; te < 32; te++ {
		in.Hours.Bins = append(in.Hours.Bins, HourBin{float64(te), f("hours", 0, 600)})
	}
	return in
}

// Hours add up, the range holds the figure, and a plant that turns down further never has to cycle for longer.
func TestHoursAddUp(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		in := drawnInput(rt)
		r := Judge(in)
		in.Plant.LeastW *= rapid.Float64Range(0.2, 1).Draw(rt, "further")
		less := Judge(in)
		sides := [][2]Side{{r.Computed, less.Computed}}
		if in.Measured != nil {
			sides = append(sides, [2]Side{r.Measured, less.Measured})
		}
		for _, s := range sides {
			h, l := s[0].Hours.Value, s[1].Hours.Value
			if !s[0].Hours.Known() || !s[1].Hours.Known() {
				rt.Fatal(s[0].Hours.Missing)
			}
			if d := h.TotalH - h.NoHeatH - h.SteadyH - h.CycleH; math.Abs(d) > 1e-6 || math.Abs(h.TotalH-in.Hours.TotalH()) > 1e-6 {
				rt.Errorf("%+v does not add up", h)
			}
			if h.CycleLowH > h.CycleH+1e-9 || h.CycleHighH < h.CycleH-1e-9 || h.ShortH > h.SteadyH+1e-9 {
				rt.Errorf("%+v", h)
			}
			if l.CycleH > h.CycleH+1e-9 || l.NoHeatH != h.NoHeatH {
				rt.Errorf("turned down further: %+v, before %+v", l, h)
			}
			if s[1].SteadyBelowC.Value.Value < s[0].SteadyBelowC.Value.Value {
				rt.Error("turned down further, it can run without stopping in colder weather only")
			}
			if x := s[0].GreatestRatio; x.Known() && !(x.Value.Low <= x.Value.Value && x.Value.Value <= x.Value.High) {
				rt.Errorf("%+v", x.Value)
			}
		}
	})
}

// What nobody said is missing by name, and makes no figure.
func TestMissing(t *testing.T) {
	r := Judge(Input{ComputedMissing: "no house file was given", MeasuredMissing: "8 heating days; a measurement needs 20", HoursMissing: "no outside temperature"})
	for what, x := range map[string]struct {
		known bool
		said  string
		want  string
	}{
		"loss":     {r.Computed.WPerK.Known(), r.Computed.WPerK.Missing, "no house file"},
		"measured": {r.Measured.LossW.Known(), r.Measured.LossW.Missing, "8 heating days"},
		"ratio":    {r.Measured.GreatestRatio.Known(), r.Measured.GreatestRatio.Missing, "greatest output is not known; 8 heating days"},
		"hours":    {r.Computed.Hours.Known(), r.Computed.Hours.Missing, "no house file"},
		"agree":    {r.Agreement.Known(), r.Agreement.Missing, "no house file was given; 8 heating days"},
		"curve":    {r.Curve.Known(), r.Curve.Missing, "not known"},
		"low":      {r.LowTemperature.Known(), r.LowTemperature.Missing, "house file"},
	} {
		if x.known || !strings.Contains(x.said, x.want) {
			t.Errorf("%s: known %v, %q; want %q in it", what, x.known, x.said, x.want)
		}
	}
	c := semi()
	r = Judge(Input{Computed: &c, HoursMissing: "no outside temperature"})
	if r.Computed.SteadyBelowC.Missing != "the least output is not known" || r.Computed.Hours.Known() {
		t.Errorf("%+v", r.Computed)
	}
	r = Judge(Input{Computed: &c, Plant: Plant{LeastW: 6000}, HoursMissing: "no outside temperature"})
	if r.Computed.Hours.Missing != "no outside temperature" || !r.Computed.SteadyBelowC.Known() {
		t.Errorf("%+v", r.Computed)
	}
	if !slices.ContainsFunc(r.Assumptions, func(a Assumption) bool { return a.Value == HeatingLimitUsual && a.Unit == "°C" && a.Source != "" }) {
		t.Errorf("%+v", r.Assumptions)
	}
}

func TestAgreement(t *testing.T) {
	for _, x := range []struct {
		computed, measured Estimate
		apart              bool
		say                string
	}{
		{Within(300, 0.1), Estimate{250, 200, 300}, false, "agree"},
		{Exactly(300), Estimate{200, 180, 220}, true, "50 % above"},
		{Exactly(150), Estimate{200, 180, 220}, true, "25 % below"},
	} {
		r := Judge(Input{Computed: &Computed{WPerK: x.computed, DesignW: Exactly(23 * x.computed.Value), InsideC: 20, OutsideC: -3},
			Measured: &Measured{WPerK: x.measured, BalanceC: 15}})
		if a := r.Agreement.Value; a.Apart != x.apart || !strings.Contains(a.Words(), x.say) {
			t.Errorf("%+v: %s", a, a.Words())
		}
	}
}
