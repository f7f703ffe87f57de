package episode

import "math"

const (
	// standsLeast and standsMost bound for how long the water is looked at that stood before a pump began again, s;
	// standsSigma how many times their noise flow and return may lie off a straight line. Own proposals.
	standsLeast, standsMost, standsSigma = 25.0, 900.0, 1.7
)

// stood finds when the burner stopped where the pump stopped with it and began again before sample i, at which the flow
// falls: the time in s since base, and whether water stood at all.
func (s *shaper) stood(i int) (float64, bool) {
	w, K := s.scratch, s.lag.sum()
	j := i
	for j > 0 && s.t[i]-s.t[j] < standsMost && K*w.f1[j] < -onDrive/2 {
		j--
	}
	end := s.t[j] - w.half
	for j > 0 && s.t[j] > end {
		j--
	}
	k := j
	for from := j - 3; from > s.first && s.t[j]-s.t[from] <= standsMost; from-- {
		if !s.straight(from, j) {
			if s.t[j]-s.t[from] > 2*standsLeast {
				break
			}
			continue
		}
		k = from
	}
	if s.t[j]-s.t[k] < standsLeast {
		return 0, false
	}
	lo := k
	for lo > s.first && s.t[k]-s.t[lo-1] <= kinkBefore && w.state[lo-1] == shapeOn {
		lo--
	}
	return s.bend(lo, j), true
}

// straight tells whether flow and return cool alike from sample lo to hi, as water does that stands in pipes.
func (s *shaper) straight(lo, hi int) bool {
	t, f, r := s.t[lo:hi+1], s.f[lo:hi+1], s.r[lo:hi+1]
	sf, sr := slope(t, f), slope(t, r)
	d := s.t[hi] - s.t[lo]
	if -sf*d < standsFall || !cools(mean(f), mean(r), sf, sr, standsAlike+min(standsUnsure, s.noise()/max(1e-9, -sr*d))) {
		return false
	}
	most := float64(len(t)) * sq(standsSigma*s.noise())
	return lineError(t, f) < most && lineError(t, r) < most
}

// standsAlike is how alike flow and return cool at the least over a short look, as a ratio, and standsUnsure what noise
// may add to it; standsFall by how many K the flow falls in it at the least. Own proposals.
const standsAlike, standsUnsure, standsFall = 1.35, 0.7, 0.2

// cools tells whether two temperatures, °C, with slopes in K/s fall towards the air as those of standing water do.
func cools(f, r, f1, r1, alike float64) bool {
	x, y := f-airTemperature, r-airTemperature
	if x < coolExcess || y < coolExcess {
		return false
	}
	cf, cr := -f1/x, -r1/y // 1/s
	return min(cf, cr) >= coolSlowest && max(cf, cr) <= coolFastest && cf < alike*cr && cr < alike*cf
}

// bend finds where two straight lines meet that flow and return follow from sample lo to hi, s since base. Probes show
// a change of slope later by their lag.
func (s *shaper) bend(lo, hi int) float64 {
	best, at := math.Inf(1), s.t[hi]
	step := max(1, (hi-lo)/120)
	for j := lo + 3; j < hi-2; j += step {
		cost := lineError(s.t[lo:j], s.f[lo:j]) + lineError(s.t[j:hi+1], s.f[j:hi+1]) +
			lineError(s.t[lo:j], s.r[lo:j]) + lineError(s.t[j:hi+1], s.r[j:hi+1])
		if cost < best {
			best, at = cost, s.t[j]
		}
	}
	return at - s.lag.probe()
}
