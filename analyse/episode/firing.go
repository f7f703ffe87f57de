package episode

import (
	"math"
	"time"

	"tundish/decode"
)

const (
	// attemptBelow is the flame time under which a flame is an ignition attempt that did not hold, not a firing:
	// the longest ignition safety time usual on gas burners (3–10 s, EN 298 as remembered). It is not applied
	// where the flame is read less often than that.
	attemptBelow = 10 * time.Second
	// endSlack is how far the cause of a burner stop may lie from the stop itself: a round of polling on either
	// side. Own proposal.
	endSlack = 15 * time.Second
	// setpointSlack is how near the flow must be to its set-point for the set-point to have ended the firing, K.
	// Own proposal: bus sensors step by up to 1 K.
	setpointSlack = 1.0
	// limitFlow is the flow temperature from which a control limit may have ended the firing, °C: control limits
	// lie at 80–90 °C (common practice, no source).
	limitFlow = 80.0
	// hotWaterLimit is the same in a firing for hot water, whose set-point is 70–82 °C (common practice, no source).
	hotWaterLimit = 86.0
	// reheatFlow is the flow from which a firing that ends while hot water is still asked for has come to the
	// appliance's own set-point for it, °C. Own proposal.
	reheatFlow = 60.0
	// lossBelow is how long at most a flame that was lost in run has burnt in heating-up for it to be told from a
	// stop by control. Own proposal.
	lossBelow = 3 * time.Minute
	// lossShort is how far below the set-point the flow must be when a flame was lost, K. Own proposal.
	lossShort = 5.0
)

// burn is a firing in progress.
type burn struct {
	Firing
	modSum       float64 // %·s
	modFor       time.Duration
	modLast      value
	forHotWater  time.Duration
	forHeating   time.Duration
	useLast      time.Time
	flowSource   string
	flowSourceOK bool
	rise         riseWatch
	looked       bool // a brief flame: whether it was still wanted has been looked at
	ended        bool // and it was not
}

// pendingEnd is a firing that has ended and whose reason may show itself within endSlack.
type pendingEnd struct {
	index  int // in firings
	at     time.Time
	source string // of the flow
}

// pendingWater takes a flow read just after a firing ended: its highest comes late where the flow is asked for less
// often than the flame.
func (b *Builder) pendingWater(p decode.Point, source string, v float64) {
	for _, x := range b.pending {
		if f := &b.firings[x.index]; p == decode.Flow && x.source == source && f.End == EndUnknown && f.FlowSeen {
			f.FlowMax = max(f.FlowMax, v)
		}
	}
}

func (b *Builder) flameReading(src string, t time.Time, on bool) {
	if b.flameBit(on) {
		b.flameLevel(src, t, on)
	}
}

// flameLevel follows the burner, or what stands for it.
func (b *Builder) flameLevel(src string, t time.Time, on bool) {
	if !b.takes(&b.flame, decode.Flame, src, t, on) {
		return
	}
	c, lost, lastSeen := b.flame.update(t, on)
	if lost {
		b.endFiring(lastSeen, b.endUnseen(lastSeen, t))
	}
	switch {
	case c == rose:
		b.settleBrief(t, true)
		b.light(t)
	case c == fell:
		b.useTime(t)
		b.endFiring(t, EndUnknown)
	case on:
		b.useTime(t)
		if b.firing != nil {
			b.firing.To = t
		}
	}
}

func (b *Builder) light(t time.Time) {
	s := b.flame.spans[len(b.flame.spans)-1]
	basis, _ := b.ownBasis()
	wait := b.startWait(t)
	b.firing = &burn{Firing: Firing{Span: s, Basis: basis, MinModulation: math.Inf(1), FlowMax: math.Inf(-1), Start: b.startState(t)}, useLast: t}
	b.firing.Start.Wait = wait
	b.excess.begin(b, t)
	for _, s := range b.sources {
		s.pair.restart()
	}
	b.riseTail.on = false
	b.firing.rise.begin(b, t)
	if v := b.of(b.flame.owner).values[decode.Flow]; v.seen && v.age(t) <= settlePair {
		b.firing.flowSource, b.firing.flowSourceOK, b.firing.FlowStart = b.flame.owner, true, v.v
	}
}

