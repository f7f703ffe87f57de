package deltat

import (
	"math"

	"tundish/analyse"
	"tundish/decode"
)

// disagreeing is another source that says something else of the same firings than the best, beyond both errors; nil
// where there is none.
func disagreeing(all []*measured) *measured {
	best := all[0]
	for _, other := range all[1:] {
		if other.total < secondSource || other.median <= other.error { // no difference where heat is made: its sensors are wrong
			continue
		}
		mine, theirs := shared(best, other)
		if counted(mine) < secondSource {
			continue
		}
		k := func(x part) float64 { return x.k }
		a, b := median(mine, k), median(theirs, k)
		if math.Abs(a-b) > math.Hypot(best.error, other.error)+contactShare*max(a, b) {
			return other
		}
	}
	return nil
}

// shared are the parts of two sources that overlap.
func shared(a, b *measured) (x, y []part) {
	overlap := func(p, q part) bool { return p.from.Before(q.to) && q.from.Before(p.to) }
	for _, p := range a.parts {
		for _, q := range b.parts {
			if overlap(p, q) {
				x, y = append(x, p), append(y, q)
				break
			}
		}
	}
	return x, y
}

// stepError is the error by the steps in which a source tells its temperatures, K: each of both is up to half a step
// off, evenly spread.
func stepError(p *analyse.Pass, source string) float64 {
	step := 0.0
	for _, c := range p.Coverage {
		if c.Series.Source == source && (c.Series.Point == decode.Flow || c.Series.Point == decode.Return) {
			step = max(step, c.Step)
		}
	}
	return min(step, widestStep) * math.Sqrt(2.0/12)
}
