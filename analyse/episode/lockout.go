package episode

import (
	"fmt"
	"slices"
	"time"

	"tundish/decode"
)

// Causes of a lockout, words of the vocabulary.
const (
	CauseIgnition    = "ignition"
	CauseFlameLoss   = "flame-loss"
	CauseOverheat    = "overheat"
	CauseLowPressure = "low-pressure"
	CauseSensor      = "sensor"
	CauseAirPressure = "air-pressure"
	CauseUnknown     = "unknown"
)

// Fault flags of data id 5, high byte (OpenTherm Protocol Specification v2.2, 5.3.1).
const (
	flagResetAllowed = 1 << 1
	flagLowPressure  = 1 << 2
	flagGasFlame     = 1 << 3
	flagAirPressure  = 1 << 4
	flagOverheat     = 1 << 5
	flagCauses       = flagLowPressure | flagGasFlame | flagAirPressure | flagOverheat
)

const (
	// detailWithin is how long before a fault's onset its flags may have been read and still belong to it.
	detailWithin = time.Minute
	// commandBefore is how long before a fault's end a reset command can have ended it: command, answer, restart
	// of the control and the next status. Own proposal.
	commandBefore = 2 * time.Minute
	// BlockBelow is the longest time after which a fault that ended with no sign of a person, and whose kind can
	// clear unaided, is taken for a block and not a lockout. Own proposal: limits and air switches free themselves
	// within minutes; people come later.
	BlockBelow = 20 * time.Minute
	// ReachWithin is how soon after its onset nobody can have seen a fault, reached the appliance and reset it: what
	// ended sooner, with no reset asked for over the bus, cleared unaided, unless the appliance's own flags say a kind
	// that holds until it is reset. Own proposal: to notice it alone takes longer.
	ReachWithin = 20 * time.Second
	// refillStep is the rise of pressure that says somebody let water in, bar. Own proposal: more than water
	// that warms by 10 K gives with a sound vessel (0.013–0.023 bar/K).
	refillStep = 0.3
	// hotLimit is the flow from which a fault without flags is taken for overheating, °C: limit thermostats act
	// at 95–110 °C, controls at 80–90 °C (common practice, no source).
	hotLimit = 92.0
	// emptyPressure is the pressure below which a plant without a stated minimum is taken for short of water,
	// bar: burners are usually blocked below about 0.5 bar (common practice, no source).
	emptyPressure = 0.5
	// sensorLow and sensorHigh bound what water in a heating system can be; a sensor outside is open or short, °C.
	sensorLow, sensorHigh = -20.0, 115.0
	// flameLossBefore is how long before a fault a firing that held can have been lost and be its cause.
	flameLossBefore = 2 * time.Minute
	// triedFor is how long heat must have been asked for in vain before a fault without flags for ignition to be
	// inferred: pre-purge and a safety time (3–10 s, EN 298 as remembered) at the least.
	triedFor = 10 * time.Second
)

// faultWatch is a fault in progress.
type faultWatch struct {
	Lockout
	lowest     float64 // pressure while in fault
	lowestSeen bool
	highest    float64 // pressure since the lowest
	powerCut   bool
	unseen     bool // a gap came while it stood, and it has not been seen again since
	rail       *float64
}

// lateMost is how late a reading may come and still tell of the time that it gives. Own proposal: a long count of slow
// flashes takes a minute, and is sure when its pause is over.
const lateMost = 90 * time.Second

// powerCutAtMost is the longest time without a word in which a supply can have been turned off and on by a person
// who waits beside it; after a longer one nobody knows when the fault ended. Own proposal.
const powerCutAtMost = 10 * time.Minute

func (b *Builder) faultReading(t, told time.Time, on bool) {
	before := b.fault.last
	w := b.onset
	c, lost, _ := b.fault.update(t, on)
	told = b.since(told, before)
	switch {
	case w != nil && on: // it does not go away by not being looked at
		w.To, w.unseen = t, false
	case w != nil:
		silent := t.Sub(before)
		w.powerCut = b.powerWasCut(before, t) && silent <= powerCutAtMost
		if (lost || w.unseen) && !w.powerCut {
			w.To, w.GoneBy = before, t
			b.endFault(before)
			return
		}
		b.endFault(later(told, w.From))
	case c == rose:
		if told.Before(t) {
			b.fault.dateBack(told)
		}
		b.beginFault(told)
	}
}

// since is when a state began that came late: what a light shows is sure only once its flashes were counted. It did not
// begin before the reading before it.
func (b *Builder) since(told, before time.Time) time.Time {
	if b.now.Sub(told) > lateMost {
		return b.now
	}
	return later(told, before)
}

// powerWasCut tells whether the appliance lost its supply between two readings of the fault bit.
func (b *Builder) powerWasCut(from, to time.Time) bool {
	if b.supply.seen {
		return slices.ContainsFunc(b.supply.spans, func(s Span) bool { return s.From.After(from) && !s.From.After(to) })
	}
	least := max(busPause, holdIntervals*b.fault.cadence.Median())
	return slices.ContainsFunc(b.buses, func(w *busWatch) bool { return w.source == b.fault.owner && w.pausedBetween(from, to, least) })
}

