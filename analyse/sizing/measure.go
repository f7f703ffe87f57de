package sizing

import (
	"math"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/analyse/fuel"
)

// Basis is what the heat made was measured by.
type Basis string

const (
	ByCounter    Basis = "heat counter"
	ByPower      Basis = "heat power"
	ByGas        Basis = "gas counter"
	ByModulation Basis = "modulation and rated outputs"
	ByTime       Basis = "burner's running time and rated output"
)

const (
	// fewestDays and leastSpan are what a signature needs at the least. Own proposal, after the trade's advice of 20 to
	// 30 cold days.
	fewestDays = 20
	leastSpan  = 8.0 // K
	// farthest is how far below the coldest days the design temperature may lie, in spans of the days' temperatures: a
	// line is not known beyond that, whatever its interval says. Own proposal.
	farthest = 1.0
	// dayHeat and dayOutside are the shares of a day over which heat and outside temperature must be known. Own
	// proposals: what is known stands for the rest.
	dayHeat, dayOutside = 0.9, 0.8
	// wholeDay is the shortest day that counts: one that is not cut, in which clocks may go forward.
	wholeDay = 23 * time.Hour
	// efficiency of a condensing boiler on gross calorific value, and how far it may be off. Own proposal, after UK field
	// trials of 2009 (mean annual efficiency about 82.5 % for combination and 85.3 % for regular boilers, from memory).
	efficiency, efficiencyError = 0.85, 0.05
	// naturalGas is the gross calorific value taken where the job sheet says none, MJ/m³, and how far it may be off as a
	// share (common practice, no source).
	naturalGas, naturalGasError = fuel.NaturalGasMJM3, 0.03
	// valueError is how far a calorific value on the job sheet may be off, ± as a share: it moves from month to month.
	// Own proposal.
	valueError = 0.01
	// volumeError is how far the metered volume may be from that at the conditions of the calorific value, ± as a share:
	// the meter's own error, and temperature and pressure that it may or may not correct for (by 1.02264 on British
	// bills, from memory). Own proposal.
	volumeError = 0.03
	// meterError is of an appliance's own heat figures, as a share. Own proposal.
	meterError = 0.10
	// outputError is how far a burner's output may be from what modulation and rated outputs say, as a share of it. Own
	// proposal.
	outputError = 0.15
	// outsideError is how far an outside sensor may be off, ±: ±0.5 K by its datasheet (DS18B20), as much again for a wall
	// that warms it (own proposal).
	outsideError = 1.0 // K
	// setBack is by how much the load with no gains taken off may come out too small where rooms are set back at night, as
	// a share of it. Own proposal.
	setBack = 0.08
	// onOff is the share of the greatest output from which the least is the same: there is but one. Own proposal.
	onOff = 0.9
	// undividedShare is the share of heat of unknown use from which the heat for hot water is in the figures. Own
	// proposal.
	undividedShare = 0.05
	// modKnown is the share of the running time in which modulation must be known. Own proposal.
	modKnown = 0.8
)

// Measured is the building's heat by the weather, as far as the record tells.
type Measured struct {
	Basis     Basis
	Days      []Day
	Signature Signature
	// Error is how far the basis itself may be off, ± as a share: it is not in the signature's intervals.
	Error     float64
	Undivided bool   // heat for hot water is in it
	Assumed   string // what was taken that nobody said; "" nothing
	// Refused says why there is no signature: too few days, and how many are missing; "" there is one.
	Refused string
	// other is the signature if modulation means the other thing.
	other *Signature
}

// Day is one day of the signature.
type Day struct {
	From time.Time
	Point
	// Before are the mean outside temperatures of the days before, °C, the nearest first, as far back as known without
	// a break and counted.
	Before []float64
}

// Measure finds the signature by the best basis that has days enough, else it says what is missing. outputs are of the
// plant; see [OutputsOf].
func Measure(f *episode.Facts, plant analyse.Plant) Measured {
	var most Measured
	for i, w := range ways(f, plant) {
		m := w.measure(f, plant.HotWater)
		if m.Refused == "" && plant.OutsideDesign.Known {
			m.Refused = tooFar(m.Days, float64(plant.OutsideDesign.Value))
		}
		if m.Refused == "" {
			return m
		}
		if i == 0 || len(m.Days) > len(most.Days) {
			most = m
		}
	}
	if most.Basis == "" {
		most.Refused = "the heat made cannot be told from this record: it needs a heat or gas counter, or the boiler's modulation and its rated outputs"
	}
	return most
}

