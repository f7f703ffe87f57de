package sizing

import (
	"math"
	"slices"
	"time"
)

// Point is one day: its mean outside temperature, °C, and the mean power that went into heating, kW.
type Point struct{ Outside, Power float64 }

// Interval is a 95 % interval.
type Interval struct{ Low, High float64 }

// Straight is a straight line through points by ordinary least squares: Power = Intercept + Slope · Outside.
type Straight struct {
	N                                int
	Intercept, Slope                 float64
	InterceptSE, SlopeSE, S, RSquare float64 // S: the residuals' standard deviation
}

// Line fits a straight line. It needs three points that are not all at one temperature.
func Line(points []Point) (Straight, bool) {
	m, ok := fitAt(points, math.Inf(1))
	if !ok || m.n < 3 {
		return Straight{}, false
	}
	var total, mean float64
	for _, p := range points {
		mean += p.Power / float64(m.n)
	}
	for _, p := range points {
		total += (p.Power - mean) * (p.Power - mean)
	}
	// fitAt measures coldness from 0 °C where there is no balance: x = −outside.
	s := math.Sqrt(m.rss / float64(m.n-2))
	l := Straight{N: m.n, Intercept: m.base, Slope: -m.slope, S: s,
		InterceptSE: s * math.Sqrt(m.factor(0)), SlopeSE: s / math.Sqrt(m.sxx)}
	if total > 0 {
		l.RSquare = 1 - m.rss/total
	}
	return l, true
}

// Signature is the energy signature of a building: Power = Base + Slope · max(Balance − Outside, 0).
type Signature struct {
	N        int
	Base     float64 // kW, what does not go with the weather
	Slope    float64 // kW/K
	SlopeCI  Interval
	Balance  float64 // °C; where Straight, the temperature at which the line comes to nothing
	Straight bool    // no day, or no sure one, lies above the balance: a straight line
	S        float64 // kW, the residuals' standard deviation
	RSquare  float64
	// Persistence is by how much the interval was widened because days that follow each other are alike; 1: not at all.
	Persistence float64

	Lag float64 // weight of the weather of the days before, each of the day after it, that fits best

	points  []Point
	follows []bool // point i is of the day after point i−1
	t       float64
	models  []model
	best    model
	bestRSS float64
}

const (
	// balanceLow, balanceHigh and balanceStep are where the balance temperature is looked for, °C: the range
	// used in a published fit of 6935 British homes in 2023–24 (from memory).
	balanceLow, balanceHigh, balanceStep = 5.0, 25.0, 0.1
	// belowBalance is how many days must lie below a balance temperature for it to be weighed. Own proposal.
	belowBalance = 8
)

// model is the fit for one balance temperature.
type model struct {
	balance     float64 // +Inf: a straight line
	n           int
	base, slope float64
	mean, sxx   float64 // of coldness
	rss         float64
	set         int // which weight of the days before
}

// coldness is how far below the balance a temperature lies, K; for a straight line, below 0 °C.
func (m model) coldness(te float64) float64 {
	if math.IsInf(m.balance, 1) {
		return -te
	}
	return max(m.balance-te, 0)
}

// factor is the variance of the line's value at a coldness, in units of S².
func (m model) factor(x float64) float64 {
	return 1/float64(m.n) + (x-m.mean)*(x-m.mean)/m.sxx
}

func fitAt(points []Point, balance float64) (model, bool) {
	m := model{balance: balance, n: len(points)}
	var meanP float64
	for _, p := range points {
		m.mean += m.coldness(p.Outside) / float64(m.n)
		meanP += p.Power / float64(m.n)
	}
	var sxy float64
	for _, p := range points {
		dx := m.coldness(p.Outside) - m.mean
		m.sxx += dx * dx
		sxy += dx * (p.Power - meanP)
	}
	if !(m.sxx > 1e-9) {
		return model{}, false
	}
	m.slope = sxy / m.sxx
	m.base = meanP - m.slope*m.mean
	for _, p := range points {
		r := p.Power - m.base - m.slope*m.coldness(p.Outside)
		m.rss += r * r
	}
	return m, true
}

