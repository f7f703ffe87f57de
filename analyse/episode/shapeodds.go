package episode

import "math"

const (
	// onDrive is the least drive of a burner, K: flow over return in the least output at the fastest pump. Own proposal.
	onDrive = 1.0
	// mostDrive is the greatest, K; flow and return are hardly farther apart for long: controls throttle above 30 to
	// 35 K (common practice, no source). Own proposal.
	mostDrive = 60.0
	// mostUsual and mostLeast bound it where the usual drive is known: as a multiple of that, and K. Own proposals.
	mostUsual, mostLeast = 6.0, 15.0
	// driveSigma is how well the drive is known in a rest besides noise, K: offsets of two probes of ±0.5 K
	// (DS18B20 datasheet), contact. modelSigma is the share of each lag term that the model leaves
	// open, learntSigma once the lags have been fitted. Own proposals.
	driveSigma, modelSigma, learntSigma = 0.6, 0.25, 0.12
	// lightCost and outCost are what it takes to believe in an edge, as logarithms of odds. Own proposals.
	lightCost, outCost = 6.0, 4.0
	// idleCost is the same for what hardly happens: a pump that starts and no burner with it, a burner that goes out
	// with the pump running and nothing falls. Own proposal.
	idleCost = 16.0
	// oddsCap bounds what one independent look can say.
	oddsCap = 8.0
	// looks is the number of half stretches of smoothing that one independent look takes. Own measurement.
	looks = 1.0
	// risesOdds, holdsOdds and coolsOdds are what a second of slow drift says, as logarithms of odds. Own proposals.
	risesOdds, holdsOdds, coolsOdds = 0.02, 0.002, 0.03
	// airTemperature is what pipes cool to, °C; coolSlowest is the slowest cooling of standing water in a pipe, 1/s:
	// well insulated (own assumption).
	airTemperature, coolSlowest, coolFastest = 20.0, 1.0 / 15000, 1.0 / 2000
	// coolAlike is how alike flow and return cool at the least where both stand, as a ratio; coolExcess the least excess
	// over the air from which that is judged, K; warmsSlow a slow rise that standing water does not make, K/s. Own
	// proposals.
	coolAlike, coolExcess, warmsSlow = 1.35, 3.0, 1e-3
	// risesBy is how fast a flow that rises does so at the least, K over K seconds, besides twice its noise; fallNoise
	// how many times its noise a fall must be. Own proposals.
	risesBy, fallNoise = 0.5, 5.0
	// stillFalls and stillRises are what one independent look says against standing water where the flow falls quickly
	// or rises. A pump that starts lets it fall for a moment: the wider the look, from stillWide s of half a stretch on,
	// the less that can be, up to stillWidest times. Own proposals.
	stillFalls, stillRises, stillWide, stillWidest = 2.0, 4.0, 15.0, 3.0
)

// weigh gives each sample its logarithm of odds for a burning burner.
func (s *shaper) weigh(n int) {
	w := s.scratch
	h := w.half
	K, tau := s.lag.sum(), s.lag.probe() // K as in the equation: k + τ
	noise1 := w.noise
	rises := risesBy + 2*K*noise1
	fast, most := s.fast(), mostDrive
	if s.drive > 0 && s.lag.learnt {
		most = min(mostDrive, max(mostUsual*s.drive, mostLeast))
	}
	model := modelSigma
	if s.lag.learnt {
		model = learntSigma
	}
	for i := range n {
		dt := 1.0
		if i > 0 {
			dt = s.t[i] - s.t[i-1]
		}
		share := min(1, dt/(looks*h))
		d, f1 := w.drive[i], w.f1[i]
		v := sq(driveSigma) + sq(model*K*f1) + sq(model*tau*w.r1[i]) + sq(K*noise1)
		sd := math.Sqrt(v)
		below := max(d, 0) // what falls short of nothing is lag badly known, not more of a rest
		off := -sq(below)/(2*v) - math.Log(sd*math.Sqrt(2*math.Pi))
		on := -math.Log(most)
		if d < onDrive {
			on -= sq(onDrive-d) / (2 * v)
		}
		l := min(max(on-off, -oddsCap), oddsCap) * share
		if l > 0 && K*f1 < rises && K*f1 > -fast { // as well a pump that stands: nothing rises
			l = s.stands(w.f0[i], w.r0[i], w.slow[i], w.slowR[i]) * dt
		}
		w.falls[i] = K*f1 < -max(fast/2, fallNoise*K*noise1)
		w.together[i] = math.Abs(K*f1) < fast/2 && w.f0[i]-w.r0[i] < onDrive
		switch {
		case K*f1 < -fast:
			w.still[i] = -stillFalls * share * min(max(h/stillWide, 1), stillWidest) // as a pump that starts does, but not for long
		case K*f1 > rises:
			w.still[i] = -stillRises * share
		default:
			w.still[i] = 0
		}
		w.llr[i] = l
	}
}

// stands weighs a stretch in which flow and return hardly move and the flow is the warmer: a burner that holds its
// set-point, or water that stands and cools in the pipes as Newton's law has it. Logarithm of odds a second.
func (s *shaper) stands(f, r, f1, r1 float64) float64 {
	if f1 > warmsSlow || r1 > warmsSlow {
		return risesOdds
	}
	x, y := f-airTemperature, r-airTemperature
	if x < coolExcess || y < coolExcess {
		return 0
	}
	cf, cr := -f1/x, -r1/y // 1/s
	if min(cf, cr) < coolSlowest || max(cf, cr) > coolFastest {
		return holdsOdds
	}
	if q := cf / cr; q > coolAlike || q < 1/coolAlike {
		return holdsOdds
	}
	return -coolsOdds
}
