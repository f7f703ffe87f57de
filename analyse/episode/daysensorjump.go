package episode

import (
	"math"
	"time"

	"tundish/decode"
)

const (
	// waterKps is the fastest that water at a sensor changes, K/s: 24 kW into the 2 l of water and metal that no
	// exchanger stays below are 2.9 K/s. Fast thermistors see it; a probe on a pipe follows far slower.
	waterKps = 3.0
	// airKps is the same of air, and of stored water, K/s. Own proposal: draughts and hands stay below.
	airKps = 0.25
	// jumpWater, jumpAir and jumpBar are the smallest jumps looked at, K and bar. Own proposal: above steps of 1 K, noise
	// and the knocks of closing taps.
	jumpWater, jumpAir, jumpBar = 8.0, 10.0, 1.0
	// jumpBack is how near the value before a jump must be met again, as a share of the jump. Own proposal.
	jumpBack = 0.25
	// jumpSamples is the number of values that a jump may last for (common practice, no source: one to three), jumpLasts
	// the longest time, jumpGap how far apart the readings around it may be. The latter two are own proposals.
	jumpSamples              = 3
	jumpLasts, jumpGap       = 3 * time.Minute, 150 * time.Second
	jumpLastsAir, jumpGapAir = 10 * time.Minute, 15 * time.Minute
	// jumpExcused is how long after a start, a stop or a tap water that was standing may pass a sensor. Own proposal.
	jumpExcused = 3 * time.Minute
	// twinStill is the share of a jump that another sensor of the same water may have moved by, when it says that the water
	// did not jump, where it is told when hot water is made: an appliance's own sensor sees a tap's water, and a probe outside
	// does not. One with a lag of a minute shows 15 % of ten seconds. Own proposal. twinLeast is the least jump, K, and
	// twinLooks the least time, that this is said of.
	twinStill, twinLeast, twinLooks = 0.1, 12.0, 5 * time.Second
	// jumpSharp is how exactly the value before a jump must be met again, as a share of it, for a slower reader than
	// waterKps asks for, up to jumpSharpGap between readings: what real water does to a sensor takes three time constants
	// to leave it. Own proposal; time constants of 3 to 10 s of immersed thermistors are common practice, no source.
	jumpSharp, jumpSharpGap = 0.06, 12 * time.Second
	// jumpExcusedWarm is the same as jumpExcused of water that is warmer than before: what a burner heated at its start
	// is through within a minute. Own proposal.
	jumpExcusedWarm = time.Minute
)

// jumpTrack follows a departure from the value before it.
type jumpTrack struct {
	base   value // the last value that is believed
	on     bool
	from   moment // first reading of the departure
	lead   time.Duration
	first  float64
	now    float64
	least  float64 // the smallest distance from the base
	values int
	twin   *sensorTrack
	low    float64 // of the twin meanwhile
	high   float64
}

// jumpLimits are those of a point. told is false where no jump is told: the water at an instantaneous outlet does jump.
type jumpLimits struct {
	told      bool
	least     float64       // the least jump
	perSecond float64       // the fastest change
	lasts     time.Duration // the longest jump
	gap       time.Duration // the longest time between two readings
}

func jumpLimitsOf(p decode.Point) jumpLimits {
	switch p {
	case decode.Flow, decode.Return:
		return jumpLimits{true, jumpWater, waterKps, jumpLasts, jumpGap}
	case decode.Cylinder, decode.Outside, decode.Room:
		return jumpLimits{true, jumpAir, airKps, jumpLastsAir, jumpGapAir}
	case decode.Pressure:
		return jumpLimits{true, jumpBar, 0.2, jumpLasts, jumpGap} // bar/s: own proposal, a filling loop does a tenth of it
	}
	return jumpLimits{}
}

