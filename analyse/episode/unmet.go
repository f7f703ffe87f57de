package episode

import (
	"slices"
	"time"

	"tundish/decode"
)

const (
	// unmetMargin is how far below its set-point the flow must be for a burner at rest to be due: a switch-on
	// differential of 5 K and 3 K beyond (both common practice, no source), K.
	unmetMargin = 8.0
	// unmetOther is the same by a sensor that control does not use, K: one that hangs loose reads low. Own proposal.
	unmetOther = 15.0
	// unmetBlind is the flow below which a burner at rest is due whatever its set-point, °C, where nothing tells that and a
	// contact asks for heat: water no warmer than that heats no room. Own proposal: some kelvin above a warm room, in
	// which a pipe without heat ends.
	unmetBlind = 25.0
	// unmetLights is how long a flame must burn to count as firing: a try that fails does not meet the demand, and is
	// over after the ignition safety time.
	unmetLights = attemptBelow
	// unmetPause is how long the demand may rest, as room controls that chop do, without what went before being
	// forgotten. Own proposal.
	unmetPause = 15 * time.Minute
	// unmetIdle and unmetCold are the shortest stretches that are kept as facts, without a firing and without nearing the
	// set-point. Own proposals: half of what a check calls a fault.
	unmetIdle, unmetCold = 15 * time.Minute, 2 * time.Hour
)

// UnmetKind is in which way a demand was not met.
type UnmetKind string

const (
	UnmetIdle UnmetKind = "no firing"            // the burner rested though the flow was well below its set-point
	UnmetCold UnmetKind = "set-point not neared" // whether the burner burned or not
)

// Unmet is a stretch of heat demand, with mains, no fault and no hot-water making, in which the flow stayed well below
// its set-point. Where something was not known it ends: a silent bus makes no unmet demand.
type Unmet struct {
	Span
	Kind       UnmetKind
	Source     string        // whose flow
	Blind      bool          // no set-point was told: the water was too cold to heat any room
	Own        bool          // the source that gives the set-point gives this flow
	Asked      time.Duration // demand in it, hot water and pauses taken off
	Fired      time.Duration // of that with a flame
	Tries      int           // flames that went out within unmetLights
	Setpoint   float64       // °C, mean
	Flow       float64       // °C, mean
	FlowFirst  float64       // °C, mean of the first hour, or of the first half of a shorter one
	FlowLast   float64       // °C, mean of the last hour
	Delta      float64       // K, mean of flow less return while the flame burned; see DeltaSeen
	DeltaSeen  bool          //
	Modulation float64       // %, mean while the flame burned; see ModSeen
	ModSeen    bool          //
	Ceiling    float64       // %, least modulation that the controller allowed; 100 where it says nothing
	Outside    float64       // °C, mean; see OutSeen
	OutSeen    bool          //
	PumpOff    time.Duration // of it the appliance said that its pump stood
	// Apart is how much hotter the flow by the source that gives the set-point was than this one, K, at least and at
	// most; zero where this is that source's own.
	Apart [2]float64
}

// meanOf is a mean weighted by time.
type meanOf struct{ sum, seconds float64 }

func (m *meanOf) add(v float64, d time.Duration) { m.sum += v * d.Seconds(); m.seconds += d.Seconds() }
func (m *meanOf) mean() float64                  { return m.sum / max(m.seconds, 1e-9) }

// unmetClock follows one way in which demand may go unmet.
type unmetClock struct {
	kind                            UnmetKind
	on                              bool
	from, to                        time.Time
	asked, fired, pumpOff           time.Duration
	tries                           int
	setpoint, flow, out, delta, mod meanOf
	hours                           [2]meanOf // of the flow: the first hour, and the hour under way
	last                            meanOf    // the hour before
	ceiling                         float64
	apart                           [2]float64 // K, own flow less this one, least and most; of the other clock only
	source                          string
	own, blind                      bool
	joins                           bool // it goes on from before the piece
}

// unmetWatch looks at the demand with each flow that is read.
type unmetWatch struct {
	idle, cold, other unmetClock
	prev              time.Time // of the last look, zero where the stretch before it is not known
	judged            time.Time // until when flames have been looked at
	paused            time.Time // since when the demand rests
	ceiling           value
	outside           value
	found             []unmetFound
}