// Fit finds the signature by least squares over all balance temperatures. It needs six points at more than one
// temperature. Points follow each other day by day.
func Fit(points []Point) (Signature, bool) {
	follows := make([]bool, len(points))
	for i := range follows {
		follows[i] = i > 0
	}
	return fit([][]Point{points}, follows)
}

const (
	// mostLag and lagStep are the weights that are tried for the weather of the days before, each of the day after it:
	// heavy walls follow the weather late. Own proposals.
	mostLag, lagStep = 0.7, 0.1
)

// FitDays finds the signature of days in order of time, over all balance temperatures and all weights of the
// days before.
func FitDays(days []Day) (Signature, bool) {
	var sets [][]Point
	for k := 0; lagStep*float64(k) < mostLag+lagStep/2; k++ {
		share := lagStep * float64(k)
		set := points(days)
		for i, d := range days {
			sum, weights, weight := d.Outside, 1.0, 1.0
			for _, te := range d.Before {
				weight *= share
				sum, weights = sum+weight*te, weights+weight
			}
			set[i].Outside = sum / weights
		}
		sets = append(sets, set)
	}
	follows := make([]bool, len(days))
	for i := range days {
		follows[i] = i > 0 && days[i].From.Sub(days[i-1].From) <= 26*time.Hour
	}
	return fit(sets, follows)
}

func fit(sets [][]Point, follows []bool) (Signature, bool) {
	n := len(follows)
	if n < 6 {
		return Signature{}, false
	}
	var models []model
	var best model
	for k, points := range sets {
		for _, m := range fitSet(points) {
			m.set = k
			models = append(models, m)
			if len(models) == 1 || m.rss < best.rss {
				best = m
			}
		}
	}
	line := slices.IndexFunc(models, func(m model) bool { return m.set == best.set && math.IsInf(m.balance, 1) })
	if line < 0 {
		return Signature{}, false
	}
	df := n - 3
	if len(sets) > 1 {
		df--
	}
	s2 := best.rss / float64(df)
	g := Signature{N: n, points: sets[best.set], follows: follows, models: models, t: studentT(df), best: best, bestRSS: best.rss}
	if len(sets) > 1 {
		g.Lag = lagStep * float64(best.set)
	}
	// A change of slope that is not sure at 95 % is none: F of 1 and df degrees of freedom is t².
	g.Straight = models[line].rss-best.rss <= g.t*g.t*s2
	if g.Straight {
		g.best = models[line]
	}
	g.Base, g.Slope, g.Balance = g.best.base, g.best.slope, g.best.balance
	if g.Straight {
		g.Base, g.Balance = 0, 0
		if g.Slope > 0 {
			g.Balance = g.best.base / g.Slope
		}
	}
	g.S = math.Sqrt(s2)
	var total, mean float64
	for _, p := range g.points {
		mean += p.Power / float64(n)
	}
	for _, p := range g.points {
		total += (p.Power - mean) * (p.Power - mean)
	}
	if total > 0 {
		g.RSquare = 1 - g.best.rss/total
	}
	g.Persistence = g.persistence()
	_, g.SlopeCI = g.value(func(model) (float64, float64) { return 0, 1 })
	return g, true
}

// fitSet fits a straight line and one line for each balance temperature that enough points lie below.
func fitSet(points []Point) []model {
	n := len(points)
	line, ok := fitAt(points, math.Inf(1))
	if !ok {
		return nil
	}
	te := make([]float64, n)
	for i, p := range points {
		te[i] = p.Outside
	}
	slices.Sort(te)
	models := []model{line}
	for k := 0; ; k++ {
		tb := balanceLow + balanceStep*float64(k)
		if tb > balanceHigh || tb >= te[n-1] {
			return models
		}
		if n < belowBalance || te[belowBalance-1] >= tb {
			continue
		}
		if m, ok := fitAt(points, tb); ok && m.slope > 0 {
			models = append(models, m)
		}
	}
}
