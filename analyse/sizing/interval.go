package sizing

import (
	"math"
)

// persistence widens for days that are like the ones before, of which n are worth fewer: the variance inflation
// (1+r)/(1−r) of a first-order autoregression. The correlation r of few points comes out too low by about (1+3r)/n
// (M. G. Kendall, Biometrika 41, 1954), which is put back; and since it is itself known to about 1/√n only, as much is
// added.
func (g Signature) persistence() float64 {
	var num, den, last float64
	pairs := 0
	for i, p := range g.points {
		r := p.Power - g.best.base - g.best.slope*g.best.coldness(p.Outside)
		if i > 0 && g.follows[i] {
			num += r * last
			pairs++
		}
		den += r * r
		last = r
	}
	if den <= 0 || pairs < 3 {
		return 1
	}
	n := float64(len(g.points))
	r := num / float64(pairs) / (den / n)
	r += (1+3*r)/n + 1/math.Sqrt(n)
	r = min(max(r, 0), 0.9)
	return math.Sqrt((1 + r) / (1 - r))
}

// value gives a linear function of base and slope, a·base + b·slope, and its interval by the profile of the residual
// sum of squares over all balance temperatures: what any balance that fits well enough would give.
func (g Signature) value(of func(model) (a, b float64)) (float64, Interval) {
	at := func(m model) (v, variance float64) {
		a, b := of(m)
		// base = mean power − slope · mean coldness, and the two are not correlated.
		return a*m.base + b*m.slope, a*a/float64(m.n) + (b-a*m.mean)*(b-a*m.mean)/m.sxx
	}
	v, _ := at(g.best)
	reach := g.t * g.S * g.Persistence
	limit := g.bestRSS + reach*reach
	ci := Interval{v, v}
	for _, m := range g.models {
		if m.rss > limit {
			continue
		}
		x, variance := at(m)
		half := math.Sqrt(variance * (limit - m.rss))
		ci.Low, ci.High = min(ci.Low, x-half), max(ci.High, x+half)
	}
	return v, ci
}

// At is the power at an outside temperature, and its interval, kW.
func (g Signature) At(outside float64) (float64, Interval) {
	return g.value(func(m model) (float64, float64) { return 1, m.coldness(outside) })
}

// Loss is the power over a difference of temperature, K, with no gains taken off: Slope · kelvin.
func (g Signature) Loss(kelvin float64) (float64, Interval) {
	return g.value(func(model) (float64, float64) { return 0, kelvin })
}

// OutsideFor is the outside temperature at which the building takes a power; false where it takes it at none.
func (g Signature) OutsideFor(kw float64) (float64, bool) {
	if g.Slope <= 0 || kw <= g.Base {
		return 0, false
	}
	return g.Balance - (kw-g.Base)/g.Slope, true
}

// studentT is the two-sided 95 % point of Student's t, by the expansion in powers of 1/df (Abramowitz and Stegun,
// Handbook of Mathematical Functions, 26.7.5). Below 3 degrees of freedom it is infinite.
func studentT(df int) float64 {
	if df < 3 {
		return math.Inf(1)
	}
	const z = 1.959963984540054
	v, z2 := float64(df), z*z
	g1 := z * (z2 + 1) / 4
	g2 := z * ((5*z2+16)*z2 + 3) / 96
	g3 := z * (((3*z2+19)*z2+17)*z2 - 15) / 384
	g4 := z * ((((79*z2+776)*z2+1482)*z2-1920)*z2 - 945) / 92160
	return z + g1/v + g2/(v*v) + g3/(v*v*v) + g4/(v*v*v*v)
}
