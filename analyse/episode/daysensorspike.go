package episode

import (
	"math"
	"time"

	"tundish/decode"
)

const (
	// spikeLeast is how far a single value must be from the line between its neighbours, K: what a burner's thrust at the
	// start or a tap does in half a minute stays below, or does not go back. Own proposal.
	spikeLeast = 12.0
	// spikeCalm is how far all the other values around may be from that line, K, and as a share of the spike: water that
	// was really that hot is still on its way half a minute later. Own proposal.
	spikeCalm, spikeCalmShare = 2.5, 0.12
	// spikeAround is the number of calm values needed on either side. A burner that cycles within minutes has none.
	spikeAround = 3
	// spikeOften and spikeSeldom are the intervals between readings for which this is looked at: a faster reader shows how
	// fast a jump was, and at a slower one water has time for anything.
	spikeOften, spikeSeldom = jumpSharpGap, 75 * time.Second
	// spikeOther is the share of the spike that the other pipe of the same source may move by. Own proposal: hot water
	// passes both, a poor connection is one sensor's.
	spikeOther = 0.15
)

// spikeTrack holds the last values of a sensor.
type spikeTrack struct {
	n    int // of last, those that are filled
	from int // the oldest of them
	fits int // of the intervals up to the newest, how many on end are of a fitting pace
	last [spikeLast]value
}

// spikeLast is the number of values looked at.
const spikeLast = 2*spikeAround + 1

// at is the i-th value, the oldest being the first.
func (s *spikeTrack) at(i int) *value {
	if i += s.from; i >= spikeLast {
		i -= spikeLast
	}
	return &s.last[i]
}

// push takes a value.
func (s *spikeTrack) push(t moment, v float64) {
	if s.n > 0 {
		if gap := t.since(s.at(s.n - 1).t); gap <= spikeOften || gap > spikeSeldom {
			s.fits = 0
		} else {
			s.fits++
		}
	}
	if s.n < spikeLast {
		s.n++
	} else if s.from++; s.from == spikeLast {
		s.from = 0
	}
	*s.at(s.n - 1) = value{v, t, true}
}

// spiked takes a value, and looks at the one that now has its neighbours on both sides.
func (x *sensorTrack) spiked(w *sensorWatch, t moment, v float64) {
	if !x.pipe {
		return
	}
	s := &x.spike
	s.push(t, v)
	if s.fits < spikeLast-1 {
		return
	}
	mid := *s.at(spikeAround)
	off, ok := s.off()
	if !ok || math.Abs(off) < spikeLeast || mid.v == powerOnC {
		return
	}
	near := s.at(spikeAround - 1).t
	if w.tapped.on || near.within(jumpExcused, w.tapped.changed) ||
		w.lit.changed != 0 && w.lit.changed >= near && w.lit.changed < s.at(spikeAround+1).t {
		return // a tap's water, or a burner that just came on
	}
	for _, y := range x.pairs {
		if y.pipe && y.spike.movedAt(mid.t, spikeOther*math.Abs(off)) {
			return
		}
	}
	x.day.Spikes.add(mid.t.time(), mid.v, s.at(spikeAround-1).v)
	if math.Abs(off) > math.Abs(x.day.Spikes.Most) {
		x.day.Spikes.Most = off
	}
}

// off is how far the middle value is from the line through its neighbours; ok is false where they are not calm.
func (s *spikeTrack) off() (k float64, ok bool) {
	a, m, b := s.at(spikeAround-1), s.at(spikeAround), s.at(spikeAround+1)
	slope := (b.v - a.v) / b.t.since(a.t).Seconds()
	k = m.v - a.v - slope*m.t.since(a.t).Seconds()
	calm := min(spikeCalm, spikeCalmShare*math.Abs(k))
	if math.Abs(b.v-a.v) > calm {
		return 0, false
	}
	for i := range spikeLast {
		if i != spikeAround && math.Abs(s.at(i).v-(a.v+b.v)/2) > 2*calm {
			return 0, false
		}
	}
	return k, true
}

// movedAt tells whether a value near t is further than limit from those around it, K.
func (s *spikeTrack) movedAt(t moment, limit float64) bool {
	for i := 1; i+1 < s.n; i++ {
		d := s.at(i).t.since(t)
		if d > -spikeSeldom && d < spikeSeldom && math.Abs(s.at(i).v-(s.at(i-1).v+s.at(i+1).v)/2) > limit {
			return true
		}
	}
	return false
}

// SpikesLookedAt tells whether single values of a point that is read so often are looked at as spikes.
func SpikesLookedAt(p decode.Point, every time.Duration) bool {
	return pipes(p) && every > spikeOften && every <= spikeSeldom
}
