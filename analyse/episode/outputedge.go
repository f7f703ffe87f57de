package episode

import "time"

// begin starts a run at an earlier moment than the one at which it showed.
func (o *outputWatch) begin(b *Builder, t, from time.Time, rough bool) {
	o.steady = 0
	o.running, o.began, o.nought, o.shown, o.changed, o.spread = true, t, time.Time{}, time.Time{}, time.Time{}, 0
	b.flameLevel(o.owner, t, true)
	if f := b.firing; f != nil && !f.Cut {
		b.flame.dateBack(from)
		f.From = b.flame.spans[len(b.flame.spans)-1].From
		f.Rough = rough
	}
}

// dated is when a run began that showed at t: in the middle of when it can have begun, or earlier, where flow and
// spread began to rise.
func (o *outputWatch) dated(t time.Time) time.Time {
	first := o.least.Add(-outputHolds)
	if o.least.IsZero() || t.Sub(first) > outputLate {
		return t
	}
	from := first.Add(t.Sub(first) / 2)
	if rise := o.rises(t); rise.Before(from) {
		from = rise
	}
	if from.Before(first) {
		from = first
	}
	return from
}

// rises is the last look before flow and spread rose, t where they did not.
func (o *outputWatch) rises(t time.Time) time.Time {
	i := o.lowest(t)
	if i < 0 {
		return t
	}
	low := o.trace[i]
	for k, s := range o.trace[i:] {
		if s.flow-s.ret > low.flow-low.ret+outputRise && s.flow > low.flow+outputRise {
			return o.trace[i+max(0, k-1)].t
		}
	}
	return t
}

// lowest is the place of the least spread within outputLate before t, −1 without any.
func (o *outputWatch) lowest(t time.Time) int {
	at := -1
	for i, s := range o.trace {
		if t.Sub(s.t) <= outputLate && (at < 0 || s.flow-s.ret <= o.trace[at].flow-o.trace[at].ret) {
			at = i
		}
	}
	return at
}

// settle ends a run whose modulation has fallen to 0, where it shows that no heat is made any more.
func (o *outputWatch) settle(b *Builder, t time.Time) {
	if !o.running || o.nought.IsZero() {
		return
	}
	if l := &b.hotWater; l.known && l.changed.After(o.above) && l.changed.After(o.changed) && o.began.Before(l.changed) {
		o.changed, o.looks = l.changed, 0
	}
	last := o.nought
	if o.shown.After(last) {
		last = o.shown
	}
	switch {
	case !b.working(t):
		o.end(b, t, o.withMode(b, last), false)
	case !o.changed.IsZero() && t.Sub(o.changed) < outputMoves:
	case !o.changed.IsZero() && o.looks > 0:
		o.end(b, t, o.changed, false)
	case t.Sub(last) < outputDies || o.looks < outputLooks && t.Sub(last) < outputLingers:
	case last.Sub(o.nought) <= outputLingers:
		o.end(b, t, o.nought, false)
	default:
		o.end(b, t, last, true)
	}
}

// withMode is when a run ended whose purpose has gone: with that, if heat showed until then, else before.
func (o *outputWatch) withMode(b *Builder, last time.Time) time.Time {
	modes := []*level{&b.heatActive, &b.hotWater}
	if !b.heatActive.known && !b.hotWater.known {
		modes = []*level{&b.demand}
	}
	var gone time.Time
	for _, l := range modes {
		if l.known && l.changed.After(o.above) && l.changed.After(gone) {
			gone = l.changed
		}
	}
	switch {
	case !gone.IsZero() && (gone.Before(o.nought) || !o.shown.IsZero() && gone.Sub(o.shown) < outputDies):
		return gone
	case last.Sub(o.nought) > outputLingers:
		return last
	}
	return o.nought
}

// end ends the run under way at an earlier moment.
func (o *outputWatch) end(b *Builder, t, at time.Time, rough bool) {
	o.running, o.nought, o.shown = false, time.Time{}, time.Time{}
	f := b.firing
	if f == nil || !b.flame.on {
		return
	}
	if at.Before(f.From) {
		at = f.From
	}
	f.Rough = f.Rough || rough
	b.flame.update(t, false)
	b.flame.spans[len(b.flame.spans)-1].To, b.flame.changed = at, at
	b.useTime(t)
	b.endFiring(at, EndUnknown)
}
