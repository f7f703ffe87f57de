package episode

import "time"

// warmedBy is the least rise of the flow by which a brief flame has warmed it, K. Own proposal: more than a bus
// sensor's step.
const warmedBy = 2.0

// didItsWork tells whether a flame, however brief, brought the water to its set-point or limit: too little water
// moves, and that is a firing and no failed attempt.
func (f *burn) didItsWork() bool {
	return f.FlowSeen && f.FlowMax-f.FlowStart >= warmedBy && (f.FlowMax >= limitFlow || f.SetpointSeen && f.FlowMax >= f.SetpointEnd-setpointSlack)
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
	if f == nil || !now && t.Sub(f.To) <= b.flame.cadence.Usual() {
		return
	}
	b.brief = nil
	w := b.onset
	locked := w != nil && w.From.After(f.From)
	if !locked && (b.takenAway(f) || !b.stillAsked(t)) {
		if l := &b.hotWater; l.known && l.changed.After(f.From) { // what it burned for was what went, or what had to wait
			f.forHotWater, f.forHeating = f.Duration(), 0
			if l.on {
				f.forHotWater, f.forHeating = 0, f.Duration()
			}
		}
		b.held(f, f.To, EndUnknown)
		return
	}
	a := Attempt{At: f.From, Flame: f.Duration()}
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
