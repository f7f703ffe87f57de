package lockout

import "math"

// lnChoose is the logarithm of the number of ways to take k of n.
func lnChoose(n, k int) float64 {
	l := func(x int) float64 { v, _ := math.Lgamma(float64(x) + 1); return v }
	return l(n) - l(k) - l(n-k)
}

// fisher is Fisher's exact test (R. A. Fisher, The Design of Experiments, 1935): the probability, if nothing but
// chance were at work, of a table at least as unlikely as the one seen. a of m have the property, c of n others.
func fisher(a, m, c, n int) float64 {
	with := a + c
	lo, hi := max(0, with-n), min(m, with)
	chance := func(x int) float64 {
		return math.Exp(lnChoose(m, x) + lnChoose(n, with-x) - lnChoose(m+n, with))
	}
	const rounding = 1 + 1e-7 // two ways of the same probability differ by rounding
	seen, p := chance(a)*rounding, 0.0
	for x := lo; x <= hi; x++ {
		if q := chance(x); q <= seen {
			p += q
		}
	}
	return min(1, p)
}

// holm corrects probabilities for the number of things tried (S. Holm, A simple sequentially rejective multiple test
// procedure, Scandinavian Journal of Statistics 6, 1979). p must rise.
func holm(p []float64) []float64 {
	out := make([]float64, len(p))
	worst := 0.0
	for i, x := range p {
		worst = max(worst, min(1, x*float64(len(p)-i)))
		out[i] = worst
	}
	return out
}
