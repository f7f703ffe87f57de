package episode

import "time"

const (
	// outputShows is the share of the spread that flow and return had at more than the least output from which they show
	// that heat is still made, and outputShowsK the least of it, K. Own proposal: below it water merely goes round.
	outputShows, outputShowsK = 0.4, 0.7
	// outputSteady is the same share of what they have had at the least output for a while.
	outputSteady = 0.7
	// outputLingers is how long an exchanger's metal still warms the water. Own proposal.
	outputLingers = 2 * time.Minute
	// outputDies is how long flow and return must be close together for the heat to have ended. Own proposal.
	outputDies = 100 * time.Second
	// outputLate is the longest time from a compressor's start to where its modulation shows it, as its controls hold the
	// least output at first, which modulation calls 0. Own proposal.
	outputLate = time.Minute
	// outputLooks is the least number of looks at flow and return that must say so. Own proposal: a defrost turns them over
	// within one or two.
	outputLooks = 4
	// outputHolds is how long controls hold the least output at first. Own proposal.
	outputHolds = 10 * time.Second
	// outputMoves is how long after a change between heating and hot water flow and return tell of other water. Own
	// proposal.
	outputMoves = 3 * time.Minute
	// outputRise is the rise of the spread that begins with a start, K, outputRiseStart that of spread and flow that
	// shows a start at the least output. Own proposal.
	outputRise, outputRiseStart = 0.3, 1.0
	// powerRuns is the electric power from which a heat pump's compressor runs, kW. Own proposal: pumps, controls and a
	// crankcase heater stay below, the smallest compressor lies above.
	powerRuns = 0.3
)

// outputWatch tells the runs of a heat pump's compressor, which has no flame: by its electric power where that is known,
// else by its modulation. Modulation is 0 both at rest and at the least output (OpenTherm Protocol Specification v2.2,
// 5.3.4), and while the evaporator is defrosted: flow and return tell these apart.
type outputWatch struct {
	flame   bool  // the flame bit follows the compressor after all: it decides
	power   value // electric, kW
	running bool
	began   time.Time // the run under way
	least   time.Time // modulation was last 0
	above   time.Time // modulation was last above 0
	nought  time.Time // since when it has been 0 in the run under way; zero: it is not
	changed time.Time // when hot water began or ended with that; zero: it did not
	looks   int       // at flow and return since they last showed heat
	shown   time.Time // since then, when flow and return last showed heat
	spread  float64   // K, flow − return at more than the least output
	steady  float64   // K, the same at the least output
	owner   string    // of the modulation
	trace   []sample  // of its flow and return, the last minutes
}

// outputPower takes the electric power of a heat pump.
func (b *Builder) outputPower(src string, t time.Time, kw float64) {
	o := &b.output
	if !b.cfg.HeatPump || o.flame {
		return
	}
	o.power = value{kw, momentOf(t), true}
	on := kw >= powerRuns
	o.running = on
	b.flameLevel(src, t, on)
}

// byPower tells whether the electric power decides.
func (o *outputWatch) byPower(t time.Time) bool { return o.power.fresh(t) }

// outputModulation takes the modulation of a heat pump.
func (b *Builder) outputModulation(src string, t time.Time, v float64) {
	o := &b.output
	if !b.cfg.HeatPump || o.flame || o.byPower(t) || !b.flame.takes(src, t) {
		return
	}
	if o.owner != src {
		*o = outputWatch{owner: src, power: o.power}
	}
	if b.flame.known && b.flame.stale(t) { // nobody looked meanwhile
		o.forget()
	}
	o.settle(b, t)
	switch {
	case v > 0 && !o.running:
		o.begin(b, t, o.dated(t), false)
		o.above = t
	case v > 0:
		if b.firing != nil && since(t, o.began) <= outputLate {
			b.firing.Rough = false // what the water told is borne out
		}
		o.above, o.nought, o.shown = t, time.Time{}, time.Time{}
	case o.running && o.nought.IsZero():
		o.nought, o.changed, o.looks, o.steady = t, time.Time{}, 0, 0
	}
	if v == 0 {
		o.least = t
	}
	b.flameLevel(src, t, o.running)
}

// forget drops what is known of a run: nobody looked.
func (o *outputWatch) forget() {
	*o = outputWatch{flame: o.flame, owner: o.owner, power: o.power}
}

// outputWater takes flow and return from the source that gives the modulation.
func (b *Builder) outputWater(src *sourceValues, t time.Time) {
	o := &b.output
	f, r := &src.pair.flow, &src.pair.ret
	if !b.cfg.HeatPump || o.flame || o.owner != src.name || o.byPower(t) || !f.seen || !r.seen || f.age(t) > settlePair || r.age(t) > settlePair {
		return
	}
	for len(o.trace) > 0 && since(t, o.trace[0].t) > 2*outputLate {
		o.trace = append(o.trace[:0], o.trace[1:]...)
	}
	o.trace = append(o.trace, sample{t, f.v, r.v})
	spread := f.v - r.v
	switch {
	case !o.running && b.working(t):
		if i := o.lowest(t); i >= 0 && b.flame.known && spread-(o.trace[i].flow-o.trace[i].ret) >= outputRiseStart && f.v-o.trace[i].flow >= outputRiseStart {
			o.begin(b, t, o.dated(t), true)
			o.nought, o.shown = t, t
		}
	case o.running && o.nought.IsZero():
		o.spread = spread
	case o.running && (spread >= max(outputShows*o.spread, outputSteady*o.steady, outputShowsK) || spread <= -outputShowsK):
		o.shown, o.looks = t, 0
		if since(t, o.nought) > outputLingers {
			o.steady += (max(spread, 0) - o.steady) / 8
		}
	case o.running:
		o.looks++
	}
	o.settle(b, t)
}

// working tells whether the appliance is in a mode in which it makes heat, as far as known.
func (b *Builder) working(t time.Time) bool {
	if !b.heatActive.stale(t) || !b.hotWater.stale(t) {
		return !b.heatActive.stale(t) && b.heatActive.on || !b.hotWater.stale(t) && b.hotWater.on
	}
	return b.demand.stale(t) || b.demand.on
}

// flameBit tells whether a reading of the flame counts: a heat pump has none, unless its bit follows the compressor.
func (b *Builder) flameBit(on bool) bool {
	if b.cfg.HeatPump && on {
		b.output.flame = true
	}
	return !b.cfg.HeatPump || b.output.flame
}

// ownBasis is what firings are told from where the appliance itself tells them.
func (b *Builder) ownBasis() (basis Basis, because string) {
	switch {
	case !b.cfg.HeatPump || b.output.flame:
		return ByFlame, "the flame's own signal is known"
	case b.output.power.seen:
		return ByOutput, "the compressor's electric power is known"
	}
	return ByOutput, "the compressor's modulation is known"
}