func (b *Builder) beginFault(t time.Time) {
	b.settleBrief(t, true)
	span := b.fault.spans[len(b.fault.spans)-1]
	w := &faultWatch{Lockout: Lockout{Span: span, Flags: -1, Code: -1, Diagnostic: -1, Sign: -1}}
	w.Preceding = b.preceding(t)
	b.tries.settle(ThenLockout)
	b.onset = w
	if b.sign.seen && b.sign.owner == b.fault.owner {
		w.Sign = int(b.sign.v)
	}
	b.faultDetail()
	own := b.of(b.fault.owner)
	for _, v := range []value{own.values[decode.Flow], own.values[decode.Return], own.rail} {
		if x := v.at(t); x != nil {
			w.water(t, *x)
		}
	}
	if p := w.Preceding.Pressure; p != nil {
		w.lowest, w.highest, w.lowestSeen = *p, *p, true
	}
}

// railWithin is how long after a fault's onset the water's temperature may be read and still be that of the onset.
const railWithin = 5 * time.Minute

// water looks whether one of the appliance's own sensors is at its rail at the onset. A probe on a pipe cannot stop a
// burner.
func (w *faultWatch) water(t time.Time, v float64) {
	if t.Sub(w.From) <= railWithin && (v < sensorLow || v > sensorHigh) {
		w.rail = &v
	}
}

// atRail takes a flow or return at the end of its converter's range: no temperature, but it may be why a burner stops.
func (b *Builder) atRail(p decode.Point, src *sourceValues, t time.Time, v float64) {
	if p != decode.Flow && p != decode.Return {
		return
	}
	src.rail = value{v, momentOf(t), true}
	if b.onset != nil && src.name == b.fault.owner {
		b.onset.water(t, v)
	}
}

// preceding gathers what was known just before t.
func (b *Builder) preceding(t time.Time) Preceding {
	p := Preceding{
		Attempts:     b.recentAttempts(t),
		FailedStarts: b.counter.since(t),
		Flow:         b.latest(decode.Flow).at(t),
		Return:       b.latest(decode.Return).at(t),
		Pressure:     b.latest(decode.Pressure).at(t),
		Outside:      b.latest(decode.Outside).at(t),
		Setpoint:     b.setpoint.at(t),
		Frost:        b.frost.at(t),
	}
	d := &b.demand
	if !b.demand.seen {
		d = &b.heatActive
	}
	if d.known && d.on && !d.stale(t) {
		p.DemandSince = d.changed
	}
	if n := len(b.firings); n > 0 {
		p.LastFiring = b.firings[n-1].Span
	}
	if b.firing != nil { // still burning when the fault was read
		p.LastFiring = b.firing.Span
		p.LastFiring.To = t
	}
	return p
}

// attemptsWithin is how long before a fault an attempt to light can belong to it. Own proposal: all tries of one
// start, with the pauses between them.
const attemptsWithin = 30 * time.Minute

func (b *Builder) recentAttempts(t time.Time) []Attempt {
	var out []Attempt
	for _, a := range b.attempts {
		if t.Sub(a.At) <= attemptsWithin {
			out = append(out, a)
		}
	}
	return out
}

// faultFlags takes the flags. Some appliances hold a permission up all the time: what stood without a fault is no
// sign of one.
func (b *Builder) faultFlags(flags int) {
	if b.onset == nil && b.fault.known && !b.fault.on {
		b.idleFlags = flags
	}
	b.faultDetail()
}

// faultDetail takes flags and code into the fault in progress. The first flags that name a cause stand.
func (b *Builder) faultDetail() {
	w := b.onset
	if w == nil {
		return
	}
	// What was read before the onset is of the time before, unless it names a cause already.
	early := func(v ownedValue) bool { return v.t < momentOf(w.From) }
	flags := int(b.flags.v)
	if b.flags.seen && (w.Flags < 0 || w.Flags&flagCauses == 0) &&
		(!early(b.flags) || flags&flagCauses != 0 && b.flags.age(w.From) <= detailWithin) {
		w.Flags = flags
	}
	if b.code.seen && w.Code <= 0 && !early(b.code) {
		w.Code = int(b.code.v)
	}
	if b.diagnostic.seen && w.Diagnostic <= 0 && !early(b.diagnostic) {
		w.Diagnostic = int(b.diagnostic.v)
	}
}

func (b *Builder) pressureReading(t time.Time, v float64) {
	if r := b.refilling; r != nil {
		switch {
		case t.Sub(r.ended) > freshFor:
			b.refilling = nil
		case v-r.lowest >= refillStep:
			l := &b.lockouts[r.lockout]
			l.Reset, l.Locked, l.Why = ResetRefill, true, "the pressure rose just after: somebody let water in"
			b.refilling = nil
		}
	}
	w := b.onset
	if w == nil {
		return
	}
	if !w.lowestSeen || v < w.lowest {
		w.lowest, w.highest, w.lowestSeen = v, v, true
	}
	w.highest = max(w.highest, v)
}

