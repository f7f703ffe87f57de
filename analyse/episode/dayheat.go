package episode

import (
	"time"

	"tundish/decode"
)

// HeatDay is the heat made over a day, by each way in which it can be known, and what the weather was.
type HeatDay struct {
	Outside    float64       // °C, mean over OutsideFor
	OutsideFor time.Duration // 0: not known
	Energy     HeatSum       // kWh, by a heat counter
	Power      HeatSum       // kWh, by heat power
	Gas        HeatSum       // m³, by a gas counter
	Electric   HeatSum       // kWh of electricity, by a counter, else by power
	Burner     BurnerDay
	// OutputMax and ModulationMin are what the appliance states, kW and % of it; 0: it does not.
	OutputMax, ModulationMin float64
}

// HeatSum is an amount over a day, parted by what it was for.
type HeatSum struct {
	Heating, HotWater float64
	Undivided         float64       // nobody says what it was for
	For               time.Duration // the time that it covers
}

// BurnerDay is how long and how high the burner, or a heat pump's compressor, ran.
type BurnerDay struct {
	Watched        time.Duration // in which it was known whether it runs
	Heating        BurnTime
	HotWater       BurnTime
	Undivided      BurnTime
	HighestHeating float64 // %, of heating; see Heating.ModFor
	Ceiling        float64 // %, the highest that the controller set; see CeilingSeen
	CeilingSeen    bool
}

// BurnTime is a time of running, and the modulation summed up over it.
type BurnTime struct {
	Lit    time.Duration
	ModS   float64       // %·s
	ModFor time.Duration // the part of Lit in which modulation was known
}

const (
	// outsideStands is how far apart two readings of the outside temperature may be for the time between them to be
	// known. Own proposal: over two hours it moves by a few kelvin at most.
	outsideStands = 2 * time.Hour
	// counterStands is the same of counters and of powers. Own proposal.
	counterStands, powerStands = 3 * time.Hour, time.Hour
	// burnerStands is how far apart readings may be for the burner's state to be known between them. Own proposal.
	burnerStands = 20 * time.Minute
	// mostKW is the mean power above which a counter's step is none of a home's: a reset or a wrap. Own proposal.
	mostKW = 200.0
	// gasKWhPerM3 turns that into gas: natural gas of about 39.5 MJ/m³ gross.
	gasKWhPerM3 = 39.5 / 3.6
)

// made is what heat was made for.
type made uint8

const (
	forHeating made = iota
	forHotWater
	undivided
	madeCount
)

type heatWatch struct {
	dayFrom time.Time // midnight, since the first day ended
	began   moment    // dayFrom
	last    moment    // of any reading
	known   bool      // whether the burner runs, at last
	lit     bool
	use     made
	mod     value
	spent   spentFor

	day                                     HeatDay
	outside                                 tally
	energy, power, gas, electric, electricP tally
	outsideSum                              float64 // K·s
}

// spentFor is the time so far, by what heat was made for: with the burner lit, and all.
type spentFor struct{ lit, any [madeCount]time.Duration }

// tally follows one point of one source, and for what the heat was since its last reading.
type tally struct {
	owner string
	last  value
	spent spentFor // until the last reading
	sum   HeatSum
}

// takes tells whether the tally listens to the source: the first one, until it has been silent for long.
func (y *tally) takes(src *sourceValues, t time.Time) bool {
	if y.last.seen && y.owner != src.name && y.last.age(t) <= counterStands {
		return false
	}
	if y.owner != src.name {
		y.owner, y.last = src.name, value{}
	}
	return true
}

// begin makes v the value from which the next step counts.
func (y *tally) begin(spent *spentFor, t time.Time, v float64) {
	y.last, y.spent = value{v, momentOf(t), true}, *spent
}

// sinceLast is the time since the last reading by what heat was made for, of all or of that with the burner lit.
func sinceLast(now, last *[madeCount]time.Duration) (by [madeCount]time.Duration, total time.Duration) {
	for i := range by {
		by[i] = now[i] - last[i]
		total += by[i]
	}
	return by, total
}

// add parts an amount that was made since the last reading. The part before midnight belongs to a day that is over.
func (y *tally) add(spent *spentFor, amount float64, from, t time.Time) {
	dt := y.last.age(t)
	if from.After(y.last.t.time()) {
		amount *= float64(since(t, from)) / float64(dt)
		dt = since(t, from)
	}
	y.sum.For += dt
	by, total := sinceLast(&spent.lit, &y.spent.lit)
	if total == 0 {
		by, total = sinceLast(&spent.any, &y.spent.any)
	}
	if total == 0 {
		y.sum.Undivided += amount
		return
	}
	y.sum.Heating += amount * float64(by[forHeating]) / float64(total)
	y.sum.HotWater += amount * float64(by[forHotWater]) / float64(total)
	y.sum.Undivided += amount * float64(by[undivided]) / float64(total)
}

// count takes a counter's value; most is the amount an hour above which a step is none.
func (y *tally) count(spent *spentFor, src *sourceValues, from, t time.Time, v, most float64) {
	if !y.takes(src, t) {
		return
	}
	if dt := y.last.age(t); y.last.seen && dt > 0 && dt <= counterStands {
		// A step of the counter's own resolution may come at any moment, so that a short time bounds nothing.
		if step := v - y.last.v; step >= 0 && step <= most*max(dt, time.Hour).Hours() {
			y.add(spent, step, from, t)
		}
	}
	y.begin(spent, t, v)
}

