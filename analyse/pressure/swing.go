package pressure

import (
	"fmt"
	"math"
	"slices"

	"tundish/analyse"
)

const (
	// swingLimit is where pressure follows temperature too far, bar/K: about 1.25 bar from 20 to 70 °C.
	swingLimit = 0.025
	soundBelow = 0.020 // bar/K: sound vessels of 8 l on 80 to 120 l have 0.013 to 0.023
	farSwing   = 0.035 // bar/K
	stillBelow = 0.003 // bar/K: less than any vessel that a home has gives
	leastRange = 10.0  // K of mean water temperature within a day
	smallRange = 5.0   // K that still show a slope which passes the limit by all of its error
	heldRange  = 12.0  // K that let one day stand alone
	// flowAlone is the share by which the slope is uncertain where only the flow is known: the mean of flow and return
	// moves by 0.8 to 1 times as much, as the difference grows with the heat given off.
	flowAlone = 0.2
	highFill  = 1.8 // bar at 20 °C or colder: too full
)

// Swing is the check of a pressure that follows the temperature too far.
func Swing() analyse.Check {
	return analyse.Check{
		Kind:  "pressure-swing",
		Doc:   "pressure follows water temperature further than a sound expansion vessel allows",
		Needs: needs,
		Criteria: []analyse.Criterion{
			{Name: "pressure rises with mean water temperature by", Value: swingLimit, Unit: "bar/K", Source: "own proposal: above what vessels of 8 l on 80 to 120 l give (0.013 to 0.023 by Boyle's law and the density of water, IAPWS-IF97), below that of a flat one (0.040)"},
			{Name: "sound up to", Value: soundBelow, Unit: "bar/K", Source: "own proposal, as above"},
			{Name: "needs action from", Value: farSwing, Unit: "bar/K", Source: "own proposal: from 1.2 bar the safety valve's 3 bar within 50 K"},
			{Name: "no pressure of a sealed system moves by less than", Value: stillBelow, Unit: "bar/K", Source: "own proposal: a vessel of 40 l on 100 l gives about that (Boyle's law)"},
			{Name: "range of mean water temperature within a day needed", Value: leastRange, Unit: "K", Source: "own proposal"},
			{Name: "range that is enough where the slope passes the limit by all of its error", Value: smallRange, Unit: "K", Source: "own proposal"},
			{Name: "range that lets one day stand alone", Value: heldRange, Unit: "K", Source: "own proposal"},
			{Name: "where only the flow is known, the slope may be off by", Value: flowAlone, Source: "own proposal: the difference of flow and return grows with the heat given off"},
			{Name: "the system is too full from, cold", Value: highFill, Unit: "bar", Source: "common practice, no source: 1.0 to 1.5 bar cold"},
			{Name: "a safety valve weeps from", Value: nearRelief, Unit: "bar", Source: "common practice, no source; it lifts at 3 bar (installation manuals that cite BS 7074-1)"},
		},
		Run: swing,
	}
}

