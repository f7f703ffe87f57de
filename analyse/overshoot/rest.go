package overshoot

import (
	"math"
	"time"

	"tundish/analyse"
)

// After a long rest the water in flow and return is as warm as its surroundings: a difference that is left is the
// sensors'. That tells which of two pairs is wrong, in all weathers.
const (
	restFor    = 2 * time.Hour // without a firing. Own proposal: six time constants of 20 min, of water in an insulated heat exchanger (from memory)
	restEven   = 2.0           // K: a pair that agrees. Own proposal: two clip-on probes of 0.5 K each, and some warmth left
	leastRests = 2             // starts after such a rest
)

// rested are the medians of flow less return at starts after a long rest.
type rested struct {
	own, other float64 // K
	n          int
}

func readRests(p *analyse.Pass) rested {
	var own, other []float64
	list := p.Facts.Firings
	for i, f := range list {
		if i == 0 || f.Cut || f.From.Sub(list[i-1].To) < restFor || !f.Start.Own.Known || !f.Start.Other.Known {
			continue
		}
		own, other = append(own, float64(f.Start.Own.Value)), append(other, float64(f.Start.Other.Value))
	}
	r := rested{own: median(own), other: median(other), n: len(own)}
	if r.n > 0 {
		p.Measured("flow less return at lighting after a rest of two hours", "%.1f K by the source of the set-point, %.1f K by the other, in the median of %s", r.own, r.other, analyse.Count(r.n, "start"))
	}
	return r
}

// ownLow tells whether at rest too the own flow reads low, by about as much as the second sensor's peaks lie above its.
func (r rested) ownLow(apart float64) bool {
	return r.n >= leastRests && r.own <= -apartK && math.Abs(r.other) <= restEven && math.Abs(apart-(r.other-r.own)) <= apartK
}

// otherHigh is the same of the second sensor, which reads high.
func (r rested) otherHigh(apart float64) bool {
	return r.n >= leastRests && r.other >= apartK && math.Abs(r.own) <= restEven && math.Abs(apart-(r.other-r.own)) <= apartK
}