// endUnseen says why a firing ended in a stretch in which the flame was not looked at.
func (b *Builder) endUnseen(from, to time.Time) End {
	if b.cfg.SwitchedLive && to.Sub(from) < holdAtLeast && b.busPaused(b.flame.owner, from, to) {
		return EndDemand // the mains went with it, for too short a time to be told as a silence
	}
	return EndRecord
}

// useTime adds the time since the last look to what the burner is burning for.
func (b *Builder) useTime(t time.Time) {
	f := b.firing
	if f == nil {
		return
	}
	dt := since(t, f.useLast)
	f.useLast = t
	if !b.hotWater.stale(t) && b.hotWater.on {
		f.forHotWater += dt
	} else {
		f.forHeating += dt
	}
}

func (b *Builder) burnModulation(t time.Time, v float64) {
	f := b.firing
	if f == nil || b.flame.stale(t) {
		return
	}
	if f.modLast.seen {
		f.modSum += f.modLast.v * f.modLast.age(t).Seconds()
		f.modFor += f.modLast.age(t)
	}
	f.modLast = value{v, momentOf(t), true}
	f.MinModulation = min(f.MinModulation, v)
	f.ModulationSeen = true
}

func (b *Builder) burnWater(p *settler, src string, point decode.Point, t time.Time, v float64) {
	f := b.firing
	if f == nil {
		b.tailRise(src, point, t, v)
		return
	}
	if b.flame.stale(t) {
		return // after a silence: the next word of the flame ends this firing where it was last seen
	}
	f.rise.take(src, point, t, v)
	if point == decode.Flow {
		if !f.flowSourceOK {
			f.flowSource, f.flowSourceOK, f.FlowStart = src, true, v
		}
		if f.flowSource == src {
			f.FlowEnd, f.FlowSeen = v, true
			f.FlowMax = max(f.FlowMax, v)
		}
	}
	if f.flowSource == src && p.flow.seen && p.ret.seen && p.ret.age(t) <= settlePair && p.flow.age(t) <= settlePair {
		f.DeltaEnd, f.DeltaSeen = p.flow.v-p.ret.v, true
	}
	if b.setpoint.fresh(t) {
		f.SetpointEnd, f.SetpointSeen = b.setpoint.v, true
	}
	if !b.hotWater.stale(t) && b.hotWater.on {
		p.prev = time.Time{} // the diverter sends the water elsewhere
		return
	}
	var mod *float64
	if f.modLast.seen {
		mod = &f.modLast.v
	}
	p.watch(t, f.From, mod)
}

// endFiring closes the firing in progress, or turns it into an ignition attempt where the flame did not hold.
func (b *Builder) endFiring(t time.Time, why End) {
	f := b.firing
	b.firing = nil
	if f == nil {
		return
	}
	f.To, f.Open = t, why == EndRecord
	short := f.Duration() < attemptBelow && b.flame.cadence.Usual() <= attemptBelow/2
	if short && why == EndUnknown && !f.Cut && !b.cfg.HeatPump && !f.didItsWork(false) {
		b.brief = f
		return
	}
	b.held(f, t, why)
}

// held files a flame that held: a firing.
func (b *Builder) held(f *burn, t time.Time, why End) {
	if f.modFor > 0 {
		f.MeanModulation = f.modSum / f.modFor.Seconds()
	} else if f.ModulationSeen {
		f.MeanModulation = f.modLast.v
	}
	if !f.ModulationSeen {
		f.MinModulation = 0
	}
	if !f.FlowSeen {
		f.FlowMax = 0
	}
	f.Use, f.UseKnown = b.useOf(f)
	for _, s := range b.sources {
		if d, ok := s.pair.result(); ok && f.Use == Heating {
			f.Settled = append(f.Settled, d)
		}
	}
	f.End = why
	b.watchRise(f, t)
	b.riseTail.index = len(b.firings)
	b.firings = append(b.firings, f.Firing)
	b.excessEnd(t)
	if why == EndUnknown {
		b.firings[len(b.firings)-1].End = b.endNow(f, t)
		b.pending = append(b.pending, pendingEnd{len(b.firings) - 1, t, f.flowSource})
	}
	b.attempts = b.attempts[:0]
	b.tries.settle(ThenLit)
	b.counter.mark(t)
}

