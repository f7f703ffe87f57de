package episode

import (
	"slices"
	"time"

	"tundish/decode"
)

const (
	// excessAfter is how long after the burner stopped the flow's peak still belongs to the firing: the exchanger's metal
	// and a sensor's lag bring it late. Own proposal.
	excessAfter = time.Minute
	// excessArms is how near the set-point the flow must have come down before its peak is the firing's own doing, K:
	// water that is hot from before, or from making hot water, is no overshoot. Own proposal.
	excessArms = 2.0
	// excessBefore is how long before lighting the flow may have been read to show that it had come down: without a
	// burner it only cools on. A master that asks for it once a minute reads it above the set-point the next time.
	// Own proposal.
	excessBefore = 2 * time.Minute
	// excessSeldom is how far apart two readings must be for the flow to pass the set-point unseen between them. Own
	// proposal: it climbs by some kelvin in that time.
	excessSeldom = 30 * time.Second
	// excessResumes is how long after hot water a firing is no start of its own: it goes on from it. Own proposal.
	excessResumes = 5 * time.Minute
)

// Excess is how far a firing for heating drove the flow against the set-point in force: the highest of each in the
// firing and the minute after it. Each flow counts from where it was first no higher
// than the set-point, at lighting or after it, and anew after hot water was made.
type Excess struct {
	Setpoint  float64 // °C, the highest in force from lighting on
	Own       float64 // °C, highest flow by the source that gives the set-point; see OwnSeen
	Other     float64 // °C, highest flow by any other source; see OtherSeen
	OwnSeen   bool
	OtherSeen bool
	Unwatched bool // the own flow was read at or under the set-point before lighting only: its climb was not seen
	Resumed   bool // hot water was made in the firing or in the five minutes before it: no start of its own
}

// Seen tells whether there is anything to compare.
func (e Excess) Seen() bool { return e.OwnSeen || e.OtherSeen }

// excessWatch follows one firing's excess.
type excessWatch struct {
	on         bool
	index      int       // in firings, once it has ended; −1 before
	until      time.Time // once it has ended
	own, other bool      // armed, see excessArms
	before     []lightFlow
	hotWater   time.Time // when hot water was last being made
	now        Excess
}

// lightFlow is a source's flow just before lighting, °C.
type lightFlow struct {
	source string
	value
}

// begin starts the watch at lighting.
func (w *excessWatch) begin(b *Builder, t time.Time) {
	*w = excessWatch{on: true, index: -1, hotWater: w.hotWater, before: w.before[:0]}
	w.now.Resumed = !w.hotWater.IsZero() && since(t, w.hotWater) < excessResumes
	for _, s := range b.sources {
		if v := s.values[decode.Flow]; v.seen && v.age(t) <= excessBefore && !w.now.Resumed {
			w.before = append(w.before, lightFlow{s.name, v})
		}
	}
}

// down tells whether a source's flow had come down to the set-point at lighting, where it is read too seldom to be seen
// on its way up again.
func (w *excessWatch) down(source string, t time.Time) bool {
	return slices.ContainsFunc(w.before, func(f lightFlow) bool {
		return f.source == source && f.age(t) >= excessSeldom && f.v <= w.now.Setpoint+excessArms
	})
}

// excessWater takes a flow.
func (b *Builder) excessWater(source string, t time.Time, v float64) {
	w := &b.excess
	if !b.hotWater.stale(t) && b.hotWater.on {
		w.hotWater = t
		if w.index >= 0 {
			w.on = false // the minute after is over: the water goes elsewhere
		}
		w.own, w.other, w.now, w.before = false, false, Excess{Resumed: true}, w.before[:0]
		return
	}
	if !w.on || !b.setpoint.seen || b.setpoint.age(t) > setpointStands {
		return
	}
	switch {
	case w.index < 0 && b.firing == nil:
		return // went out at once; it is not settled yet what it was
	case w.index >= 0 && (t.After(w.until) || b.demand.known && !b.demand.on):
		w.on = false // nobody asks any more: what the standing water does is no overshoot
		return
	case w.index < 0 && b.setpoint.v >= warmSetpoint:
		w.now.Setpoint = max(w.now.Setpoint, b.setpoint.v)
	}
	if w.now.Setpoint < warmSetpoint {
		return
	}
	armed, peak, seen := &w.other, &w.now.Other, &w.now.OtherSeen
	if source == b.setpoint.owner {
		armed, peak, seen = &w.own, &w.now.Own, &w.now.OwnSeen
	}
	if !*armed && w.index < 0 {
		seen := v <= w.now.Setpoint+excessArms
		*armed = seen || w.down(source, t)
		w.now.Unwatched = w.now.Unwatched || armed == &w.own && *armed && !seen
	}
	if *armed && (!*seen || v > *peak) {
		*peak, *seen = v, true
	}
	if w.index >= 0 {
		b.firings[w.index].Excess = w.now
	}
}

// excessEnd files what was seen with a firing that has just been filed.
func (b *Builder) excessEnd(t time.Time) {
	w := &b.excess
	if !w.on {
		return
	}
	w.index, w.until = len(b.firings)-1, t.Add(excessAfter)
	b.firings[w.index].Excess = w.now
}
