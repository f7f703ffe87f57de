package episode

import (
	"slices"
	"time"
)

// endByLoss says of the firing whose flame was lost, and with it the burner locked out, that the loss ended it: the
// fault that was read together with it is what came of that.
func (b *Builder) endByLoss(w *faultWatch) {
	if w.Cause != CauseFlameLoss || w.Flags < 0 || w.Flags&flagGasFlame == 0 {
		return // without the flags the loss is no more than an inference from the fault
	}
	for i := len(b.firings) - 1; i >= 0 && !b.firings[i].To.Before(w.Preceding.LastFiring.From); i-- {
		if f := &b.firings[i]; f.From.Equal(w.Preceding.LastFiring.From) && (f.End == EndFault || f.End == EndUnknown) {
			f.End = EndFlameLoss
		}
	}
	b.pending = slices.DeleteFunc(b.pending, func(p pendingEnd) bool { return b.firings[p.index].End == EndFlameLoss })
}

// flameLosses takes the appliance's own count of flames lost in the run. Where it rose by no less than there are firings
// since that ended for no reason known, these were lost.
func (b *Builder) flameLosses(t time.Time, v float64) {
	before := b.losses
	b.losses = value{v, momentOf(t), true}
	if !before.seen || v <= before.v {
		return
	}
	n, from := int(v-before.v), before.t.time().Add(-endSlack)
	var unknown []*Firing
	for i := len(b.firings) - 1; i >= 0 && b.firings[i].To.After(from); i-- {
		switch f := &b.firings[i]; {
		case f.End == EndFlameLoss:
			n--
		case f.End == EndUnknown && f.Basis == ByFlame:
			unknown = append(unknown, f)
		}
	}
	if len(unknown) > n {
		return // it was some of these
	}
	for _, f := range unknown {
		f.End = EndFlameLoss
	}
}