func (b *Builder) useOf(f *burn) (Use, bool) {
	switch {
	case f.forHotWater > f.forHeating:
		return HotWater, true
	case len(b.hotWater.spans) > 0 || !b.cfg.HotWaterMade:
		return Heating, true
	case !b.demand.stale(f.To) && len(b.demand.spans) > 0:
		// No word on hot water, but on heat demand: a burner that runs while no heating is asked for makes hot water.
		last := b.demand.spans[len(b.demand.spans)-1]
		if last.Overlap(f.Span) == 0 {
			return HotWater, false
		}
	}
	return Heating, false
}

// endNow says why a firing ended, by what is known at that moment.
func (b *Builder) endNow(f *burn, t time.Time) End {
	asked := b.demand.known && b.demand.on
	switch {
	case b.fault.known && b.fault.on && f.From.Before(b.fault.changed):
		return EndFault
	case f.Use == Heating && b.demand.known && !b.demand.on && since(t, b.demand.changed) <= endSlack:
		return EndDemand
	case f.Use == Heating && b.hotWater.known && b.hotWater.on && since(t, b.hotWater.changed) <= endSlack:
		return EndHotWater
	case f.Use == HotWater && b.hotWater.known && !b.hotWater.on && since(t, b.hotWater.changed) <= endSlack:
		return EndDemand
	case f.atSetpoint():
		return EndSetpoint
	case f.atLimit():
		return EndLimit
	case asked && f.Duration() < lossBelow && f.SetpointSeen && f.FlowSeen && f.FlowMax < f.SetpointEnd-lossShort:
		return EndFlameLoss
	}
	return EndUnknown
}

// atSetpoint tells whether the flow came to the set-point that is known, which is the heating's.
func (f *Firing) atSetpoint() bool {
	return f.SetpointSeen && f.FlowSeen && f.Use == Heating && f.FlowMax >= f.SetpointEnd-setpointSlack
}

// atLimit tells whether the flow came to where control limits lie. For hot water an appliance's own set-point lies but
// little lower.
func (f *Firing) atLimit() bool {
	return f.FlowSeen && (f.FlowMax >= hotWaterLimit || f.Use == Heating && f.FlowMax >= limitFlow)
}

// settlePending looks again at firings that ended a moment ago: the fault, the end of demand or the hot-water call
// that ended them may be read a little later than the flame.
func (b *Builder) settlePending(t time.Time, all bool) {
	for len(b.pending) > 0 {
		p := b.pending[0]
		if !all && since(t, p.at) <= endSlack {
			return
		}
		b.pending = b.pending[1:]
		f := &b.firings[p.index]
		near := func(l *level, on bool) bool {
			d := l.changed.Sub(p.at)
			return l.known && l.on == on && d >= -endSlack && d <= endSlack
		}
		switch {
		case near(&b.fault, true):
			f.End = EndFault
		case f.End == EndSetpoint:
		case f.Use == Heating && near(&b.demand, false):
			f.End = EndDemand
		case f.Use == Heating && near(&b.hotWater, true):
			f.End = EndHotWater
		case f.Use == HotWater && near(&b.hotWater, false):
			f.End = EndDemand
		case f.End == EndUnknown && f.atSetpoint():
			f.End = EndSetpoint
		case f.End == EndUnknown && f.atLimit():
			f.End = EndLimit
		case f.End == EndUnknown && f.Use == HotWater && f.FlowSeen && f.FlowMax >= reheatFlow && b.hotWater.known && b.hotWater.on:
			f.End = EndSetpoint
		}
	}
}