// integrate takes a power, kW, and sums kWh. A value holds until the next one: right where a source tells changes only,
// and right on average where it tells at fixed times.
func (y *tally) integrate(spent *spentFor, src *sourceValues, from, t time.Time, v float64) {
	if !y.takes(src, t) {
		return
	}
	if dt := y.last.age(t); y.last.seen && dt > 0 && dt <= powerStands {
		y.add(spent, y.last.v*dt.Hours(), from, t)
	}
	y.begin(spent, t, v)
}

func (w *heatWatch) take(b *Builder, p decode.Point, src *sourceValues, t time.Time, v float64) {
	w.pass(b, t)
	switch p {
	case decode.Outside:
		w.weather(src, t, v)
	case decode.HeatEnergy:
		w.energy.count(&w.spent, src, w.dayFrom, t, v, mostKW)
	case decode.HeatPower:
		w.power.integrate(&w.spent, src, w.dayFrom, t, v)
	case decode.GasVolume:
		w.gas.count(&w.spent, src, w.dayFrom, t, v, mostKW/gasKWhPerM3)
	case decode.ElectricEnergy:
		w.electric.count(&w.spent, src, w.dayFrom, t, v, mostKW)
	case decode.ElectricPower:
		w.electricP.integrate(&w.spent, src, w.dayFrom, t, v)
	case decode.OutputMax:
		w.day.OutputMax = max(w.day.OutputMax, v)
	case decode.ModulationMin:
		w.day.ModulationMin = max(w.day.ModulationMin, v)
	case decode.ModulationCeiling:
		w.day.Burner.Ceiling, w.day.Burner.CeilingSeen = max(w.day.Burner.Ceiling, v), true
	}
}

func (w *heatWatch) weather(src *sourceValues, t time.Time, v float64) {
	if !w.outside.takes(src, t) {
		return
	}
	if o := w.outside.last; o.seen && o.age(t) <= outsideStands {
		dt := t.Sub(later(o.t.time(), w.dayFrom))
		w.outsideSum += (o.v + v) / 2 * dt.Seconds()
		w.day.OutsideFor += dt
	}
	w.outside.begin(&w.spent, t, v)
}

// pass adds the time since the last reading to what the burner did then, and looks what it does now.
func (w *heatWatch) pass(b *Builder, t time.Time) {
	at := b.at
	if dt := at.since(w.last); w.last != 0 && dt > 0 && dt <= counterStands {
		if today := min(dt, at.since(w.began)); w.known && today > 0 && dt <= burnerStands {
			w.burner(today)
		}
		w.spent.any[w.use] += dt
		if w.known && w.lit {
			w.spent.lit[w.use] += dt
		}
	}
	w.last = at
	w.known, w.lit = !b.flame.stale(t), b.flame.on
	w.use = w.usedFor(b, t)
	if w.lit {
		w.mod = b.modulation.value
	}
}

func (w *heatWatch) burner(dt time.Duration) {
	d := &w.day.Burner
	d.Watched += dt
	if !w.lit {
		return
	}
	x := [madeCount]*BurnTime{&d.Heating, &d.HotWater, &d.Undivided}[w.use]
	x.Lit += dt
	if !w.mod.seen || w.last.since(w.mod.t) > burnerStands {
		return
	}
	x.ModFor += dt
	x.ModS += w.mod.v * dt.Seconds()
	if w.use == forHeating {
		d.HighestHeating = max(d.HighestHeating, w.mod.v)
	}
}

// usedFor tells what heat is made for at t, as far as anybody says.
func (w *heatWatch) usedFor(b *Builder, t time.Time) made {
	switch {
	case !b.hotWater.stale(t) && b.hotWater.on:
		return forHotWater
	case !b.hotWater.stale(t) || !b.cfg.HotWaterMade:
		return forHeating
	case !b.demand.stale(t) && !b.demand.on && b.flame.on:
		return forHotWater // it runs, and no heating is asked for
	}
	return undivided
}

func (w *heatWatch) cut() {
	w.last, w.known = 0, false
	for _, y := range []*tally{&w.outside, &w.energy, &w.power, &w.gas, &w.electric, &w.electricP} {
		y.last.seen = false
	}
}

func (w *heatWatch) end(at time.Time) HeatDay {
	d := w.day
	if d.OutsideFor > 0 {
		d.Outside = w.outsideSum / d.OutsideFor.Seconds()
	}
	d.Energy, d.Power, d.Gas, d.Electric = w.energy.sum, w.power.sum, w.gas.sum, w.electric.sum
	if w.electric.sum.For < w.electricP.sum.For {
		d.Electric = w.electricP.sum
	}
	w.day, w.outsideSum, w.dayFrom, w.began = HeatDay{}, 0, at, momentOf(at)
	for _, y := range []*tally{&w.energy, &w.power, &w.gas, &w.electric, &w.electricP} {
		y.sum = HeatSum{}
	}
	return d
}