func swing(p *analyse.Pass) {
	s := gather(p, false)
	if len(s.cells) == 0 {
		p.NotAssessable("pressure and water temperature were never known together while the heating's water moved for ten minutes: read both from the bus, or clip probes on flow and return, and leave the logger on through heating")
		return
	}
	s = lasting(s)
	if mayHeatStore(p) {
		s.cells = withoutStore(p, s)
	}
	days := slopes(s)
	if len(days) == 0 {
		p.NotAssessable(fmt.Sprintf("on no day did the mean of flow and return move by %.0f K after the heating's water had gone round for ten minutes: let it cool down for a night and heat up fully, once, with the logger on", smallRange))
		return
	}
	if wide := slices.DeleteFunc(slices.Clone(days), func(d daySlope) bool { return d.ranged < leastRange }); len(wide) > 0 {
		days = wide
	}
	m := weigh(days, s.flowOnly)
	p.Measured("pressure by mean water temperature", "%.4f ± %.4f bar/K by %s together, %.4f on the steepest", m.slope, m.error, analyse.Count(len(days), "day"), m.steepest.slope)
	p.Measured("by day", "%s", m.told)
	p.Measured("range of mean water temperature", "up to %.0f K within a day", m.widest)
	p.Measured("steps of the sensor", "%.2f bar, read every %s", s.step, analyse.Span(s.every))
	if s.flowOnly {
		p.LeftOpen("flow without return", "the mean may move less than the flow: the slope may be up to %.0f %% higher; a probe on the return would tell", 100*flowAlone)
	}
	if s.unsure {
		p.LeftOpen("water heated for the cylinder", "nobody says what the water was heated for; such heat lowers the slope that is seen")
	}
	worst := m.steepest
	switch {
	case m.widest < leastRange && m.slope-m.error <= swingLimit:
		p.NotAssessable(fmt.Sprintf("the mean of flow and return moved by no more than %.0f K within a day after the heating's water had gone round for ten minutes, and pressure followed by %.4f ± %.4f bar/K: let it cool down for a night and heat up fully, once, with the logger on",
			m.widest, m.slope, m.error))
	case m.slope >= swingLimit && m.slope-m.error > soundBelow, grows(p, days, m, s.flowOnly),
		worst.ranged >= heldRange && worst.slope >= swingLimit+0.5*worst.error && worst.slope-worst.error > soundBelow && (m.over >= 2 || len(days) <= 2):
		p.RuledOut("a wide range of temperature", "the slope is by kelvin")
		p.RuledOut("a leak, or water let in", "slopes are taken within days and between steps; pressure moves with the water within hours")
		p.Found(swingFinding(p, s, days, m))
	case s.step == 0, m.slope+m.error/2 < stillBelow, m.slope < stillBelow && m.error > stillBelow:
		p.NotAssessable(fmt.Sprintf("pressure hardly moves while the water warms by %.0f K: the sensor is stuck, its steps are too coarse, or the system is not a sealed one. Read a gauge cold and hot and hold it against the sensor", m.widest))
	case s.upDays >= topUps && len(s.ups) > s.days/2 && m.slope+m.error > soundBelow:
		p.NotAssessable(fmt.Sprintf("pressure follows the water's mean temperature by %.4f ± %.4f bar/K, near the limit, and water was let in %s: each time the vessel holds less gas. Leave the filling loop shut for two days with the heating on",
			m.slope, m.error, analyse.Times(len(s.ups))))
	case m.slope+m.error < swingLimit && (worst.slope < swingLimit+worst.error) && !(s.unsure && s.flowOnly):
		p.Clear(fmt.Sprintf("pressure follows the water's mean temperature by %.4f ± %.4f bar/K, as with a sound vessel", m.slope, m.error))
	default:
		p.NotAssessable(fmt.Sprintf("pressure follows the water's mean temperature by %.4f ± %.4f bar/K: with steps of %.2f bar over %.0f K that is neither sound nor too far. Let the heating go from cold to fully hot once with the logger on, or read a gauge at both ends",
			m.slope, m.error, s.step, m.widest))
	}
}

// grows tells whether the slope passed the limit within the record: the vessel loses its gas while the logger watches.
// The later half of the days must be over the limit, and steeper than the earlier half by more than both errors.
func grows(p *analyse.Pass, days []daySlope, m weighed, flowOnly bool) bool {
	const least = 4 // days: two against two
	if len(days) < least || m.over < 2 {
		return false
	}
	early, late := weigh(days[:len(days)/2], flowOnly), weigh(days[(len(days)+1)/2:], flowOnly) // an odd day in the middle is neither
	if late.over < 2 || late.slope < swingLimit || late.slope-early.slope <= math.Hypot(early.error, late.error) {
		return false
	}
	p.Measured("growth", "%.4f ± %.4f bar/K in the record's earlier half, %.4f ± %.4f in the later", early.slope, early.error, late.slope, late.error)
	return true
}
