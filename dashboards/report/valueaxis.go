package report

import "math"

// valueAxis is a scale with round steps.
type valueAxis struct{ low, high, step float64 }

// newValueAxis covers lo…hi with about the given number of steps of 1, 2 or 5 times a power of ten.
func newValueAxis(lo, hi float64, steps int) valueAxis {
	if !(hi > lo) {
		lo, hi = lo-1, lo+1
	}
	rough := (hi - lo) / float64(max(steps, 1))
	power := math.Pow(10, math.Floor(math.Log10(rough)))
	step := 10 * power
	for _, k := range []float64{1, 2, 5} {
		if k*power >= rough*0.999 { // so that 0.1 × 10 counts as 1
			step = k * power
			break
		}
	}
	return valueAxis{math.Floor(lo/step+1e-9) * step, math.Ceil(hi/step-1e-9) * step, step}
}

// values are the places of the ticks, low to high.
func (a valueAxis) values() []float64 {
	n := int(math.Round((a.high - a.low) / a.step))
	out := make([]float64, 0, n+1)
	for i := 0; i <= n; i++ {
		out = append(out, a.low+float64(i)*a.step)
	}
	return out
}

// share is where v lies: 0 at the low end, 1 at the high end.
func (a valueAxis) share(v float64) float64 { return (v - a.low) / (a.high - a.low) }

// label prints a tick with as many decimals as the step needs.
func (a valueAxis) label(v float64) string {
	places := 0
	if a.step < 1 {
		places = int(math.Ceil(-math.Log10(a.step) - 1e-9))
	}
	return decimal(v, places)
}
