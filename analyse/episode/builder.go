package episode

import (
	"math"
	"strings"
	"time"

	"tundish/decode"
)

// Config is what the job sheet and the capture say beforehand.
type Config struct {
	Runs            []Run           // in order of time
	Buses           []string        // sources whose silence means something
	SwitchedLive    bool            // the appliance loses its mains when demand ends
	HotWaterMade    bool            // the plant makes hot water, so a firing of unknown use may be for it
	Draws           DrawKind        // what hot water is made for at this plant: a cylinder's reheat, or a tap; "" not known
	MinimumPressure float64         // bar, 0: not known
	HeatPump        bool            // a compressor makes the heat: no flame, no ignition, and defrosts take heat out of the water
	Zone            *time.Location  // whose midnights part the days of [Facts.Days]; nil: UTC
	Contacts        []decode.Series // told when they change, and repeated to a [Builder] while they stand
	Signs           map[int]Sign    // what the indicator light's signs mean, where the engineer said so
}

// Builder turns readings, in order of time, into facts. It is one pass with memory bounded by the number of
// episodes. The zero Builder is not usable; see [NewBuilder].
type Builder struct {
	cfg      Config
	sessions []session
	session  int    // of the last record, −1 before the first
	until    moment // when the next session of the same run begins
	run      uint32
	now      time.Time
	at       moment // now

	flame, demand, heatActive, hotWater, draw, fault, supply, pump level

	sources    []*sourceValues // in order of first sight
	lastSource *sourceValues
	setpoint   ownedValue
	enabled    enabling
	modulation ownedValue
	flags      ownedValue
	code       ownedValue
	diagnostic ownedValue
	sign       ownedValue // of the indicator light
	idleFlags  int        // the flags while the appliance was not in fault
	reset      time.Time  // last reset request over the bus
	counter    counterWatch
	losses     value // the appliance's own count of flames lost
	frost      frostWatch

	output    outputWatch
	firing    *burn
	riseTail  riseTail
	brief     *burn // a flame that went out at once, until it shows what it was
	firings   []Firing
	attempts  []Attempt // since the last firing that held
	tries     tries
	gaveUp    time.Time // when an ignition sequence last lost its purpose
	overrun   overrunWatch
	excess    excessWatch
	unmet     unmetWatch
	reheats   reheatWatch
	pending   []pendingEnd // firings just ended, whose reason may still show itself
	onset     *faultWatch
	lockouts  []Lockout
	refilling *refill
	buses     []*busWatch
	starts    []*startCount
	work      *shapeWork // shared by the shapers
	days      dayWatch
	disputes  disputeWatches
	spoke     time.Time // when the appliance last said on its bus what only it can say

	piece Piece
	edge  time.Time // the next border of the piece, zero after the last
	began time.Time // of a whole record
}

// NewBuilder starts a pass.
func NewBuilder(cfg Config) *Builder {
	b := &Builder{cfg: cfg, sessions: sessionsOf(cfg.Runs), session: -1, at: math.MinInt64, until: math.MaxInt64, days: dayWatch{zone: cfg.Zone}}
	for _, l := range []*level{&b.flame, &b.demand, &b.heatActive, &b.hotWater} {
		l.dies = cfg.SwitchedLive
	}
	for _, name := range cfg.Buses {
		b.buses = append(b.buses, &busWatch{source: name})
	}
	return b
}

// Record tells that a record came from a source. note is the record's note, if it is one.
// Every record must be told, before its readings.
func (b *Builder) Record(source string, run uint32, t time.Time, note string) {
	at := momentOf(t)
	if run != b.run || b.session < 0 || at >= b.until {
		b.enter(run, t)
	}
	if at > b.at {
		b.now, b.at = t, at
	}
	for _, w := range b.buses {
		if w.source == source {
			w.record(t, note)
		}
	}
}

