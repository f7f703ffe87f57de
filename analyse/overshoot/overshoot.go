// Package overshoot judges how far the flow runs past its set-point when the burner starts.
package overshoot

import (
	"cmp"
	"fmt"
	"slices"

	"tundish/analyse"
	"tundish/decode"
)

const kind = "flow-overshoot"

// Check is the check.
func Check() analyse.Check {
	return analyse.Check{
		Kind: kind,
		Doc:  "flow runs well past its set-point after most starts",
		Needs: []analyse.Need{
			{Points: []decode.Point{decode.FlowSetpoint}, Say: "no flow set-point: it needs the boiler's bus, or the controller's set-point in a file"},
			{Points: []decode.Point{decode.Flow}, Say: "no flow temperature: read it from the bus, or clip a probe on the flow"},
			{Points: []decode.Point{decode.Flame}, Say: "no flame signal, so that starts cannot be told: it needs the boiler's bus or a flame contact"},
		},
		Criteria: criteria(),
		Run:      run,
	}
}

func run(p *analyse.Pass) {
	w := readWitness(p)
	starts, left := collect(p, w)
	every, seldom := w.seldom(p)
	if left.doubted > 0 && len(starts) < leastBurns && len(left.unknown) < leastBurns {
		p.NotAssessable(fmt.Sprintf("the flow's sensor is not to be relied on (%s): see to it, then judge again", cmp.Or(w.ownOut, w.otherOut)))
		return
	}
	unknown := left.unknownUse > len(starts)
	if unknown && none(left.unknown) && !someStand(p, left.unknown) {
		starts = append(starts, left.unknown...) // for whatever use, they keep to the set-point
		slices.SortFunc(starts, func(a, b start) int { return a.From.Compare(b.From) })
	} else if unknown && evenly(p, left.unknown) {
		starts = left.unknown
	} else if unknown {
		p.NotAssessable(fmt.Sprintf("of %s the record does not say whether they were for heating or for hot water: it needs the bus's hot-water flag, or a probe on the cylinder",
			analyse.Count(left.unknownUse, "firing")))
		return
	}
	if len(starts) < leastBurns && (len(starts) < leastClear || !noneOver(starts)) {
		p.NotAssessable(fmt.Sprintf("%s could be held against the set-point, %d are needed: leave the logger on through more heating",
			analyse.Count(len(starts), "heating start"), leastBurns))
		return
	}
	all := measure(starts)
	starts = ofTheirOwn(p, starts)
	m := measure(starts)
	p.Measured("excess", "median %.1f K above the highest set-point in force, %.0f %% of %d heating starts by %.0f K or more", m.median, 100*m.share, len(starts), overK)
	if m.bothSeen > 0 {
		p.Measured("second sensor of the flow", "peaks %.1f K above the one of the source that gives the set-point", m.apart)
	}
	p.Measured("starts at which next to no water moved", "%.0f %% of %d", 100*m.standing, len(starts))
	left.tell(p)
	switch {
	case m.share > mostShare && m.apart < -apartK && !w.agrees():
		p.NotAssessable(fmt.Sprintf("the flow passes its set-point by %.1f K by one sensor, but a second sensor of the same flow peaks %.1f K lower: which of them is right must be settled first (compare both with a thermometer of known error at steady flow)",
			m.median, -m.apart))
	case m.share > mostShare && m.overStill >= mostShare && all.share <= mostShare:
		p.NotAssessable(fmt.Sprintf("the flow passes its set-point by %.0f K or more at %.0f %% of the starts, at most of them while next to no water moves: that is no-circulation's matter. See that the water moves, then judge again", overK, 100*m.share))
	case m.share > mostShare:
		p.Found(describe(p, starts, m))
	case m.otherShare > mostShare && m.apart >= apartK:
		bySecond(p, starts, m, w)
	case m.standing >= mostShare:
		p.NotAssessable(fmt.Sprintf("at %.0f %% of the starts flow and return end %.0f K or more apart, or the flow shoots up in a short burn and the return never answers: next to no water moves, and a sensor on water that stands does not follow what the burner makes of it. See that the water moves (no-circulation), then judge again",
			100*m.standing, standingK))
	case mayFlatten(p, starts, m, w):
	case seldom && m.median > usualK:
		p.NotAssessable(fmt.Sprintf("by its readings the flow peaks %.1f K above its set-point in the median of %s, but it was read every %s only, and its peaks lie between the readings: they may reach the %.0f K that count. Read the flow every %s or more often",
			m.median, analyse.Count(len(starts), "heating start"), analyse.Span(every), overK, analyse.Span(readEvery)))
	case interval(p) > readEvery && m.brief:
		p.NotAssessable(fmt.Sprintf("no overshoot was seen, but the flow was read every %s only: the peak of a short burn can be missed. Read it every %s or more often, or clip on a probe",
			analyse.Span(interval(p)), analyse.Span(readEvery)))
	default:
		p.Clear(fmt.Sprintf("the flow peaks %.1f K above its set-point in the median of %s", m.median, analyse.Count(len(starts), "heating start")))
	}
}
