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
	// Moved says that times before it were moved with it. Else it is the jump that was not followed: the clock had been
	// synchronised before it, and was not again at once.
	Moved bool
}

// SleepTold is the shortest suspension that is told. Own choice: what else would be a step.
const SleepTold = stepAtLeast

// Sleep is a time in which the machine was suspended: the logger did not run, as between two runs.
type Sleep struct {
	// From is when the run was last seen awake, To when it was awake again; UTC.
	From, To time.Time
}

// clock maps a run's monotonic time to UTC. Monotonic time stands still while the machine is suspended; what it slept is
// added first, and gives the lapsed time. The offset (UTC − lapsed) is interpolated between knots and constant outside
// them.
type clock struct {
	knots  []knot // by lapsed time, strictly rising; wall time not falling
	sleeps []sleep
	synced bool
	near   int // the knot before which the last time lay: the next is mostly there too
}

type knot struct{ at, offset int64 } // ns, lapsed

// sleep is a suspension of the machine: what comes later in the run than after, came when it had slept for so long in all.
type sleep struct{ after, slept int64 } // ns; by after, both strictly rising

// sleepsOf finds when the machine was suspended. All of the time between the look before and the look after is taken for
// after it: on waking there is much to read, and little was under way when it fell asleep.
func sleepsOf(obs []Observation) []sleep {
	var list []sleep
	last := sleep{after: -1}
	for _, o := range obs {
		if int64(o.Slept) > last.slept {
			last.slept = int64(o.Slept)
			if n := len(list) - 1; n >= 0 && list[n].after >= last.after {
				list[n].slept = last.slept
			} else {
				list = append(list, last)
			}
		}
		last.after = max(last.after, int64(o.At))
	}
	return list
}

// lapsed is the time since the run's zero, sleep included, at a monotonic time of it.
func (c *clock) lapsed(at int64) int64 {
	for i := len(c.sleeps) - 1; i >= 0; i-- { // few, and the present is asked for mostly
		if at > c.sleeps[i].after {
			return at + c.sleeps[i].slept
		}
	}
	return at
}

func (c *clock) knotOf(o Observation) knot {
	at := c.lapsed(int64(o.At))
	return knot{at, o.Wall.UnixNano() - at}
}

// newClock chooses the knots: the synchronised observations; where there are none, the first observation after the last
// step, since a correction by hand is taken as right and times before it move with it, and a clock that nobody corrects
// tells nothing new later; where there is none, the start. Going back from the last knot, one that the next cannot have
// come from by drift is before a step, and left out.
func newClock(started time.Time, obs []Observation) clock {
	c := clock{sleeps: sleepsOf(obs)}
	var all []knot
	for _, o := range obs {
		if o.Synced {
			all = append(all, c.knotOf(o))
		}
	}
	c.synced = len(all) > 0
	if !c.synced && len(obs) > 0 {
		all = []knot{c.knotOf(obs[len(obs)-1])}
		for i := len(obs) - 2; i >= 0; i-- {
			k := c.knotOf(obs[i])
			if step(k, all[0]) {
				break
			}
			all[0] = k
		}
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

// step tells whether the wall clock jumped between two looks.
func step(a, b knot) bool {
	by := b.offset - a.offset
	return max(by, -by) > int64(stepAtLeast)
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
	if len(c.sleeps) > 0 {
		at = c.lapsed(at)
	}
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
		a, b := c.knotOf(obs[i-1]), c.knotOf(obs[i])
		if step(a, b) {
			off := c.time(obs[i-1].At).Sub(obs[i-1].Wall)
			list = append(list, Step{At: obs[i].At, Time: c.time(obs[i].At), By: time.Duration(b.offset - a.offset), Moved: off.Abs() > stepAtLeast})
		}
	}
	return list
}

// pauses lists the suspensions that are long enough to be told.
func (c *clock) pauses() []Sleep {
	var list []Sleep
	slept := int64(0)
	for _, s := range c.sleeps {
		if long := s.slept - slept; s.after >= 0 && long >= int64(SleepTold) {
			list = append(list, Sleep{From: c.time(time.Duration(s.after)), To: c.time(time.Duration(s.after) + time.Microsecond)})
		}
		slept = s.slept
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
