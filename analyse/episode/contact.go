package episode

import (
	"slices"
	"time"

	"tundish/decode"
)

const (
	// rankLight, rankOther and rankBus order the sources of a 0/1 point: the appliance's own word before a contact's, and
	// a contact's before what is made of an indicator light.
	rankLight = iota
	rankOther
	rankBus
)

// rank is how far the word of a source goes for a 0/1 point.
func (b *Builder) rank(source string) int {
	switch {
	case slices.ContainsFunc(b.buses, func(w *busWatch) bool { return w.source == source }):
		return rankBus
	case b.of(source).values[decode.LightSign].seen:
		return rankLight
	}
	return rankOther
}

// isContact tells whether a source gives a point by a contact, which was looked at all the time.
func (b *Builder) isContact(p decode.Point, source string) bool {
	return slices.Contains(b.cfg.Contacts, decode.Series{Source: source, Point: p})
}

// takes tells whether a level listens to a source that says on at t. What goes further takes over at once; what goes
// less far when the other has fallen silent. Where a contact steps in that says what was said before, nothing ended.
func (b *Builder) takes(l *level, p decode.Point, source string, t time.Time, on bool) bool {
	if !l.seen || l.owner == source {
		return l.takes(source, t)
	}
	stale := l.stale(t)
	if !stale && b.rank(source) <= b.rank(l.owner) {
		b.disputes.look(p, l, source, t, on)
		return false
	}
	seam := l.known && l.on == on && (!stale || b.isContact(p, source) && since(t, l.last) <= l.hold()+standsWithin)
	if seam {
		l.owner, l.cadence = source, Cadence{}
		l.last, l.until = t, momentOf(t)+moment(l.hold())
		return true
	}
	if l == &b.flame && l.known {
		b.endFiring(l.last, EndRecord)
	}
	l.owner = source
	l.cut()
	return true
}

// standsWithin is how long after another source's word has run out a contact has told what it still says. Own proposal:
// some rounds of that.
const standsWithin = 30 * time.Second

// Dispute is how far two sources of one 0/1 point agreed. Counts is the one that was listened to.
type Dispute struct {
	Point         decode.Point
	Counts, Other string
	Together      time.Duration // in which both said something
	Apart         time.Duration // of that, in which they said different things
	Off           time.Duration // of that, in which the one that counts said 0
	First         time.Time     // when they first did
}

// disputeWatch follows two sources of one point.
type disputeWatch struct {
	Dispute
	last   time.Time // look
	parted time.Time // since when they differ; zero: they do not
}

// disputeWatches are all of them: few.
type disputeWatches struct {
	list []disputeWatch
	from time.Time // what is looked at before belongs to another piece; to likewise
	to   time.Time
}

// disputeSlack is for how long two sources may differ after a change: a round of polling on either side, and a relay.
// Own proposal.
const disputeSlack = 2 * endSlack

// look takes what a source says while another counts.
func (w *disputeWatches) look(p decode.Point, l *level, other string, t time.Time, on bool) {
	if !l.known || l.stale(t) {
		return
	}
	w.compare(p, l.owner, other, t, l.on, on)
}

func (w *disputeWatches) compare(p decode.Point, counts, other string, t time.Time, says, on bool) {
	i := slices.IndexFunc(w.list, func(x disputeWatch) bool { return x.Point == p && x.Counts == counts && x.Other == other })
	if i < 0 {
		i = len(w.list)
		w.list = append(w.list, disputeWatch{Dispute: Dispute{Point: p, Counts: counts, Other: other}})
	}
	x := &w.list[i]
	dt := time.Duration(0)
	if !x.last.IsZero() && t.After(x.last) && t.Sub(x.last) <= holdAtLeast {
		dt = t.Sub(x.last)
	}
	x.last = t
	if says == on {
		x.parted = time.Time{}
	} else if x.parted.IsZero() {
		x.parted, dt = t, 0
	}
	if !w.from.IsZero() && (t.Before(w.from) || !t.Before(w.to)) {
		return
	}
	x.Together += dt
	if x.parted.IsZero() || t.Sub(x.parted) <= disputeSlack {
		return
	}
	x.Apart += dt
	if !says {
		x.Off += dt
	}
	if x.First.IsZero() {
		x.First = x.parted
	}
}

// found are those that were seen together at all.
func (w *disputeWatches) found() []Dispute {
	var out []Dispute
	for _, x := range w.list {
		if x.Together > 0 {
			out = append(out, x.Dispute)
		}
	}
	return out
}

// join adds what another piece saw.
func (w *disputeWatches) join(more []Dispute) {
	for _, d := range more {
		i := slices.IndexFunc(w.list, func(x disputeWatch) bool { return x.Point == d.Point && x.Counts == d.Counts && x.Other == d.Other })
		if i < 0 {
			w.list = append(w.list, disputeWatch{Dispute: d})
			continue
		}
		x := &w.list[i]
		x.Together, x.Apart, x.Off = x.Together+d.Together, x.Apart+d.Apart, x.Off+d.Off
		if x.First.IsZero() {
			x.First = d.First
		}
	}
}

// answered takes what only the appliance itself can have said on its bus: it has mains, whatever a contact says. The
// other end of the bus may be fed otherwise.
func (b *Builder) answered(src *sourceValues, p decode.Point, t time.Time) {
	switch p {
	case decode.Flame, decode.Fault, decode.Flow, decode.Return, decode.Modulation:
	default:
		return
	}
	if !b.supply.seen || b.supply.owner == src.name || b.rank(src.name) != rankBus {
		return
	}
	b.spoke = t
	b.disputes.look(decode.Supply, &b.supply, src.name, t, true)
}

// unpowered tells whether the appliance has no mains at t, by a word that its bus does not belie.
func (b *Builder) unpowered() bool {
	return b.supply.known && !b.supply.on && !b.spoke.After(b.supply.changed.Add(endSlack))
}

const (
	// beliedFor and beliedShare are for how long, and for what share of the time in which it says that there are no
	// mains, an appliance must answer for that word not to be believed. Own proposals: a relay that lags, or one fault of
	// its own, is less.
	beliedFor   = 5 * time.Minute
	beliedShare = 0.05
)

// belied finds how the appliance's own bus speaks against what is said of its mains; nil: it does not, or hardly.
func (b *Builder) belied() *Dispute {
	var off time.Duration
	for _, s := range b.supply.sight {
		off += s.Duration()
	}
	for _, s := range b.supply.spans {
		off -= s.Duration()
	}
	for i := range b.disputes.list {
		d := &b.disputes.list[i].Dispute
		if d.Point == decode.Supply && b.isBus(d.Other) && d.Off >= beliedFor && float64(d.Off) >= beliedShare*float64(off) {
			return d
		}
	}
	return nil
}

func (b *Builder) isBus(source string) bool {
	return slices.ContainsFunc(b.buses, func(w *busWatch) bool { return w.source == source })
}