// enter goes over to a run as it was at t. Between two sessions nobody looked.
func (b *Builder) enter(run uint32, t time.Time) {
	next, until := b.sessionOf(run, t)
	b.until = math.MaxInt64
	if !until.IsZero() {
		b.until = momentOf(until)
	}
	if b.session >= 0 && next >= 0 && next != b.session {
		b.cutAll()
	}
	b.run = run
	if next >= 0 {
		for _, w := range b.buses {
			w.enter(b.sessions, next)
		}
		b.session = next
	}
}

// Damage tells that records of a source ("" for all) were lost to a damaged place in the capture: the hole is no
// silence of the bus. What was open over it is cut as at any stretch without readings.
func (b *Builder) Damage(source string) {
	for _, w := range b.buses {
		if source == "" || w.source == source {
			w.heard = false
		}
	}
}

// cutAll forgets every state: nobody looked, and nothing is known of what happened meanwhile.
func (b *Builder) cutAll() {
	b.settleBrief(b.now, true)
	b.endFiring(b.flame.last, EndRecord)
	if b.onset != nil {
		b.onset.To = b.fault.last
		b.onset.unseen = true
	}
	for _, l := range []*level{&b.flame, &b.demand, &b.heatActive, &b.hotWater, &b.draw, &b.fault, &b.supply, &b.pump} {
		l.cut()
	}
	for _, s := range b.sources {
		s.pair.restart()
		s.pair.flow.seen, s.pair.ret.seen = false, false
		if s.shape != nil {
			s.shape.end()
		}
	}
	b.attempts = b.attempts[:0]
	b.tries.settle(ThenUnknown)
	b.overrun.on, b.riseTail.on = false, false
	b.excess = excessWatch{}
	b.unmet.stop(true)
	b.output.forget()
	b.days.cut()
	b.counter, b.losses = counterWatch{}, value{}
}

// Unmeasured tells that a sensor gave what is no measurement: a power-on value, a number that cannot be, no number.
func (b *Builder) Unmeasured(e *decode.Error, t time.Time) { b.days.unmeasured(e, t) }

// Reading takes one reading. Readings of unknown quality say nothing and are passed over, and so are doubtful ones
// of a temperature that also comes in good quality: a power-on value must not make a fact. Nor must the end of a
// converter's range, which only the watches over the sensors see.
func (b *Builder) Reading(r decode.Reading) { b.Take(&r) }

// Take is [Builder.Reading], for where readings come by the million. What it is pointed to is not kept.
func (b *Builder) Take(r *decode.Reading) {
	if r.Quality == decode.Unknown {
		return
	}
	src := b.of(r.Series.Source)
	p, v := r.Series.Point, r.Value
	t, at := r.Time, momentOf(r.Time)
	b.days.reading(src, p, t, at, v)
	switch {
	case r.Quality == decode.Good:
		src.good[p] = true
	case p.Temperature() && src.good[p]:
		return
	}
	if at < b.at { // a reply is dated by its record; small disorder between sources is ironed out here
		t, at = b.now, b.at
	}
	b.now, b.at = t, at
	for !b.edge.IsZero() && !t.Before(b.edge) {
		b.cross()
	}
	if !at.within(holdAtLeast, src.last) {
		src.woke = t
	}
	src.last = at
	if b.brief != nil {
		b.settleBrief(t, false)
	}
	if len(b.pending) > 0 {
		b.settlePending(t, false)
	}
	if railed(p, v) {
		if !b.days.over {
			b.days.pairs.take(b, p, src, v) // two sensors of which one is shorted do disagree
		}
		b.atRail(p, src, t, v)
		return
	}
	b.answered(src, p, t)
	if p.Binary() {
		b.binary(p, src.name, t, r.Time, v == 1)
		return
	}
	src.values[p] = value{v, momentOf(t), true}
	b.analogue(p, src, t, v)
	b.days.analogue(b, p, src, t, v)
}

