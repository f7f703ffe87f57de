package capfile

import (
	"math/bits"
	"slices"
	"time"
)

// What tells a step of the wall clock from drift.
const (
	// stepAtLeast is the least jump that counts as a step: above what a time server's slewing does between two
	// looks (common practice, no source).
	stepAtLeast = time.Second
	// driftPerMille bounds drift as a share of the time between two looks, in 1/1000: ten times what the worst
	// board crystals do (common practice, no source).
	driftPerMille = 1
)

// Step is a jump of the wall clock: shown as one, never as a gap or as overlapping data.
type Step struct {
	// At is the run's monotonic time of the first look after it.
	At time.Duration
	// Time is UTC of that look.
	Time time.Time
	// By is how far the wall clock jumped; positive is forward.
	By time.Duration
}

// clock maps a run's monotonic time to UTC. The offset (UTC − monotonic) is interpolated between knots and
// constant outside them.
type clock struct {
	knots  []knot // by at, strictly rising; wall time not falling
	synced bool
	near   int // the knot before which the last time lay: the next is mostly there too
}

type knot struct{ at, offset int64 } // ns

func knotOf(o Observation) knot {
	return knot{int64(o.At), o.Wall.UnixNano() - int64(o.At)}
}

// newClock chooses the knots: the synchronised observations; where there are none, the last observation, since a
// correction by hand is taken as right and times before it move with it; where there is none, the start. Going
// back from the last knot, one that the next cannot have come from by drift is before a step, and left out.
func newClock(started time.Time, obs []Observation) clock {
	var c clock
	var all []knot
	for _, o := range obs {
		if o.Synced {
			all = append(all, knotOf(o))
		}
	}
	c.synced = len(all) > 0
	if !c.synced && len(obs) > 0 {
		all = []knot{knotOf(obs[len(obs)-1])}
	} else if !c.synced && !started.IsZero() {
		all = []knot{{0, started.UnixNano()}}
	}
	slices.SortStableFunc(all, func(a, b knot) int { return int(min(max(a.at-b.at, -1), 1)) })
	for _, k := range slices.Backward(all) {
		if n := len(c.knots); n == 0 || driftOnly(k, c.knots[n-1]) {
			c.knots = append(c.knots, k)
		}
	}
	slices.Reverse(c.knots)
	return c
}

// driftOnly says whether a clock can have drifted from a to b without a step, and without running backwards.
func driftOnly(a, b knot) bool {
	apart := b.at - a.at
	drift := b.offset - a.offset
	allowed := int64(stepAtLeast) + apart*driftPerMille/1000
	return apart > 0 && drift >= -apart && max(drift, -drift) <= allowed
}

func (c *clock) known() bool { return len(c.knots) > 0 }

// time is UTC of a time in the run; zero where nothing is known of the clock.
func (c *clock) time(at time.Duration) time.Time {
	if !c.known() {
		return time.Time{}
	}
	return time.Unix(0, c.nanos(int64(at))).UTC()
}

// nanos is UTC in ns since 1970.
func (c *clock) nanos(at int64) int64 {
	last := len(c.knots) - 1
	if at >= c.knots[last].at {
		return at + c.knots[last].offset
	}
	if at <= c.knots[0].at {
		return at + c.knots[0].offset
	}
	i := c.near
	if i < 1 || i > last || at <= c.knots[i-1].at || at > c.knots[i].at {
		i, _ = slices.BinarySearchFunc(c.knots, at, func(k knot, at int64) int { return int(min(max(k.at-at, -1), 1)) })
		c.near = i
	}
	a, b := c.knots[i-1], c.knots[i]
	// The product does not fit into 64 bits over a long run; cutting toward zero keeps the order, since the offset
	// falls by no more than time passes.
	drift := b.offset - a.offset
	hi, lo := bits.Mul64(uint64(max(drift, -drift)), uint64(at-a.at))
	part, _ := bits.Div64(hi, lo, uint64(b.at-a.at))
	if drift < 0 {
		return at + a.offset - int64(part)
	}
	return at + a.offset + int64(part)
}

// shift moves the whole run.
func (c *clock) shift(by int64) {
	for i := range c.knots {
		c.knots[i].offset += by
	}
}

// steps lists the jumps between successive observations.
func (c *clock) steps(obs []Observation) []Step {
	var list []Step
	for i := 1; i < len(obs); i++ {
		by := knotOf(obs[i]).offset - knotOf(obs[i-1]).offset
		if max(by, -by) > int64(stepAtLeast) {
			list = append(list, Step{At: obs[i].At, Time: c.time(obs[i].At), By: time.Duration(by)})
		}
	}
	return list
}

// follow moves runs of the logger that would overlap, since in truth each began after the one before had ended.
// First, from the last to the first, a run without a synchronised clock is moved back to end where the next
// starts; then, from the first to the last, one that still starts too early is moved on.
func follow(runs []*runState) {
	runs = slices.DeleteFunc(slices.Clone(runs), func(r *runState) bool { return !r.clock.known() })
	overlap := func(i int) int64 {
		return max(0, runs[i].clock.nanos(runs[i].last*1000)-runs[i+1].clock.nanos(0))
	}
	for i := len(runs) - 2; i >= 0; i-- {
		if !runs[i].clock.synced {
			runs[i].clock.shift(-overlap(i))
		}
	}
	for i := 0; i+1 < len(runs); i++ {
		runs[i+1].clock.shift(overlap(i))
	}
}