func (x *sensorTrack) jumped(w *sensorWatch, t moment, v float64) {
	l := &x.limits
	if !l.told {
		return
	}
	j := &x.jump
	if !j.base.seen || x.last.seen && t.since(x.last.t) > l.gap {
		*j = jumpTrack{base: value{v, t, true}}
		return
	}
	away := math.Abs(v - j.base.v)
	if !j.on {
		if away < l.least {
			j.base = value{v, t, true}
			return
		}
		*j = jumpTrack{base: j.base, on: true, from: t, lead: t.since(j.base.t), first: v, now: v, least: away, values: 1, twin: w.twinOf(x)}
		if j.twin != nil {
			j.low, j.high = j.twin.last.v, j.twin.last.v
		}
		return
	}
	if j.twin != nil {
		j.low, j.high = min(j.low, j.twin.last.v), max(j.high, j.twin.last.v)
	}
	long := t.since(j.from)
	switch {
	case long <= l.lasts && away <= max(jumpBack*j.least, l.least/3): // back
		x.closeJump(w, t, v, max(j.lead, long), l.perSecond)
		j = &x.jump
		*j = jumpTrack{base: value{v, t, true}}
	case long > l.lasts || (v-j.base.v)*(j.first-j.base.v) <= 0:
		*j = jumpTrack{base: value{v, t, true}} // it is there now, or somewhere else
	default:
		if v != j.now {
			j.values++
		}
		j.now, j.least = v, min(j.least, away)
		if j.values > jumpSamples {
			*j = jumpTrack{base: value{v, t, true}}
		}
	}
}

// closeJump counts a jump that was too fast for what it is of. slack is the longest time that either of its sides may
// have taken, by the readings around it.
func (x *sensorTrack) closeJump(w *sensorWatch, t moment, v float64, slack time.Duration, perSecond float64) {
	j := &x.jump
	fast := j.least >= perSecond*slack.Seconds()
	still := j.twin != nil && w.tapped.last != 0 && j.least >= twinLeast && t.since(j.twin.last.t) <= max(2*twinLooks, t.since(j.from)/2) && t.since(j.from) >= twinLooks && j.high-j.low <= twinStill*j.least
	sharp := j.least >= twinLeast && t.since(j.from) <= jumpSamples*jumpSharpGap && max(j.lead, t.since(x.last.t)) <= jumpSharpGap && math.Abs(v-j.base.v) <= jumpSharp*j.least
	if !fast && !still && !sharp {
		return
	}
	if j.first == powerOnC {
		x.day.PowerOn.add(j.from.time(), j.first, j.base.v)
		return
	}
	if water := x.Point == decode.Flow || x.Point == decode.Return; water && w.excuses(j.from, j.first > j.base.v, !fast && !sharp, j.base.t) {
		x.day.Excused++
		return
	}
	e := &x.day.Jumps
	e.add(j.from.time(), j.first, j.base.v)
	if d := j.first - j.base.v; math.Abs(d) > math.Abs(e.Most) {
		e.Most = d
	}
}

// excuses tells whether water that was standing, or was heated or cooled by itself, may have passed just then.
func (w *sensorWatch) excuses(t moment, warmer, slow bool, base moment) bool {
	if w.tapped.on || t.within(jumpExcused, w.tapped.changed) {
		return true
	}
	if slow && t.within(jumpExcused, w.lit.changed) && w.lit.changed <= base {
		return true // only the other sensor speaks against it: an exchanger may be hot or cold by itself
	}
	if warmer { // a stop warms nothing at once, and may be the control's answer to the jump itself
		return t.within(jumpExcusedWarm, w.lit.rose)
	}
	return t.within(jumpExcused, w.lit.changed)
}

// twinOf is another source's sensor of the same water, the first by name that is fresh.
func (w *sensorWatch) twinOf(x *sensorTrack) *sensorTrack {
	var best *sensorTrack
	for _, y := range w.list {
		if y == x || y.Point != x.Point || !y.last.seen || best != nil && best.Source < y.Source {
			continue
		}
		best = y
	}
	return best
}