func (w way) measure(f *episode.Facts, hotWater analyse.HotWaterKind) Measured {
	m := Measured{Basis: w.basis, Error: w.error, Assumed: w.assumed}
	m.Days, m.Undivided = w.days(f, w.power)
	if hotWater != analyse.NoHotWater && len(m.Days) > 0 && !hotWaterSeen(f) {
		m.Undivided = true // it is made, and nobody ever says when
	}
	if m.Refused = refuse(m.Days, f.Days); m.Refused != "" {
		return m
	}
	m.Signature, _ = FitDays(m.Days)
	if m.Signature.SlopeCI.Low <= 0 {
		m.Refused = "the heat made did not follow the weather closely enough for a signature"
		return m
	}
	if m.Refused = tooMild(m.Days, m.Signature); m.Refused != "" {
		return m
	}
	if w.other != nil {
		days, _ := w.days(f, w.other)
		if s, ok := FitDays(days); ok {
			m.other = &s
		}
	}
	return m
}

// days are those with heat for heating and enough known of them.
func (w way) days(f *episode.Facts, power func(episode.Day) (float64, float64, bool)) ([]Day, bool) {
	type known struct {
		day        episode.Day
		heating, u float64
		before     []float64
	}
	var all []known
	var heat, unknown float64
	for i, d := range f.Days {
		length := d.To.Sub(d.From)
		if length < wholeDay || d.Heat.OutsideFor.Seconds() < dayOutside*length.Seconds() {
			continue
		}
		if h, u, ok := power(d); ok {
			all = append(all, known{d, h, u, daysBefore(f.Days, i)})
			heat, unknown = heat+h, unknown+u
		}
	}
	undivided := unknown > undividedShare*(heat+unknown)
	var out []Day
	for _, k := range all {
		p := k.heating
		if undivided {
			p += k.u
		}
		if p > 0 {
			out = append(out, Day{k.day.From, Point{k.day.Heat.Outside, p}, k.before})
		}
	}
	return out, undivided
}

// hotWaterSeen tells whether any heat was ever said to be for hot water.
func hotWaterSeen(f *episode.Facts) bool {
	return slices.ContainsFunc(f.Days, func(d episode.Day) bool { return d.Heat.Burner.HotWater.Lit > 0 }) ||
		slices.ContainsFunc(f.Firings, func(x episode.Firing) bool { return x.UseKnown && x.Use == episode.HotWater }) ||
		slices.ContainsFunc(f.Days, func(d episode.Day) bool { return d.Heat.Energy.HotWater+d.Heat.Power.HotWater+d.Heat.Gas.HotWater > 0 })
}

// remembered is how many days before are counted: what is left of an older one is little. Own proposal.
const remembered = 4

func daysBefore(days []episode.Day, i int) (te []float64) {
	for ; i > 0 && len(te) < remembered; i-- {
		d := days[i-1]
		if !d.To.Equal(days[i].From) || d.Heat.OutsideFor.Seconds() < dayOutside*wholeDay.Seconds() {
			break
		}
		te = append(te, d.Heat.Outside)
	}
	return te
}

func points(days []Day) []Point {
	out := make([]Point, len(days))
	for i, d := range days {
		out[i] = d.Point
	}
	return out
}

// Load is what the building takes at the outside design temperature, kW.
type Load struct {
	InUse Interval // with the gains and habits of the people in it
	KW    float64  // the middle of that
	// Loss is the same from the rooms' design temperature with no gains taken off, as a design figure has it.
	Loss   Interval
	LossKW float64
}

// At gives the load at the outside design temperature and the rooms', with the errors of the basis and of the outside
// sensor in the intervals: independent of each other, they add by their squares (JCGM 100:2008, 5.1.2).
func (m Measured) At(outside, inside float64) Load {
	of := func(s Signature) (l Load) {
		l.KW, l.InUse = s.At(outside)
		l.LossKW, l.Loss = s.Loss(inside - outside)
		l.InUse = widened(l.InUse, l.KW, m.Error*l.KW, s.Slope*outsideError)
		l.Loss = widened(l.Loss, l.LossKW, m.Error*l.LossKW)
		l.Loss.High = l.LossKW + math.Hypot(l.Loss.High-l.LossKW, setBack*l.LossKW)
		return l
	}
	l := of(m.Signature)
	if m.other != nil {
		o := of(*m.other)
		l.InUse, l.Loss = hull(l.InUse, o.InUse), hull(l.Loss, o.Loss)
	}
	return l
}

// widened adds independent errors to an interval about v; no load is below 0.
func widened(i Interval, v float64, errors ...float64) Interval {
	below, above := v-i.Low, i.High-v
	for _, e := range errors {
		below, above = math.Hypot(below, e), math.Hypot(above, e)
	}
	return Interval{max(0, v-below), v + above}
}

func hull(a, b Interval) Interval { return Interval{min(a.Low, b.Low), max(a.High, b.High)} }

// mostHotWater is how much of the load in use may be for hot water where that is not told apart, kW: 10 kWh a day. Own
// proposal.
const mostHotWater = 0.4

// bounds are the least and the greatest load that the measurement leaves possible: in use, or with no gains taken off.
func (m Measured) bounds(l Load) Interval {
	b := hull(l.InUse, l.Loss)
	if m.Undivided {
		b.Low = max(0, min(l.InUse.Low-mostHotWater, l.Loss.Low))
	}
	return b
}
