package pressure

import (
	"fmt"
	"math"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
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
	// sensorShare is the share by which the slope is uncertain for the thermometers' sake: ±0.7 K at each end of 25 to
	// 30 K (a class B resistance thermometer by IEC 60751 has 0.6 K at 60 °C).
	sensorShare = 0.03
	// toldStood is from how long on standing water is told of.
	toldStood = time.Hour
	// scatters is how far readings may scatter about the line of their day, bar, beyond the sensor's step, for the line
	// to stand for all the water. Own proposal.
	scatters = 0.08
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
			{Name: "for the thermometers' sake by", Value: sensorShare, Source: "worked out: ±0.7 K at each end of 25 to 30 K (IEC 60751, class B: 0.6 K at 60 °C)"},
			{Name: "readings scatter about the line of their day, beyond the sensor's step, by no more than", Value: scatters, Unit: "bar", Source: "own proposal: else not all water is as warm as flow and return"},
			{Name: "after water was let in on days before, or where it is steeper than each before, the last day alone counts if it passes the limit by all of its error, over", Value: heldRange, Unit: "K", Source: "own proposal"},
			{Name: "water stands where flow is above return, minutes after the burner went off, by", Value: episode.StandsApart, Unit: "K", Source: "own proposal: water that moves renews an exchanger's content within two minutes; that time is left out"},
			{Name: "the system is too full from, cold", Value: highFill, Unit: "bar", Source: "common practice, no source: 1.0 to 1.5 bar cold"},
			{Name: "a safety valve weeps from", Value: nearRelief, Unit: "bar", Source: "common practice, no source; it lifts at 3 bar (installation manuals that cite BS 7074-1)"},
		},
		Run: swing,
	}
}

func swing(p *analyse.Pass) {
	s := gather(p, false)
	if len(s.cells) == 0 {
		p.NotAssessable(s.nothing(false))
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
	if s.stood >= toldStood {
		p.RuledOut("water that stood", "for %s flow stayed far above return with the burner off, as where nothing circulates; no mean is known then, and that time is left out", analyse.Span(s.stood))
	}
	if s.unsure {
		p.LeftOpen("water heated for the cylinder", "nobody says what the water was heated for; such heat lowers the slope that is seen")
	}
	worst := m.steepest
	switch {
	case m.widest < leastRange && m.slope-m.error <= swingLimit:
		p.NotAssessable(fmt.Sprintf("the mean of flow and return moved by no more than %.0f K within a day after the heating's water had gone round for ten minutes, and pressure followed by %.4f ± %.4f bar/K: let it cool down for a night and heat up fully, once, with the logger on",
			m.widest, m.slope, m.error))
	case m.slope >= swingLimit && m.slope-m.error > soundBelow, grows(p, days, m, s.flowOnly), lately(p, s, days),
		worst.ranged >= heldRange && worst.slope >= swingLimit+0.5*worst.error && worst.slope-worst.error > soundBelow && (m.over >= 2 || len(days) <= 2):
		p.RuledOut("a wide range of temperature", "the slope is by kelvin")
		p.RuledOut("a leak, or water let in", "slopes are taken within days and between steps; pressure moves with the water within hours")
		p.Found(swingFinding(p, s, days, m))
	case s.step == 0, m.slope+m.error/2 < stillBelow, m.slope < stillBelow && m.error > stillBelow:
		p.NotAssessable(fmt.Sprintf("pressure hardly moves while the water warms by %.0f K: the sensor is stuck, its steps are too coarse, or the system is not a sealed one. Read a gauge cold and hot and hold it against the sensor", m.widest))
	case s.upDays >= topUps && len(s.ups) > s.days/2 && m.slope+m.error > soundBelow:
		p.NotAssessable(fmt.Sprintf("pressure follows the water's mean temperature by %.4f ± %.4f bar/K, near the limit, and water was let in %s: each time the vessel holds less gas. Leave the filling loop shut for two days with the heating on",
			m.slope, m.error, analyse.Times(len(s.ups))))
	case m.scatter > scatters+s.step && m.slope < swingLimit:
		p.NotAssessable(fmt.Sprintf("at one temperature of flow and return pressure differs by ±%.2f bar within a day: not all of the water was as warm as they, as where valves send it through a cylinder unseen or rooms are shut off. Record a day with the hot water off, or read a gauge cold and hot",
			2*m.scatter))
	case m.slope > soundBelow && m.error < (swingLimit-soundBelow)/2 && worst.slope+math.Hypot(worst.error, sensorShare*worst.slope) >= swingLimit:
		p.NotAssessable(fmt.Sprintf("pressure follows the water's mean temperature by %.4f ± %.4f bar/K, on the steepest day by %.4f ± %.4f: more than most sound vessels do, and too near the limit of %.3f to call it sound. Measure the vessel's pre-charge at the next service",
			m.slope, m.error, worst.slope, worst.error, swingLimit))
	case m.slope+m.error < swingLimit && (worst.slope < swingLimit+worst.error) && !(s.unsure && s.flowOnly):
		p.Clear(fmt.Sprintf("pressure follows the water's mean temperature by %.4f ± %.4f bar/K, as with a sound vessel", m.slope, m.error))
	default:
		p.NotAssessable(fmt.Sprintf("pressure follows the water's mean temperature by %.4f ± %.4f bar/K: with steps of %.2f bar over %.0f K that is neither sound nor too far. Let the heating go from cold to fully hot once with the logger on, or read a gauge at both ends",
			m.slope, m.error, s.step, m.widest))
	}
}

// lately tells whether the last day alone passes the limit by all of its error: a vessel loses its charge while the
// logger watches, and the last day is what there is. Water must have been let in on days before, as a system that loses
// gas wants it, or the day must be steeper than each before by its error; and nobody let water out on it.
func lately(p *analyse.Pass, s series, days []daySlope) bool {
	const least = 4 // days
	last, before := days[len(days)-1], 0.0
	for _, d := range days[:len(days)-1] {
		before = max(before, d.slope)
	}
	grown := len(days) >= least && last.slope-last.error > before
	if s.upDays < topUps && !grown || last.ranged < heldRange || last.slope-last.error <= swingLimit {
		return false
	}
	begins := p.Facts.Days[last.day].From
	if slices.ContainsFunc(s.downs, func(x episode.PressureStep) bool { return !x.At.Before(begins) }) {
		return false
	}
	p.Measured("the last day", "%.4f ± %.4f bar/K, the days before up to %.4f; water was let in on %s", last.slope, last.error, before, analyse.Count(s.upDays, "day"))
	return true
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