// binary takes a 0/1 point at t; told is the time that the reading itself gives, where it came late.
func (b *Builder) binary(p decode.Point, src string, t, told time.Time, on bool) {
	switch p {
	case decode.Flame:
		b.flameReading(src, t, on)
	case decode.HeatDemand:
		if b.takes(&b.demand, p, src, t, on) {
			before := b.askedFor()
			b.demandReading(t, on)
			b.watchOverrun(t, before, Heating)
		}
	case decode.HeatActive:
		if b.takes(&b.heatActive, p, src, t, on) {
			before := b.askedFor()
			b.heatActive.update(t, on)
			b.watchOverrun(t, before, Heating)
		}
	case decode.HotWaterActive:
		if b.takes(&b.hotWater, p, src, t, on) {
			before := b.askedFor()
			if c, _, _ := b.hotWater.update(t, on); c != same {
				b.giveUp(t)
			}
			b.watchOverrun(t, before, HotWater)
		}
	case decode.Pump:
		if b.takes(&b.pump, p, src, t, on) {
			b.pump.update(t, on)
		}
	case decode.Supply:
		if b.takes(&b.supply, p, src, t, on) {
			b.supply.update(t, on)
		}
	case decode.Fault:
		if b.takes(&b.fault, p, src, t, on) {
			b.faultReading(t, told, on)
		}
	case decode.ResetRequest:
		if on {
			b.reset = t
		}
	}
}

func (b *Builder) analogue(p decode.Point, src *sourceValues, t time.Time, v float64) {
	switch p {
	case decode.HotWaterRate:
		if b.draw.takes(src.name, t) {
			b.draw.update(t, v >= drawRate)
		}
	case decode.FaultFlags:
		if b.flags.take(src.name, t, v) {
			b.faultFlags(int(v))
		}
	case decode.FaultCode:
		if b.code.take(src.name, t, v) {
			b.faultDetail()
		}
	case decode.Outside:
		b.frost.take(t, v)
		b.unmet.outside = value{v, momentOf(t), true}
	case decode.DiagnosticCode:
		if b.diagnostic.take(src.name, t, v) {
			b.faultDetail()
		}
	case decode.LightSign:
		b.sign.take(src.name, t, v)
	case decode.FlameLosses:
		b.flameLosses(t, v)
	case decode.FailedStarts:
		b.failedStarts(t, v)
	case decode.BurnerStarts:
		b.burnerStarts(src.name, t, v)
	case decode.FlowSetpoint:
		if b.setpoint.take(src.name, t, v) && v < warmSetpoint {
			b.enabled.cold = t
		}
	case decode.Flow, decode.Return:
		b.water(p, src, t, v)
	case decode.Modulation:
		if b.modulation.take(src.name, t, v) {
			b.burnModulation(t, v)
			b.outputModulation(src.name, t, v)
		}
	case decode.ElectricPower:
		b.outputPower(src.name, t, v)
	case decode.Pressure:
		b.pressureReading(t, v)
	case decode.ModulationCeiling:
		b.unmet.ceiling = value{v, momentOf(t), true}
	case decode.Cylinder:
		b.reheats.take(src.name, t, v)
	}
}

// ownedValue is an analogue value that one source gives: the first, until it has been silent for freshFor.
type ownedValue struct {
	value
	owner string
	first time.Time // when it last came from the other side of warmSetpoint; of use for the set-point only
}

func (o *ownedValue) take(source string, t time.Time, v float64) bool {
	if o.seen && o.owner != source && o.fresh(t) {
		return false
	}
	if !o.seen || (o.v < warmSetpoint) != (v < warmSetpoint) {
		o.first = t
	}
	o.owner, o.value = source, value{v, momentOf(t), true}
	return true
}

// drawRate is the hot-water flow from which water is being drawn, l/min. Own proposal: below what instantaneous
// appliances answer to (2 to 3 l/min, common practice, no source), above a sensor's idle noise.
const drawRate = 1.0

// warmSetpoint is the flow set-point from which a demand can be meant: water no warmer than a room heats nothing.
// Room units leave heating enabled and ask for 0–10 °C instead (common practice, no source). Own proposal, °C.
const warmSetpoint = 20.0

