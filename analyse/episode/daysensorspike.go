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

// spikeTrack holds the last values of a sensor, the oldest first.
type spikeTrack struct {
	n    int
	last [2*spikeAround + 1]value
}

// spiked takes a value, and looks at the one that now has its neighbours on both sides.
func (x *sensorTrack) spiked(w *sensorWatch, t time.Time, v float64) {
	if !pipes(x.Point) {
		return
	}
	s := &x.spike
	if s.n == len(s.last) {
		copy(s.last[:], s.last[1:])
		s.n--
	}
	s.last[s.n] = value{v, t, true}
	if s.n++; s.n < len(s.last) {
		return
	}
	mid := s.last[spikeAround]
	off, ok := s.off()
	if !ok || math.Abs(off) < spikeLeast || mid.v == powerOnC {
		return
	}
	near := s.last[spikeAround-1].t
	if w.tapped.on || !w.tapped.changed.IsZero() && !w.tapped.changed.Before(near.Add(-jumpExcused)) ||
		!w.lit.changed.IsZero() && !w.lit.changed.Before(near) && w.lit.changed.Before(s.last[spikeAround+1].t) {
		return // a tap's water, or a burner that just came on
	}
	for _, y := range w.list {
		if y != x && y.Source == x.Source && pipes(y.Point) && y.spike.movedAt(mid.t, spikeOther*math.Abs(off)) {
			return
		}
	}
	x.day.Spikes.add(mid.t, mid.v, s.last[spikeAround-1].v)
	if math.Abs(off) > math.Abs(x.day.Spikes.Most) {
		x.day.Spikes.Most = off
	}
}

// off is how far the middle value is from the line through its neighbours; ok is false where they are not calm, or not
// read at a fitting pace.
func (s *spikeTrack) off() (k float64, ok bool) {
	a, m, b := s.last[spikeAround-1], s.last[spikeAround], s.last[spikeAround+1]
	slope := (b.v - a.v) / b.t.Sub(a.t).Seconds()
	k = m.v - a.v - slope*m.t.Sub(a.t).Seconds()
	calm := min(spikeCalm, spikeCalmShare*math.Abs(k))
	if math.Abs(b.v-a.v) > calm {
		return 0, false
	}
	for i := range s.last {
		if i > 0 {
			if gap := s.last[i].t.Sub(s.last[i-1].t); gap <= spikeOften || gap > spikeSeldom {
				return 0, false
			}
		}
		if i != spikeAround && math.Abs(s.last[i].v-(a.v+b.v)/2) > 2*calm {
			return 0, false
		}
	}
	return k, true
}

// movedAt tells whether a value near t is further than limit from those around it, K.
func (s *spikeTrack) movedAt(t time.Time, limit float64) bool {
	for i := 1; i+1 < s.n; i++ {
		if d := s.last[i].t.Sub(t); d > -spikeSeldom && d < spikeSeldom && math.Abs(s.last[i].v-(s.last[i-1].v+s.last[i+1].v)/2) > limit {
			return true
		}
	}
	return false
}

// SpikesLookedAt tells whether single values of a point that is read so often are looked at as spikes.
func SpikesLookedAt(p decode.Point, every time.Duration) bool {
	return pipes(p) && every > spikeOften && every <= spikeSeldom
}
