package episode

import (
	"slices"
	"strings"
	"time"

	"tundish/decode"
)

// Run is one run of the logger, or one imported file.
type Run struct {
	ID       uint32
	From, To time.Time
	// Live: the logger took it as it happened, and between two such runs no logger ran. Imported files have no
	// such gaps: where a file has nothing, its source was silent.
	Live bool
}

// Config is what the job sheet and the capture say beforehand.
type Config struct {
	Runs            []Run
	Buses           []string // sources whose silence means something
	SwitchedLive    bool     // the appliance loses its mains when demand ends
	HotWaterMade    bool     // the plant makes hot water, so a firing of unknown use may be for it
	MinimumPressure float64  // bar, 0: not known
}

// Builder turns readings, in order of time, into facts. It is one pass with memory bounded by the number of
// episodes. The zero Builder is not usable; see [NewBuilder].
type Builder struct {
	cfg   Config
	run   uint32
	begun bool
	now   time.Time

	flame, demand, heatActive, hotWater, draw, fault, supply level

	setpoint  value
	analogue  map[decode.Series]value
	pairs     []*settler
	firing    *burn
	firings   []Firing
	attempts  []Attempt
	lockouts  []Lockout
	onset     *faultWatch
	reset     time.Time // last reset request over the bus
	counter   counterWatch
	buses     map[string]*busWatch
	flags     value
	code      value
	heatAsked bool // a heat-demand was ever delivered

	pending []pendingEnd // fallen flames whose reason may still show itself
}

// NewBuilder starts a pass.
func NewBuilder(cfg Config) *Builder {
	b := &Builder{cfg: cfg, analogue: map[decode.Series]value{}, buses: map[string]*busWatch{}}
	for _, name := range cfg.Buses {
		b.buses[name] = &busWatch{source: name}
	}
	return b
}

// Record tells that a record came from a source. note is the record's note, if it is one.
// Every record must be told, before its readings.
func (b *Builder) Record(source string, run uint32, t time.Time, note string) {
	if b.begun && run != b.run && b.live(run) && b.live(b.run) {
		b.cutAll(b.runByID(b.run), b.runByID(run))
	}
	b.run, b.begun = run, true
	if t.After(b.now) {
		b.now = t
	}
	if w := b.buses[source]; w != nil {
		w.record(t, note)
	}
}

func (b *Builder) live(run uint32) bool { return b.runByID(run).Live }

func (b *Builder) runByID(id uint32) Run {
	i := slices.IndexFunc(b.cfg.Runs, func(r Run) bool { return r.ID == id })
	if i < 0 {
		return Run{}
	}
	return b.cfg.Runs[i]
}

// cutAll forgets every state: the logger did not run, and nothing is known of what happened meanwhile. A fault
// stays: it does not go away by not being looked at.
func (b *Builder) cutAll(before, after Run) {
	b.endFiring(b.flame.last, EndRecord)
	for _, l := range []*level{&b.flame, &b.demand, &b.heatActive, &b.hotWater, &b.draw, &b.supply} {
		l.cut()
	}
	for _, p := range b.pairs {
		p.restart()
		p.flow.seen, p.ret.seen = false, false
	}
	for _, w := range b.buses {
		w.gap(before, after)
	}
}

// Reading takes one reading. Readings of unknown quality say nothing and are passed over.
func (b *Builder) Reading(r decode.Reading) {
	if r.Quality == decode.Unknown {
		return
	}
	t := r.Time
	if t.Before(b.now) { // a reply is dated by its record; small disorder between sources is ironed out here
		t = b.now
	}
	b.now = t
	b.settlePending(t, false)
	on := r.Value == 1
	src := r.Series.Source
	switch p := r.Series.Point; p {
	case decode.Flame:
		b.flameReading(src, t, on)
	case decode.HeatDemand:
		b.heatAsked = true
		if b.demand.takes(src) {
			b.demandReading(t, on)
		}
	case decode.HeatActive:
		if b.heatActive.takes(src) {
			b.heatActive.update(t, on)
		}
	case decode.HotWaterActive:
		if b.hotWater.takes(src) {
			b.hotWater.update(t, on)
		}
	case decode.HotWaterRate:
		if b.draw.takes(src) {
			b.draw.update(t, r.Value >= drawRate)
		}
	case decode.Supply:
		if b.supply.takes(src) {
			b.supply.update(t, on)
		}
	case decode.Fault:
		if b.fault.takes(src) {
			b.faultReading(t, on)
		}
	case decode.FaultFlags:
		b.flags = value{r.Value, t, true}
		b.faultDetail()
	case decode.FaultCode:
		b.code = value{r.Value, t, true}
		b.faultDetail()
	case decode.ResetRequest:
		if on {
			b.reset = t
		}
	case decode.FailedStarts:
		b.failedStarts(t, r.Value)
	case decode.FlowSetpoint:
		b.setpoint = value{r.Value, t, true}
		b.analogue[r.Series] = b.setpoint
	case decode.Flow, decode.Return:
		b.waterReading(r, t)
	case decode.Modulation:
		b.analogue[r.Series] = value{r.Value, t, true}
		b.burnModulation(t, r.Value)
	case decode.Pressure, decode.Outside, decode.Room:
		b.analogue[r.Series] = value{r.Value, t, true}
		b.pressureReading(r, t)
	}
}

