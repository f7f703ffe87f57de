package episode

import (
	"fmt"
	"slices"
	"time"

	"tundish/decode"
)

// Causes of a lockout, the contract's words.
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
	// blockBelow is the longest time after which a fault that ended with no sign of a person, and whose kind can
	// clear unaided, is taken for a block and not a lockout. Own proposal: limits and air switches free themselves
	// within minutes; people come later.
	blockBelow = 20 * time.Minute
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
	rail       *float64
}

func (b *Builder) faultReading(t time.Time, on bool) {
	before := b.fault.last
	wasOn := b.onset != nil
	c, lost, _ := b.fault.update(t, on)
	switch {
	case wasOn && on:
		if lost {
			b.onset.To = t // it does not go away by not being looked at
		}
		b.onset.To = t
	case wasOn && !on:
		if lost || t.Sub(before) > busPause {
			b.onset.powerCut = b.powerWasCut(before, t)
		}
		b.endFault(t)
	case c == rose:
		b.beginFault(t)
	}
}

// busPause is the shortest break in the bus that can be a supply turned off and on again. Own proposal.
const busPause = 5 * time.Second

// powerWasCut tells whether the appliance lost its supply between two readings of the fault bit.
func (b *Builder) powerWasCut(from, to time.Time) bool {
	if b.supply.seen {
		for _, s := range b.supply.spans {
			if s.From.After(from) && !s.From.After(to) {
				return true
			}
		}
		return false
	}
	w := b.buses[b.fault.owner]
	return w != nil && w.pausedBetween(from, to)
}

func (b *Builder) beginFault(t time.Time) {
	span := b.fault.spans[len(b.fault.spans)-1]
	w := &faultWatch{Lockout: Lockout{Span: span, Flags: -1, Code: -1}}
	w.Preceding = b.preceding(t)
	b.onset = w
	b.faultDetail()
	for _, p := range []decode.Point{decode.Flow, decode.Return} {
		for s, v := range b.analogue {
			if s.Point == p && v.at(t) != nil && (v.v < sensorLow || v.v > sensorHigh) {
				w.rail = v.at(t)
			}
		}
	}
	if p := w.Preceding.Pressure; p != nil {
		w.lowest, w.highest, w.lowestSeen = *p, *p, true
	}
}