func (b *Builder) endFault(t time.Time) {
	w := b.onset
	b.onset = nil
	w.To, w.Open = t, false
	w.Cause, w.CauseWhy = b.causeOf(w)
	b.endByLoss(w)
	refilled := w.lowestSeen && w.highest-w.lowest >= refillStep
	switch {
	case !b.reset.IsZero() && t.Sub(b.reset) <= commandBefore && !b.reset.Before(w.From):
		w.Reset, w.Locked, w.Why = ResetCommand, true, "a reset was asked for over the bus, and the fault ended"
	case w.powerCut:
		w.Reset, w.Locked, w.Why = ResetPower, true, "the supply was interrupted, and the fault was gone afterwards"
	case w.Cause == CauseLowPressure && refilled:
		w.Reset, w.Locked, w.Why = ResetRefill, true, "the pressure had risen: somebody let water in"
	case w.Cause == CauseLowPressure && !w.lowestSeen && !w.outOfReach():
		w.Reset, w.Locked, w.Why = ResetByHand, true, "water that is missing does not come back by itself: somebody let water in"
	default:
		w.withoutSign(b.resettable(w.Flags))
	}
	b.lockouts = append(b.lockouts, w.Lockout)
	if w.Cause == CauseLowPressure && w.lowestSeen && !refilled {
		b.refilling = &refill{len(b.lockouts) - 1, w.lowest, t}
	}
	b.attempts = b.attempts[:0]
	b.counter.mark(t)
}

// refill waits for the pressure that shows how a low-pressure fault ended: it is asked for rarely, and the filling
// often goes on after the burner is free.
type refill struct {
	lockout int
	lowest  float64
	ended   time.Time
}

// resettable tells whether a fault's flags allow a reset, where they do not at all times.
func (b *Builder) resettable(flags int) bool {
	return flags >= 0 && flags&flagResetAllowed != 0 && b.idleFlags&flagResetAllowed == 0
}

// withoutSign judges a fault where nothing shows who ended it, or that still stood when the record ended: nobody had
// come. Resettable tells that the appliance said so.
func (l *Lockout) withoutSign(resettable bool) {
	l.Locked, l.Why = l.lockedWithoutSign(resettable)
	switch {
	case l.Open && l.Locked:
		l.Why = "it still stood when the record ended; " + l.Why
	case l.Open:
		l.Why = "it had stood for only " + words(l.Duration()) + " when the record ended: it may yet have cleared by itself"
	case !l.GoneBy.IsZero():
		l.Reset = ResetUnseen
	case l.Locked:
		l.Reset = ResetByHand
	default:
		l.Reset = ResetItself
	}
}

const saidResettable = "the appliance said that it could be reset"

// lockedWithoutSign decides where nothing shows who ended the fault.
func (l *Lockout) lockedWithoutSign(resettable bool) (bool, string) {
	switch {
	case l.Flags >= 0 && l.Flags&flagGasFlame != 0:
		return true, "a gas or flame fault holds the burner until it is reset (EN 298)"
	case resettable:
		return true, saidResettable
	case l.outOfReach():
		return false, fmt.Sprintf("it was gone after %s: a block, too short for a person to have reached the appliance", words(l.Duration()))
	case (l.Cause == CauseIgnition || l.Cause == CauseFlameLoss) && !l.inferred():
		return true, "failed ignition or lost flame holds the burner until it is reset (EN 298)"
	case l.Duration() >= BlockBelow:
		return true, fmt.Sprintf("it lasted longer than %d minutes, in which a block of this kind frees itself", int(BlockBelow.Minutes()))
	}
	return false, "it cleared by itself: a block, with no sign that a person acted"
}

// outOfReach tells whether a fault was seen to end sooner than a person can have come to it.
func (l *Lockout) outOfReach() bool {
	return !l.Open && l.GoneBy.IsZero() && l.Duration() < ReachWithin
}

// finishLockouts closes a fault that still stood when the record ended: nobody had come.
func (b *Builder) finishLockouts() []Lockout {
	w := b.onset
	if w == nil {
		return b.lockouts
	}
	b.onset = nil
	if !w.unseen {
		w.To = b.fault.last
	}
	w.Open = true
	w.Cause, w.CauseWhy = b.causeOf(w)
	b.endByLoss(w)
	w.withoutSign(b.resettable(w.Flags))
	return append(b.lockouts, w.Lockout)
}

// words prints a short length of time.
func words(d time.Duration) string {
	if d = d.Round(time.Second); d < 2*time.Minute {
		return fmt.Sprintf("%d s", d/time.Second)
	}
	return fmt.Sprintf("%.0f min", d.Minutes())
}