// setpointStands is how long a set-point that was written stands for the present: controllers repeat it, some rarely.
// Own proposal.
const setpointStands = time.Hour

// enabling is the controller's bit alone, without the set-point that gives it its meaning.
type enabling struct {
	on    bool
	since time.Time
	cold  time.Time // when a set-point that means no demand was last read
}

// demandReading follows heat demand: asked for, and at a temperature that means it. Where the set-point is asked for
// rarely, the one before still stands when heating is enabled; the first one after tells, and dates the demand back.
func (b *Builder) demandReading(t time.Time, on bool) {
	if on && !b.enabled.on {
		b.enabled.since = t
	}
	b.enabled.on = on
	cold := b.setpoint.seen && b.setpoint.v < warmSetpoint && b.setpoint.age(t) <= setpointStands
	c, _, _ := b.demand.update(t, on && !cold)
	switch {
	case c == fell:
		b.giveUp(t)
	case c == rose && b.setpoint.seen && b.setpoint.first.Equal(b.setpoint.t.time()) && b.setpoint.t > momentOf(b.enabled.since) &&
		!b.enabled.cold.After(b.enabled.since):
		b.demand.dateBack(b.enabled.since)
	}
}

// water feeds the pairs, the firing and the silences with flow and return.
func (b *Builder) water(p decode.Point, src *sourceValues, t time.Time, v float64) {
	src.pair.take(p, t, v)
	b.pendingWater(p, src.name, v)
	b.briefWater(p, src.name, t, v)
	if b.onset != nil && src.name == b.fault.owner {
		b.onset.water(t, v)
	}
	if src.shape == nil {
		src.shape = &shaper{source: src.name, scratch: b.scratch(), dark: -1, heatPump: b.cfg.HeatPump, taps: b.cfg.Draws == Tap}
		src.shape.log.on = b.piece.Lead == LeadByShape
	}
	src.shape.take(p, t, v, b.flameDark(src, t))
	b.outputWater(src, t)
	b.overrunWater(p, src, t)
	b.burnWater(&src.pair, src.name, p, t, v)
	if p == decode.Flow {
		b.excessWater(src.name, t, v)
		b.unmetFlow(src, t, v)
		for _, w := range b.buses {
			if w.source != src.name {
				w.otherFlow(src.name, t, v)
			}
		}
	}
}

// flameDark tells whether the shape of a source's water must stand in for the flame. A bus that has just woken says its
// flow a moment before its flame: that is no stretch without a flame's word.
func (b *Builder) flameDark(src *sourceValues, t time.Time) bool {
	if !b.flame.stale(t) {
		return false
	}
	woke := b.flame.seen && b.flame.owner == src.name && since(t, src.woke) <= max(busPause, holdIntervals*b.flame.cadence.Usual())
	return !woke
}

func (b *Builder) scratch() *shapeWork {
	if b.work == nil {
		b.work = &shapeWork{}
	}
	return b.work
}

// latest finds the newest value of a point in any source, the first source by name where equally new.
func (b *Builder) latest(p decode.Point) value {
	var best value
	var from string
	for _, s := range b.sources {
		v := s.values[p]
		if !v.seen {
			continue
		}
		if !best.seen || v.t > best.t || v.t == best.t && strings.Compare(s.name, from) < 0 {
			best, from = v, s.name
		}
	}
	return best
}

// Finish closes what is open and gives the facts of the record from…to, read in one go.
func (b *Builder) Finish(from, to time.Time) *Facts {
	b.began = from
	return Join(b.cfg, []*Part{b.Part(to)}, from, to)
}

func (b *Builder) demands() []Demand {
	spans := b.demand.spans
	if !b.demand.seen { // nobody says who asked: the appliance's own word that it is heating stands in
		spans = b.heatActive.spans
	}
	out := make([]Demand, len(spans))
	for i, s := range spans {
		out[i] = Demand{s}
	}
	return out
}