// drawRate is the hot-water flow from which water is being drawn, l/min. Own proposal: below what instantaneous
// appliances answer to (2 to 3 l/min, common practice, no source), above a sensor's idle noise.
const drawRate = 1.0

// warmSetpoint is the flow set-point from which a demand can be meant: water no warmer than a room heats nothing.
// Room units leave heating enabled and ask for 0–10 °C instead (common practice, no source). Own proposal, °C.
const warmSetpoint = 20.0

// demandReading follows heat demand: asked for, and at a temperature that means it.
func (b *Builder) demandReading(t time.Time, on bool) {
	if on && b.setpoint.seen && b.setpoint.v < warmSetpoint && t.Sub(b.setpoint.t) <= freshFor {
		on = false
	}
	b.demand.update(t, on)
}

// waterReading feeds the pairs and the firing with flow and return.
func (b *Builder) waterReading(r decode.Reading, t time.Time) {
	src, p := r.Series.Source, r.Series.Point
	b.analogue[r.Series] = value{r.Value, t, true}
	i := slices.IndexFunc(b.pairs, func(s *settler) bool { return s.source == src })
	if i < 0 {
		i = len(b.pairs)
		b.pairs = append(b.pairs, &settler{source: src})
	}
	b.pairs[i].take(p, t, r.Value)
	b.burnWater(b.pairs[i], src, p, t, r.Value)
	if p == decode.Flow {
		for _, w := range b.buses {
			if w.source != src {
				w.otherFlow(t, r.Value)
			}
		}
	}
}

// latest finds the newest value of a point in any source; sources in order of name where equally new.
func (b *Builder) latest(p decode.Point) value {
	var best value
	var from string
	for s, v := range b.analogue {
		if s.Point != p {
			continue
		}
		if !best.seen || v.t.After(best.t) || v.t.Equal(best.t) && strings.Compare(s.Source, from) < 0 {
			best, from = v, s.Source
		}
	}
	return best
}

// Finish closes what is open and gives the facts of the record from…to.
func (b *Builder) Finish(from, to time.Time) *Facts {
	b.settlePending(to, true)
	open := b.firing != nil
	b.endFiring(b.flame.last, EndRecord)
	if n := len(b.firings); open && n > 0 && to.Sub(b.firings[n-1].To) <= b.flame.hold() {
		b.firings[n-1].Open = true
	}
	f := &Facts{From: from, To: to, Firings: b.firings, Gaps: b.gaps()}
	f.Demands = b.demands()
	f.Draws = b.draws()
	f.Lockouts = b.finishLockouts(to)
	f.Silences = b.finishSilences(from, to)
	return f
}

func (b *Builder) demands() []Demand {
	spans := b.demand.spans
	if !b.heatAsked { // nobody says who asked: the appliance's own word that it is heating stands in
		spans = b.heatActive.spans
	}
	out := make([]Demand, len(spans))
	for i, s := range spans {
		out[i] = Demand{s}
	}
	return out
}

func (b *Builder) draws() []Draw {
	spans := b.hotWater.spans
	if !b.hotWater.seen {
		spans = b.draw.spans
	}
	out := make([]Draw, len(spans))
	for i, s := range spans {
		out[i] = Draw{s}
	}
	return out
}

// gaps are the stretches between two live runs.
func (b *Builder) gaps() []Span {
	var out []Span
	var end time.Time
	for _, r := range b.cfg.Runs {
		if !r.Live {
			continue
		}
		if !end.IsZero() && r.From.After(end) {
			out = append(out, Span{From: end, To: r.From})
		}
		if r.To.After(end) {
			end = r.To
		}
	}
	return out
}
