package pairing

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"tundish/decode/unit"
)

var steps = [2]unit.Kelvin{0.0625, 0.0625}

// bath is n readings a second apart of a water at 38 °C, drifting by perMin; diff is first minus second.
func bath(n int, perMin float64, diff func(i int) float64) []Sample {
	out := make([]Sample, n)
	for i := range out {
		c := 38 + perMin*float64(i)/60
		out[i] = Sample{time.Duration(i) * time.Second, unit.Celsius(c), unit.Celsius(c - diff(i))}
	}
	return out
}

// Two probes that never leave their step: what is left is the steps alone. GUM F.2.2.1: a step δ has the standard
// uncertainty 0.29 δ; two of them, k = 2: 2 × √2 × 0.0625/√12 = 0.0510 K.
func TestStepsAlone(t *testing.T) {
	r, err := Judge(bath(600, 0, func(int) float64 { return -0.19 }), steps, 600)
	if err != nil || math.Abs(float64(r.Offset)+0.19) > 1e-9 || math.Abs(float64(r.Expanded)-0.0510) > 0.0001 || r.Effective != 600 {
		t.Errorf("%+v, %v", r, err)
	}
}

// GUM 4.2.3, readings that do not hang together: the mean's standard uncertainty is s/√n. 0.25 K and 600 readings:
// 0.0102 K; with the steps' 0.0255 K, k = 2: 0.055 K.
func TestIndependent(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	r, err := Judge(bath(600, 0, func(int) float64 { return 0.25 * rnd.NormFloat64() }), steps, 600)
	if err != nil || math.Abs(float64(r.Expanded)-0.055) > 0.004 || r.Effective < 400 {
		t.Errorf("%+v, %v", r, err)
	}
}

// Readings that hang together: of a first-order autoregression with φ the variance of a long mean is (1+φ)/(1−φ)
// times that of independent readings (textbook result: Box, Jenkins, Reinsel, Time Series Analysis, from memory). And the claim is held against the truth: the
// interval holds the true difference in about 95 of 100 comparisons.
func TestAutocorrelation(t *testing.T) {
	const phi, sd, runs = 0.8, 0.3, 400
	rnd := rand.New(rand.NewPCG(3, 4))
	inside, sum := 0, 0.0
	for range runs {
		x := 0.0
		d := make([]float64, 600)
		for i := range d {
			x = phi*x + sd*math.Sqrt(1-phi*phi)*rnd.NormFloat64()
			d[i] = x
		}
		mean, variance := meanAndVariance(d)
		f := inflation(d, mean, variance)
		sum += f
		if math.Abs(mean) < K*math.Sqrt(variance/600*f) {
			inside++
		}
	}
	if got, want := sum/runs, (1+phi)/(1-phi); math.Abs(got-want) > 1 {
		t.Errorf("inflation %.2f, theory %.2f", got, want)
	}
	if share := float64(inside) / runs; share < 0.90 || share > 0.98 {
		t.Errorf("the interval holds the truth in %.0f %% of the comparisons", 100*share)
	}
}

func TestRefused(t *testing.T) {
	flat := func(int) float64 { return 0.1 }
	for _, c := range []struct {
		name    string
		samples []Sample
		sweeps  int
		want    error
	}{
		{"none", nil, 0, ErrFew},
		{"a minute less one", bath(59, 0, flat), 59, ErrFew},
		{"half the sweeps empty", bath(300, 0, flat), 600, ErrFew},
		{"water that cools", bath(600, -0.5, flat), 600, ErrDrift},
		{"short, and the water cools", bath(70, -0.5, flat), 70, ErrDrift},
		{"still settling", bath(600, 0, func(i int) float64 { return 2 * math.Exp(-float64(i)/200) }), 600, ErrUnsettled},
		{"not in one water", bath(600, 0, func(int) float64 { return 4 }), 600, ErrApart},
		{"one slow wave", bath(90, 0, func(i int) float64 { return 0.2 * math.Sin(float64(i)/90*6*math.Pi) }), 90, ErrFew},
	} {
		t.Run(c.name, func(t *testing.T) {
			if r, err := Judge(c.samples, steps, c.sweeps); !errors.Is(err, c.want) {
				t.Errorf("%+v, %v", r, err)
			}
		})
	}
}

// A jug that cools by 0.1 K a minute, two sound probes with their steps of 1/16 K: taken, offset found.
func TestQuantised(t *testing.T) {
	s := bath(600, -0.1, func(int) float64 { return 0.21 })
	for i := range s {
		s[i].First = unit.Celsius(math.Floor(float64(s[i].First)*16) / 16)
		s[i].Second = unit.Celsius(math.Floor(float64(s[i].Second)*16) / 16)
	}
	r, err := Judge(s, steps, 600)
	if err != nil || math.Abs(float64(r.Offset)-0.21) > float64(r.Expanded) || r.Expanded > 0.09 || math.Abs(r.DriftKmin-0.1) > 0.02 {
		t.Errorf("%+v, %v", r, err)
	}
	t.Logf("%+v", r)
}
