package overshoot

import (
	"math"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

// Two sensors of one water that agree while it is settled are both right; where they part in a peak, the higher is nearer
// the truth: a sensor can follow late, and a pipe in which nothing moves stays cold, but neither makes a reading too hot.
const leastPairs = 2 // firings in which both were settled together. Own proposal

// witness is what is known of the two sensors of the flow.
type witness struct {
	own  string  // source that gives the set-point
	bias float64 // K, the other less the own in settled water, median
	n    int     // firings
	// ownOut, otherOut: the kind of the finding by which the sensor is not to be used at all.
	ownOut, otherOut string
	// ownWrong: of the two the own is found wrong by another check, and not the other.
	ownWrong bool
}

// agrees tells whether both sensors are right in settled water.
func (w witness) agrees() bool { return w.n >= leastPairs && math.Abs(w.bias) <= apartK }

// readWitness compares the sensors, and asks what other checks say of them.
func readWitness(p *analyse.Pass) (w witness) {
	for _, c := range p.Coverage {
		if c.Series.Point == decode.FlowSetpoint && w.own == "" {
			w.own = c.Series.Source
		}
	}
	own, other := "", ""
	for _, c := range p.Coverage {
		if c.Series.Point != decode.Flow || c.Readings == 0 {
			continue
		}
		if doubted := p.Doubted(c.Series); doubted == "" {
			continue
		} else if c.Series.Source == w.own {
			own = doubted
		} else {
			other = doubted
		}
	}
	// Where two disagree and nobody knows which is wrong, this check's own signs decide.
	if own == disagreement && other == disagreement {
		own, other = "", ""
	}
	if own == disagreement {
		own, w.ownWrong = "", true
	}
	w.ownOut, w.otherOut = own, other
	var apart []float64
	for i := range p.Facts.Firings {
		if f := &p.Facts.Firings[i]; f.Use == episode.Heating {
			apart = append(apart, settledApart(f, w.own)...)
		}
	}
	w.bias, w.n = median(apart), len(apart)
	if w.n > 0 {
		p.Measured("second sensor of the flow in settled water", "%+.1f K against the one of the source that gives the set-point, in the median of %s", w.bias, analyse.Count(w.n, "firing"))
	}
	return w
}

const disagreement = "probe-disagreement"

// settledApart gives other less own flow, where both were settled for the most part together.
func settledApart(f *episode.Firing, own string) []float64 {
	for _, a := range f.Settled {
		if a.Source != own {
			continue
		}
		for _, b := range f.Settled {
			together := episode.Span{From: a.From, To: a.To}.Overlap(episode.Span{From: b.From, To: b.To})
			longer := max(a.To.Sub(a.From), b.To.Sub(b.From))
			if b.Source != own && together >= longer*3/4 && together >= time.Minute {
				return []float64{b.MeanFlow - a.MeanFlow}
			}
		}
	}
	return nil
}

// top is how far the water came past the set-point, by all that may be believed.
func (w witness) top(s start) float64 {
	switch {
	case !s.ownSeen:
		return s.other
	case s.otherSeen && w.agrees():
		return max(s.own, s.other-max(0, w.bias))
	}
	return s.own
}
