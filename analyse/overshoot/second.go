package overshoot

import (
	"fmt"

	"tundish/analyse"
)

// bySecond answers where only a second sensor shows the overshoot: one of the two is wrong. Where the own flow sensor
// comes out no warmer than the return although the burner burns, or reads below it when water stands, it is the one that
// reads low.
func bySecond(p *analyse.Pass, starts []start, m measured, w witness) {
	d := deltas(w.own, starts)
	p.Measured("flow less return while the burner burns", "%.1f K by the source of the set-point, %.1f K by the other", d.own, d.other)
	r := readRests(p)
	firing := d.seen && d.other > 0 && d.own <= max(lowOwn*d.other, float64(p.DeltaError(d.source))) && !d.otherWide(p)
	if r.ownLow(m.apart) || w.ownWrong && !r.otherHigh(m.apart) || firing && !r.otherHigh(m.apart) {
		m.atRest = r
		m.median, m.share, m.ownLow = m.otherMedian, m.otherShare, true
		p.Found(describe(p, starts, m))
		return
	}
	if r.otherHigh(m.apart) {
		p.RuledOut("the second sensor of the flow", "it reads %.1f K above its return after a long rest too, when water stands as warm in both pipes: it reads high", r.other)
		p.Clear(fmt.Sprintf("by the appliance's own sensor the flow peaks %.1f K above its set-point in the median of %s; a second sensor peaks %.1f K higher, but reads as much too high at rest",
			m.median, analyse.Count(len(starts), "heating start"), m.apart))
		return
	}
	p.NotAssessable(fmt.Sprintf("by the appliance's own sensor the flow keeps to its set-point, by a second sensor it passes it by %.1f K: which of them is right must be settled first (compare both with a thermometer of known error at steady flow)",
		m.otherMedian))
}

// lowOwn is the share of the other pair's difference from which the own pair's is too small to be true. Own proposal.
const lowOwn = 0.35

// bothDeltas are the medians of settled flow less return by the source that gives the set-point and by any other, K.
type bothDeltas struct {
	source     string
	own, other float64
	seen       bool // both
}

func deltas(own string, starts []start) bothDeltas {
	d := bothDeltas{source: own}
	var mine, others []float64
	for _, s := range starts {
		for _, x := range s.Settled {
			if x.Source == d.source {
				mine = append(mine, x.Mean)
			} else {
				others = append(others, x.Mean)
			}
		}
	}
	d.own, d.other, d.seen = median(mine), median(others), len(mine) > 0 && len(others) > 0
	return d
}

// otherWide tells whether the other pair's difference is wider than the design allows: then its flow may read high.
func (d bothDeltas) otherWide(p *analyse.Pass) bool {
	design, ok := p.Plant.DesignDeltaT()
	return ok && d.other > 1.25*float64(design)
}
