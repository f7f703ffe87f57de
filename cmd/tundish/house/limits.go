package house

import (
	"time"

	"tundish/analyse/episode"
)

const (
	// limitBackK is how far the flow must fall below its limit before the burner may start again. Own assumption.
	limitBackK = 8.0
	// overheatUsual is where the limiter on the exchanger's water trips, °C: 95–110 °C are usual (common practice, no
	// source).
	overheatUsual = 100.0
	// overheatBackK is how far the water must have cooled before the limiter can be reset. Own assumption.
	overheatBackK = 20.0
	// riseLimitKS is the rise of the flow sensor that says no water moves, K/s, and riseFor how many seconds in a row.
	// 2 K/s is common practice, no source; riseFor an own assumption, so that one odd reading stops nothing.
	riseLimitKS, riseFor = 2.0, 3
	// spreadStopK is how far above the throttle's limit the spread stops the burner, K, and spreadFor for how many
	// seconds. Control throttles or stops above 30–35 K (common practice, no source); own assumptions.
	spreadStopK, spreadFor = 10.0, 5
	// standingRest is how long the burner waits after such a stop. Common practice, no source.
	standingRest = 4 * time.Minute
	// pressureBackBar is how far above the least pressure the boiler lets the burner go again. The specification of
	// the plant; common practice, no source.
	pressureBackBar = 0.2
	// railLowC and railHighC bound what a sensor in water can read, °C; railFor is how many seconds it must be outside
	// before the control believes that its wire is open or short. Own assumptions.
	railLowC, railHighC, railFor = -20.0, 115.0, 5
	// frostBackK is how far above FrostC the frost protection warms the water: 3–5 °C to 10–15 °C is usual (common
	// practice, no source).
	frostBackK = 9.0
)

// limits are what keeps the burner off apart from the set-point.
type limits struct {
	exchanger        float64       // its water, °C: the limiter's own feeler
	limited          bool          // above the flow limit, and not yet back
	restTo           time.Duration // after a stop because no water moved
	fast, wide, rail int           // seconds in a row
	short            bool          // of water: below the least pressure, and not yet back
	airless          bool          // air pressure not proved when the burner was wanted
	interlock        bool          // an external contact is open
}

// spread is flow − return as the control sees it, K; 0 where the return sensor is at a rail.
func (b *boiler) spread() float64 {
	if b.retSensor < railLowC || b.retSensor > railHighC {
		return 0
	}
	return b.flowSensor - b.retSensor
}

// count keeps the counters of what must last for some seconds. rise is that of the flow sensor in the last second, K.
func (b *boiler) count(rise float64, running bool) {
	tick := func(n *int, is bool) {
		if *n++; !is {
			*n = 0
		}
	}
	tick(&b.fast, running && rise > riseLimitKS)
	tick(&b.wide, running && b.spec.SpreadLimitK > 0 && b.spread() > b.spec.SpreadLimitK+spreadStopK)
	tick(&b.rail, b.flowSensor < railLowC || b.flowSensor > railHighC)
}

// standing tells that no water, or far too little, moves through the exchanger.
func (b *boiler) standing() bool { return b.fast >= riseFor || b.wide >= spreadFor }

// cold tells whether the frost protection asks for heat.
func (b *boiler) cold() bool {
	at := b.spec.FrostC
	if b.frost {
		at += frostBackK
	}
	return b.spec.FrostC != 0 && b.flowSensor < at
}

// look finds what blocks the burner, and takes its wish away.
func (b *boiler) look(now time.Duration, a asked, f *faults) {
	if least := b.spec.MinPressureBar; least > 0 && a.powered {
		if b.short {
			least += pressureBackBar
		}
		b.short = a.pressure < least
	}
	air, _, _ := f.blocked(now, BlockAirPressure)
	b.airless = air && !b.locked() && (b.airless || a.powered && b.want)
	b.interlock, _, _ = f.blocked(now, BlockInterlock)
	if b.want && b.blocked() {
		b.want, b.why = false, episode.EndFault
		if !b.shown() {
			b.why = episode.EndUnknown // from outside the boiler: none of its own reasons
		}
	}
}

// blocked tells that something other than a lockout holds the burner off.
func (b *boiler) blocked() bool { return b.short || b.airless || b.interlock }

// shown tells that the fault bit is up: a lockout, or a block that the boiler tells of.
func (b *boiler) shown() bool { return b.locked() || b.short || b.airless }

// block is the cause of the present block and whether it is shown; "": none.
func (b *boiler) block() (cause string, shown bool) {
	switch {
	case b.short:
		return episode.CauseLowPressure, true
	case b.airless:
		return episode.CauseAirPressure, true
	case b.interlock:
		return "interlock", false
	}
	return "", false
}

// trip locks the burner out for what cannot wait: limiter, broken sensor, air pressure that the control does not
// forgive. It tells whether it did.
func (b *boiler) trip(now time.Duration, a asked, f *faults) (h happened, tripped bool) {
	if !a.powered || b.locked() {
		return h, false
	}
	_, forever, _ := f.blocked(now, BlockAirPressure)
	var cause string
	switch {
	case b.exchanger > orUsual(b.spec.OverheatC, overheatUsual):
		cause = episode.CauseOverheat
	case b.rail >= railFor:
		cause = episode.CauseSensor
	case b.airless && forever:
		cause, b.airless = episode.CauseAirPressure, false
	default:
		return h, false
	}
	if h = b.stop(now); h.out {
		b.why = episode.EndFault
	}
	h.locked = true
	b.enter(phaseLocked, now)
	b.lock(now, cause, f)
	return h, true
}
