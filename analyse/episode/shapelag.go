package episode

import "math"

// lagFit learns the time constants from what is sure to be a rest with water moving: there the drive is 0, so that
//
//	(F + τ·F′) − (R + τ·R′) = d − k·(F′ + τ·F″)
//
// with d what the probes' offsets differ by. For each τ of a set, d and k follow by least squares; the τ that leaves the
// least stands. All that is kept are the sums of products of 1, F′, R′, F″ and F − R.
type lagFit struct {
	m           [5][5]float64
	have        float64 // s of rests
	d, k, tau   float64
	set, learnt bool

	flank  [40]float64 // s of falling by (F − R)/−F′, in quarter octaves from 1 s
	flanks float64
}

// What is taken before anything is seen, s: strapped probes lag by 15 to 60 s (common practice, no source), small exchangers by 10
// to 40 s; how far either may be off; what two sound probes usually and at the
// most differ by, K (±0.5 K each, DS18B20 datasheet). Own assumptions but for the first.
const (
	probeLag, exchangerLag         = 22.0, 25.0
	probeLagOctaves, exchangerFree = 1.0, 40.0
	offsetFree, offsetMost         = 0.5, 1.0
)

// lagSigma is how well the equation holds for a second, K: probe noise, mixing and pipe runs left out; neighbours tell
// the same, so that one counts for little. lagForget is the time in s over which old rests are forgotten.
// Own proposals.
const lagSigma, lagForget = 2.0, 20000.0

func (l *lagFit) add(diff, f1, r1, f2, weight float64) {
	v := [5]float64{1, f1, r1, f2, diff}
	for i := range v {
		for j := range v {
			l.m[i][j] += weight * v[i] * v[j]
		}
	}
	l.have += weight
}

// mix is the sum of products of two sums of the five.
func (l *lagFit) mix(a, b [5]float64) (sum float64) {
	for i := range a {
		for j := range b {
			sum += a[i] * l.m[i][j] * b[j]
		}
	}
	return sum
}

// solve works the constants out.
func (l *lagFit) solve() {
	if l.have < lagEnough {
		return
	}
	if l.have > lagForget {
		q := lagForget / l.have
		for i := range l.m {
			for j := range l.m[i] {
				l.m[i][j] *= q
			}
		}
		l.have = lagForget
	}
	one := [5]float64{1}
	best := math.Inf(1)
	for tau := 4.0; tau < 150; tau *= 1.15 {
		y := [5]float64{0, tau, -tau, 0, 1}
		z := [5]float64{0, -1, 0, -tau, 0}
		s2 := lagSigma * lagSigma
		a11, a12, a22 := l.mix(one, one)/s2+1/sq(offsetFree), l.mix(one, z)/s2, l.mix(z, z)/s2+1/sq(exchangerFree)
		b1, b2 := l.mix(one, y)/s2, l.mix(z, y)/s2+exchangerLag/sq(exchangerFree)
		det := a11*a22 - a12*a12
		d := min(max((b1*a22-b2*a12)/det, -offsetMost), offsetMost)
		k := min(max((b2-a12*d)/a22, 0), lagLongest)
		e := [5]float64{-d, tau + k, -tau, k * tau, 1} // y − d − k·z
		cost := l.mix(e, e)/s2 + sq(d/offsetFree) + sq((k-exchangerLag)/exchangerFree) + sq(math.Log2(tau/probeLag)/probeLagOctaves)
		if cost < best {
			best, l.d, l.k, l.tau = cost, d, k, tau
		}
	}
	l.set, l.learnt = true, true
}

// guess begins with the flanks that fall the most steeply for their height: in a rest with water moving
// (F − R)/−F′ comes down to K; where the fall slackens, the burner may have lit again. It does nothing once rests have been seen.
func (l *lagFit) guess(w *shapeWork, t []float64, noise float64) {
	if l.have >= lagEnough {
		return
	}
	for i := 1; i < len(t); i++ {
		if d := w.f0[i] - w.r0[i]; d > 2 && w.f2[i] < 0 && w.f1[i] < -8*noise && w.f1[i]*lagLongest < -d {
			k := d / -w.f1[i]
			dt := min(t[i]-t[i-1], mostWeight)
			l.flank[min(int(4*math.Log2(max(k, 1))), len(l.flank)-1)] += dt
			l.flanks += dt
		}
	}
	if l.flanks < lagEnough {
		return
	}
	seen := 0.0
	for i, c := range l.flank {
		if seen += c; 5*seen >= l.flanks {
			sum := math.Exp2((float64(i) + 0.5) / 4)
			l.tau = min(probeLag, sum/2)
			l.k, l.set = sum-l.tau, true
			return
		}
	}
}

// lagEnough is the time in s that a guess or a fit rests on at the least; lagLongest the longest K, s.
const lagEnough, lagLongest = 40, 400.0

func (l *lagFit) offset() float64 { return l.d }

// probe is τ, s.
func (l *lagFit) probe() float64 {
	if l.set {
		return l.tau
	}
	return probeLag
}

// exchanger is k, s.
func (l *lagFit) exchanger() float64 {
	if l.set {
		return l.k
	}
	return exchangerLag
}

// sum is k + τ, s.
func (l *lagFit) sum() float64 { return l.exchanger() + l.probe() }