// preceding gathers what was known just before t.
func (b *Builder) preceding(t time.Time) Preceding {
	p := Preceding{
		Attempts:     slices.Clone(b.attempts),
		FailedStarts: b.counter.since(t),
		Flow:         b.latest(decode.Flow).at(t),
		Return:       b.latest(decode.Return).at(t),
		Pressure:     b.latest(decode.Pressure).at(t),
		Outside:      b.latest(decode.Outside).at(t),
		Setpoint:     b.setpoint.at(t),
	}
	d := &b.demand
	if !b.heatAsked {
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

// faultDetail takes flags and code into the fault in progress. The first flags that name a cause stand.
func (b *Builder) faultDetail() {
	w := b.onset
	if w == nil {
		return
	}
	belongs := func(v value) bool { return v.seen && v.t.After(w.From.Add(-detailWithin)) }
	if belongs(b.flags) && (w.Flags < 0 || w.Flags&flagCauses == 0) {
		w.Flags = int(b.flags.v)
	}
	if belongs(b.code) && (w.Code <= 0) {
		w.Code = int(b.code.v)
	}
}

func (b *Builder) pressureReading(r decode.Reading, t time.Time) {
	w := b.onset
	if w == nil || r.Series.Point != decode.Pressure {
		return
	}
	if !w.lowestSeen || r.Value < w.lowest {
		w.lowest, w.highest, w.lowestSeen = r.Value, r.Value, true
	}
	w.highest = max(w.highest, r.Value)
}

func (b *Builder) endFault(t time.Time) {
	w := b.onset
	b.onset = nil
	w.To, w.Open = t, false
	w.Cause, w.CauseWhy = b.causeOf(w)
	refilled := w.lowestSeen && w.highest-w.lowest >= refillStep
	switch {
	case !b.reset.IsZero() && t.Sub(b.reset) <= commandBefore && !b.reset.Before(w.From):
		w.Reset, w.Locked, w.Why = ResetCommand, true, "a reset was asked for over the bus, and the fault ended"
	case w.powerCut:
		w.Reset, w.Locked, w.Why = ResetPower, true, "the supply was interrupted, and the fault was gone afterwards"
	case refilled && w.Cause == CauseLowPressure:
		w.Reset, w.Locked = ResetRefill, true
		w.Why = fmt.Sprintf("the pressure rose by %.1f bar before the fault ended: somebody let water in", w.highest-w.lowest)
	default:
		w.Locked, w.Why = lockedWithoutSign(w)
		w.Reset = ResetByHand
		if !w.Locked {
			w.Reset = ResetItself
		}
	}
	b.lockouts = append(b.lockouts, w.Lockout)
	b.attempts = b.attempts[:0]
	b.counter.mark(t)
}

// lockedWithoutSign decides where nothing shows who ended the fault.
func lockedWithoutSign(w *faultWatch) (bool, string) {
	switch {
	case w.Flags >= 0 && w.Flags&flagGasFlame != 0:
		return true, "a gas or flame fault holds the burner until it is reset (EN 298)"
	case w.Flags >= 0 && w.Flags&flagResetAllowed != 0:
		return true, "the appliance said that it could be reset"
	case w.Cause == CauseIgnition || w.Cause == CauseFlameLoss:
		return true, "failed ignition or lost flame holds the burner until it is reset (EN 298)"
	case w.Duration() >= blockBelow:
		return true, fmt.Sprintf("it lasted longer than %d minutes, in which a block of this kind frees itself", int(blockBelow.Minutes()))
	}
	return false, "it cleared by itself: a block, with no sign that a person acted"
}

// causeOf says what held the burner off: by the flags where the bus gave them, else by what was seen around it.
func (b *Builder) causeOf(w *faultWatch) (cause, because string) {
	if w.Flags >= 0 {
		switch {
		case w.Flags&flagLowPressure != 0:
			return CauseLowPressure, "the appliance's fault flags say low water pressure"
		case w.Flags&flagOverheat != 0:
			return CauseOverheat, "the appliance's fault flags say water over-temperature"
		case w.Flags&flagAirPressure != 0:
			return CauseAirPressure, "the appliance's fault flags say air-pressure fault"
		case w.Flags&flagGasFlame != 0:
			if lost, why := flameLost(w, b.firings); lost {
				return CauseFlameLoss, "the fault flags say gas or flame fault, and " + why
			}
			return CauseIgnition, "the fault flags say gas or flame fault, and no flame held before it"
		}
	}
	return b.causeByContext(w)
}

func (b *Builder) causeByContext(w *faultWatch) (cause, because string) {
	p := w.Preceding
	least := b.cfg.MinimumPressure
	if least == 0 {
		least = emptyPressure
	}
	switch {
	case w.rail != nil:
		return CauseSensor, fmt.Sprintf("a water sensor read %.0f °C, which water here cannot have", *w.rail)
	case w.lowestSeen && w.lowest < least:
		return CauseLowPressure, fmt.Sprintf("the pressure was %.2f bar, below %.1f bar", w.lowest, least)
	case p.Flow != nil && *p.Flow >= hotLimit:
		return CauseOverheat, fmt.Sprintf("the flow was at %.0f °C", *p.Flow)
	case len(p.Attempts) > 0 || p.FailedStarts > 0:
		return CauseIgnition, "attempts to light had failed just before"
	}
	if lost, why := flameLost(w, b.firings); lost {
		return CauseFlameLoss, why
	}
	if !p.DemandSince.IsZero() && w.From.Sub(p.DemandSince) >= triedFor && w.From.Sub(p.LastFiring.To) >= triedFor {
		return CauseIgnition, "heat was asked for and no flame came before the fault; the appliance gave no flags, so this is inferred"
	}
	return CauseUnknown, "the appliance gave no flags, and nothing seen before the fault says why"
}

// flameLost tells whether the last firing had held, and went out shortly before the fault without having done its work.
func flameLost(w *faultWatch, firings []Firing) (bool, string) {
	last := w.Preceding.LastFiring
	if last.From.IsZero() || w.From.Sub(last.To) > flameLossBefore || len(w.Preceding.Attempts) > 0 {
		return false, ""
	}
	for i := len(firings) - 1; i >= 0 && i >= len(firings)-2; i-- {
		if f := firings[i]; f.From.Equal(last.From) && (f.End == EndSetpoint || f.End == EndDemand) {
			return false, ""
		}
	}
	return true, fmt.Sprintf("a flame that had held for %s went out %s before it",
		last.Duration().Round(time.Second), max(0, w.From.Sub(last.To)).Round(time.Second))
}

// finishLockouts closes a fault that still stood when the record ended: nobody had come.
func (b *Builder) finishLockouts(to time.Time) []Lockout {
	if w := b.onset; w != nil {
		b.onset = nil
		w.To, w.Open = b.fault.last, true
		w.Cause, w.CauseWhy = b.causeOf(w)
		w.Locked, w.Why = lockedWithoutSign(w)
		if !w.Locked {
			w.Why = "it stood for only " + w.Duration().Round(time.Second).String() + " when the record ended: it may yet have cleared by itself"
		} else {
			w.Why = "it still stood when the record ended; " + w.Why
		}
		b.lockouts = append(b.lockouts, w.Lockout)
	}
	return b.lockouts
}

// failedStarts takes the appliance's count. It is asked for rarely: the first answer after a fault's onset still
// tells of the attempts before it, since none is made while the fault stands.
func (b *Builder) failedStarts(t time.Time, v float64) {
	b.counter.take(t, v)
	if b.onset != nil {
		b.onset.Preceding.FailedStarts = b.counter.since(t)
	}
}

// counterWatch follows the appliance's own count of failed starts.
type counterWatch struct {
	cur, base value
}

// counterFresh is how old the counter's last value may be: it is asked for rarely.
const counterFresh = time.Hour

func (c *counterWatch) take(t time.Time, v float64) {
	if !c.base.seen || v < c.cur.v { // first sight, or a wrap or reset of the counter
		c.base = value{v, t, true}
	}
	c.cur = value{v, t, true}
}

func (c *counterWatch) mark(t time.Time) { c.base = c.cur }

// since is the count since the last firing that held, −1 where it is not known.
func (c *counterWatch) since(t time.Time) int {
	if !c.cur.seen || t.Sub(c.cur.t) > counterFresh {
		return -1
	}
	return int(c.cur.v - c.base.v)
}
