package sensors

import (
	"fmt"
	"math"
	"time"

	"tundish/analyse"
	"tundish/decode"
)

const (
	// leastSpikes in [spell], and spikesADay on average over the record, are how many single values far off their neighbours
	// make a fault. Own proposal: a knock, a hand or one odd start make a few.
	leastSpikes, spikesADay = 5, 2.0
	// spikesShare is the share of readings from which such values are no poor connection, which is right most of the time, but
	// may be a burner that fires for seconds. Own proposal.
	spikesShare = 0.03
	// leastBlank is how long a sensor must have given no number for that to matter. Own proposal: a word in a table may
	// just as well mean that nobody asked.
	leastBlank = 15 * time.Minute
	// deadProbe is what thermometer software writes for a 1-Wire probe that does not answer, °C (common practice, no
	// source), and deadNear how near it is met, an offset in the job sheet or a unit's rounding added.
	deadProbe, deadNear = -127.0, 13.0
	// nearSeen is how far outside what a sensor else gave a value may be that lost its decimal point, K. Own proposal.
	nearSeen = 10.0
)

// span is how much a sensor gave, in words.
func (r *record) span() string {
	if r.n == 0 {
		return "no reading"
	}
	return fmt.Sprintf("%s, %.4g to %.4g %s", analyse.Count(r.n, "reading"), r.low, r.high, r.Point.Unit())
}

// spiked tells of single values far off the line of their neighbours, in readings so far apart that nobody saw how
// fast they came.
func (r *record) spiked(p *analyse.Pass, name string) (fault, bool) {
	if !r.spiky(p) || r.jumps.spell >= leastJumps || r.taps(p) || r.regular() {
		return fault{}, false
	}
	return fault{record: r, how: "spikes", n: r.spikes.n, severity: r.gravity(p),
		what: fmt.Sprintf("%s gave single values up to %.3g K off those before and after %s, the other pipe being still", name,
			math.Abs(r.spikes.most), analyse.Times(r.spikes.n)),
		evidence: r.spikes.evidence(r.Point, "single value")}, true
}

func (r *record) spiky(p *analyse.Pass) bool {
	days := p.Facts.To.Sub(p.Facts.From).Hours() / 24
	return r.spikes.spell >= leastSpikes && float64(r.spikes.n) >= spikesADay*max(1, days)
}

func (r *record) regular() bool { return float64(r.spikes.n) > spikesShare*float64(r.n) }

// taps tells whether hot water is made by the way and nobody tells when: a plate's water may do in half a minute what a
// poor connection does.
func (r *record) taps(p *analyse.Pass) bool {
	return p.Plant.HotWater != analyse.NoHotWater && p.Plant.HotWater != analyse.CylinderHotWater && !p.Has(decode.HotWaterActive)
}

// untold says what was seen of a sensor that may be a fault or not; empty: nothing.
func (r *record) untold(p *analyse.Pass) string {
	name := called(p, r.Series)
	switch {
	case r.spiky(p) && (r.taps(p) || r.regular()) && r.jumps.spell < leastJumps:
		return fmt.Sprintf("%s gave single values up to %.3g K off those before and after %s: a tap's water or burns of seconds may do that, or a poor connection; read it every 5 s, and log the flame and when hot water is made",
			name, math.Abs(r.spikes.most), analyse.Times(r.spikes.n))
	case r.blankFor >= leastBlank && r.n > 0:
		return fmt.Sprintf("%s gave something that is no number, %s in all: a sensor that did not answer, or a word for a reading not taken: look what wrote the file, and at the sensor's plug",
			name, analyse.Span(r.blankFor))
	case r.beyond.n > 0 && r.n == 0 && !r.dead() && !isBus(p, r.Source): // of an appliance: a sensor that is not fitted
		return fmt.Sprintf("%s gave %.6g %s and nothing else: no sensor may be connected there; look at the plug, or leave the column out", name, r.beyond.most, r.Point.Unit())
	}
	return ""
}

// dead tells whether the value is what stands for a 1-Wire probe that does not answer.
func (r *record) dead() bool {
	return r.Point.Temperature() && math.Abs(r.beyond.most-deadProbe) < deadNear
}

// impossible tells of numbers that the point cannot have at all.
func (r *record) impossible(p *analyse.Pass, name string) (fault, bool) {
	if r.beyond.n < leastRails && r.beyondFor < leastRail || r.n == 0 && (!r.dead() || isBus(p, r.Source)) {
		return fault{}, false
	}
	return fault{record: r, how: "impossible", n: r.beyond.n, severity: r.gravity(p),
		what:     fmt.Sprintf("%s gave %.6g %s %s, which cannot be", name, r.beyond.most, r.Point.Unit(), standing(r.beyondFor, r.beyond.n)),
		evidence: r.beyond.evidence(r.Point, "cannot be")}, true
}

// impossibleCauses tells a probe that does not answer from a number that was written down wrongly.
func (f *fault) impossibleCauses() []analyse.Cause {
	v := f.beyond.most
	open := analyse.Cause{Cause: "open-circuit", Support: 0.6, Because: fmt.Sprintf("%.6g %s stands for no value: the sensor did not answer, or its lead is open", v, f.Point.Unit()),
		Settle: "look at plug and lead, and exchange the probe with a sound one: does the fault move with it?"}
	loose := analyse.Cause{Cause: "loose-connector", Support: 0.5, Because: "a plug or a joint that lets go reads like that, and comes back", Settle: wiggle}
	failing := analyse.Cause{Cause: "probe-failing", Support: 0.45, Because: "the probe itself may have stopped answering", Settle: "exchange it with a sound probe: does the fault move with it?"}
	switch {
	case f.dead():
		open.Support, open.Because = 0.8, fmt.Sprintf("%.6g °C is what thermometer software writes for a 1-Wire probe that does not answer", v)
	case f.lostPoint(v):
		return []analyse.Cause{{Cause: "decimal-point-lost", Support: 0.75, Because: fmt.Sprintf("%.6g would be %.4g or %.4g with a decimal point, as the sensor else gives", v, v/10, v/100),
			Settle: "look at what wrote the file, and bring the readings in anew"}, open}
	}
	return []analyse.Cause{open, loose, failing}
}

// lostPoint tells whether a value is near what else was seen once it has a decimal point.
func (f *fault) lostPoint(v float64) bool {
	for _, by := range []float64{10, 100} {
		if x := v / by; f.n > 0 && f.record.n > 0 && x > 0 && x >= f.low-nearSeen && x <= f.high+nearSeen {
			return v != 999 && v != 9999 && v != 999.9
		}
	}
	return false
}

// standing says how often, and for how long in all where that is more than moments.
func standing(d time.Duration, n int) string {
	if d < leastRail {
		return analyse.Times(n)
	}
	return analyse.Times(n) + " (" + analyse.Span(d) + " in all)"
}