// end closes a clock and files what it found.
func (w *unmetWatch) end(c *unmetClock, open bool) {
	w.file(c, open, false)
	*c = unmetClock{kind: c.kind}
}

// file keeps what a clock found, if it is long enough or may be with what other pieces saw of it; on tells that it goes
// on after the piece.
func (w *unmetWatch) file(c *unmetClock, open, on bool) {
	if c.on && (on || c.joins || c.asked >= c.kind.least()) {
		last := c.hours[1]
		if last.seconds < 1800 && c.last.seconds > 0 {
			last = c.last
		}
		if last.seconds == 0 {
			last = c.hours[0]
		}
		w.found = append(w.found, unmetFound{Joins: c.joins, On: on, Unmet: Unmet{Span: Span{From: c.from, To: c.to, Open: open}, Kind: c.kind, Source: c.source, Own: c.own, Blind: c.blind,
			Asked: c.asked, Fired: c.fired, Tries: c.tries, Setpoint: c.setpoint.mean(), Flow: c.flow.mean(),
			FlowFirst: c.hours[0].mean(), FlowLast: last.mean(), Delta: c.delta.mean(), DeltaSeen: c.delta.seconds > 0,
			Modulation: c.mod.mean(), ModSeen: c.mod.seconds > 0, Ceiling: c.ceiling, Outside: c.out.mean(), OutSeen: c.out.seconds > 0,
			PumpOff: c.pumpOff, Apart: c.apart}})
	}
}

// stop ends all: something is not known any more, or the appliance cannot make heat.
func (w *unmetWatch) stop(open bool) {
	w.end(&w.idle, open)
	w.end(&w.cold, open)
	w.end(&w.other, open)
	w.prev, w.paused = time.Time{}, time.Time{}
}

// unmetFlow takes a flow of a source.
func (b *Builder) unmetFlow(src *sourceValues, t time.Time, v float64) {
	w := &b.unmet
	if w.idle.kind == "" {
		w.idle.kind, w.cold.kind, w.other.kind = UnmetIdle, UnmetCold, UnmetIdle
	}
	own := src.name == b.setpoint.owner
	ownFlow := b.setpoint.seen && b.of(b.setpoint.owner).values[decode.Flow].fresh(t)
	if !own && ownFlow { // a second sensor: it has a clock of its own, and the own flow keeps the time
		w.otherFlow(b, src, t, v)
		return
	}
	if !b.unmetKnown(t) {
		w.stop(true)
		return
	}
	dt := time.Duration(0)
	if !w.prev.IsZero() {
		dt = since(t, w.prev)
	}
	if dt > freshFor { // nobody looked
		w.stop(true)
		dt = 0
	}
	w.prev = t
	switch {
	case !b.hotWater.stale(t) && b.hotWater.on:
		return // hot water comes first: neither met nor unmet
	case !b.unmetAsked(t):
		if w.paused.IsZero() {
			w.paused = t
			w.end(&w.cold, false) // the room had enough for now: that was met, however cool the water
		}
		if since(t, w.paused) > unmetPause {
			w.stop(false)
			w.prev, w.paused = t, t
		}
		return
	}
	w.paused = time.Time{}
	burns, held := b.unmetBurns(t)
	if v > b.unmetBelow() {
		w.end(&w.idle, false)
		w.end(&w.cold, false)
		return
	}
	if !b.unmetBlindly() {
		w.cold.take(b, src, t, dt, v, own, burns)
	}
	if held {
		w.end(&w.idle, false)
		w.end(&w.other, false)
		return
	}
	w.idle.take(b, src, t, dt, v, own, burns)
}

// otherFlow takes the flow of a sensor that control does not use. Only that the burner rests counts by it.
func (w *unmetWatch) otherFlow(b *Builder, src *sourceValues, t time.Time, v float64) {
	c := &w.other
	switch {
	case c.on && c.source != src.name:
		return
	case !b.unmetKnown(t) || !b.unmetAsked(t) || v > b.setpoint.v-unmetOther || c.on && since(t, c.to) > freshFor:
		w.end(c, true)
	case b.flame.on: // however short: water that stands in the appliance is hot at once
		w.end(c, false)
	case !b.hotWater.stale(t) && b.hotWater.on:
		c.to = t
	default:
		dt := time.Duration(0)
		if c.on {
			dt = since(t, c.to)
		}
		c.take(b, src, t, dt, v, false, false)
		apart := b.of(b.setpoint.owner).values[decode.Flow].v - v
		if c.asked == 0 {
			c.apart = [2]float64{apart, apart}
		}
		c.apart = [2]float64{min(c.apart[0], apart), max(c.apart[1], apart)}
	}
}

