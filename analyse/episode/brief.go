package episode

import (
	"time"

	"tundish/decode"
)

// warmedBy is the least rise of the flow by which a brief flame has warmed it, K. Own proposal: more than a bus
// sensor's step.
const warmedBy = 2.0

// briefLooks is how long after a brief flame its flow is still looked at: bus sensors follow late, and are read every
// 10 s or so. Own proposal: [endSlack].
const briefLooks = endSlack

// didItsWork tells whether control may have put a brief flame out: the water came to its set-point or limit with it, as
// it does where too little moves, or stood there anyway. That is a firing and no failed attempt: a burner whose water
// waits to be warmed stands well below.
func (f *burn) didItsWork(heating bool) bool {
	warmed := f.FlowSeen && f.FlowMax-f.FlowStart >= warmedBy
	there := f.FlowSeen && f.SetpointSeen && f.FlowMax >= f.SetpointEnd-setpointSlack
	return there && (warmed || heating) || warmed && f.FlowMax >= limitFlow
}

// briefHeats tells whether a brief flame burned for heating, as far as the plant can do anything else.
func (b *Builder) briefHeats(f *burn) bool {
	return f.forHotWater == 0 && (b.hotWater.known && !b.hotWater.on || !b.cfg.HotWaterMade)
}

// briefWater takes a flow that is read after a brief flame, or tells what it was held against.
func (b *Builder) briefWater(p decode.Point, source string, t time.Time, v float64) {
	f := b.brief
	if f == nil || p != decode.Flow || since(t, f.To) > briefLooks || f.flowSourceOK && f.flowSource != source {
		return
	}
	if !f.flowSourceOK {
		f.flowSource, f.flowSourceOK, f.FlowStart = source, true, v
	}
	f.FlowEnd, f.FlowSeen, f.FlowMax = v, true, max(f.FlowMax, v)
}

// stillAsked tells whether heat or hot water was asked for at t, as far as known; not known counts as asked.
func (b *Builder) stillAsked(t time.Time) bool {
	if b.demand.stale(t) || b.demand.on {
		return true
	}
	return !b.hotWater.stale(t) && b.hotWater.on
}

// settleBrief decides what a flame that went out before attemptBelow was: a firing where control put it out, since what
// it burned for had ended or something else took over, else an attempt that did not hold. What tells may be read a
// little later than the flame: it waits for a round of polling.
func (b *Builder) settleBrief(t time.Time, now bool) {
	f := b.brief
	if f == nil || !now && since(t, f.To) <= b.flame.cadence.Usual() {
		return
	}
	w := b.onset
	locked := w != nil && w.From.After(f.From)
	if !f.looked {
		f.looked, f.ended = true, b.takenAway(f) || !b.stillAsked(t)
		if !f.SetpointSeen && b.setpoint.fresh(t) {
			f.SetpointEnd, f.SetpointSeen = b.setpoint.v, true
		}
	}
	work := f.didItsWork(b.briefHeats(f))
	if !now && !f.ended && !work && since(t, f.To) <= briefLooks {
		return // its water may still show it
	}
	b.brief = nil
	if !locked && !f.ended && work {
		b.held(f, f.To, EndUnknown)
		return
	}
	if !locked && f.ended {
		if l := &b.hotWater; l.known && l.changed.After(f.From) { // what it burned for was what went, or what had to wait
			f.forHotWater, f.forHeating = f.Duration(), 0
			if l.on {
				f.forHotWater, f.forHeating = 0, f.Duration()
			}
		}
		b.held(f, f.To, EndUnknown)
		return
	}
	a := Attempt{At: f.From, Flame: f.Duration(), Start: f.Start}
	b.attempts = append(b.attempts, a)
	b.tries.add(a)
	if locked { // the last of the sequence, read together with the fault
		b.tries.settle(ThenLockout)
		w.Preceding.Attempts = append(w.Preceding.Attempts, a)
		if w.Preceding.LastFiring.From.Equal(f.From) {
			w.Preceding.LastFiring = b.lastFiring()
		}
	}
}

// takenAway tells whether what a brief flame burned for ended, or gave way to something else, while it burned or with it.
func (b *Builder) takenAway(f *burn) bool {
	changed := func(l *level) bool { return l.known && l.changed.After(f.From) }
	return changed(&b.hotWater) || changed(&b.demand) && !b.demand.on
}