// unmetBurns tells whether a flame burns, and whether one that burns or has gone out since the last look held.
func (b *Builder) unmetBurns(t time.Time) (burns, held bool) {
	w, n := &b.unmet, len(b.flame.spans)
	if n == 0 {
		return false, false
	}
	s := b.flame.spans[n-1]
	if b.flame.on {
		return true, t.Sub(s.From) >= unmetLights
	}
	if !s.To.After(w.judged) || t.Sub(s.To) > waitMost { // the latter is no answer to this call
		return false, false
	}
	w.judged = s.To
	if s.Duration() >= unmetLights {
		return false, true
	}
	w.idle.tries++
	w.cold.tries++
	return false, false
}

// unmetKnown tells whether it is known at t that the appliance could make heat: flame, demand and set-point are told,
// it has mains, and it says nothing of a fault.
func (b *Builder) unmetKnown(t time.Time) bool {
	asked := &b.demand
	if !b.demand.seen {
		asked = &b.heatActive
	}
	return !b.flame.stale(t) && !asked.stale(t) && (b.unmetBlindly() || b.setpoint.seen && b.setpoint.age(t) <= setpointStands) &&
		!(b.fault.known && b.fault.on) && !b.unpowered()
}

// unmetAsked tells whether heat is asked for at t, at a temperature that means it.
func (b *Builder) unmetAsked(t time.Time) bool {
	if !b.demand.seen {
		return b.heatActive.on && b.setpoint.v >= warmSetpoint
	}
	return b.demand.on && (b.unmetBlindly() || b.setpoint.v >= warmSetpoint)
}

// unmetBlindly tells whether nothing gives a set-point, and a contact asks for heat.
func (b *Builder) unmetBlindly() bool {
	return !b.setpoint.seen && b.demand.seen && !b.isBus(b.demand.owner)
}

// unmetBelow is the flow up to which a burner at rest is due, °C.
func (b *Builder) unmetBelow() float64 {
	if b.unmetBlindly() {
		return unmetBlind
	}
	return b.setpoint.v - unmetMargin
}

// take adds the time since the last look.
func (c *unmetClock) take(b *Builder, src *sourceValues, t time.Time, dt time.Duration, v float64, own, burns bool) {
	if !c.on {
		*c = unmetClock{kind: c.kind, on: true, from: t, to: t, ceiling: 100, source: src.name, own: own, blind: b.unmetBlindly()}
		return
	}
	c.to = t
	c.asked += dt
	if b.setpoint.seen {
		c.setpoint.add(b.setpoint.v, dt)
	}
	c.flow.add(v, dt)
	if c.asked <= time.Hour {
		c.hours[0].add(v, dt)
	} else {
		c.hours[1].add(v, dt)
		if c.hours[1].seconds >= 3600 {
			c.last, c.hours[1] = c.hours[1], meanOf{}
		}
	}
	if burns {
		c.fired += dt
		if b.modulation.fresh(t) {
			c.mod.add(b.modulation.v, dt)
		}
		if r := src.pair.ret; r.seen && r.age(t) <= settlePair {
			c.delta.add(v-r.v, dt)
		}
	}
	if x := b.unmet.ceiling; x.seen && x.age(t) <= setpointStands {
		c.ceiling = min(c.ceiling, x.v)
	}
	if x := b.unmet.outside; x.seen && x.age(t) <= setpointStands {
		c.out.add(x.v, dt)
	}
	if !b.pump.stale(t) && !b.pump.on {
		c.pumpOff += dt
	}
}

// unmets are all stretches, in order of time.
func (b *Builder) unmets() []Unmet {
	var out []Unmet
	for _, u := range b.unmet.found {
		out = append(out, u.Unmet)
	}
	slices.SortStableFunc(out, func(x, y Unmet) int { return x.From.Compare(y.From) })
	return out
}
