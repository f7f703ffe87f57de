// Package deltat judges the settled difference of flow and return against the design difference.
//
// A difference says something of the water flow only beside the heat that went with it: on one flow rate it goes with
// output, so that mild weather or a burner turned down makes it small on a sound circuit. What is judged is therefore
// the difference as it was and what the same water flow would give at the design output. Where the output is not
// known, the emitters tell it: by EN 442 they give heat with a power of the water's excess over the room.
package deltat

import (
	"fmt"
	"time"

	"tundish/analyse"
	"tundish/decode"
)

var needs = []analyse.Need{
	{Points: []decode.Point{decode.Flow}, Say: "no flow temperature: clip a probe on the flow, or read it from the bus"},
	{Points: []decode.Point{decode.Return}, Say: "no return temperature: clip a probe on the return, or read it from the bus"},
}

// Low is the check for a difference well below design.
func Low() analyse.Check {
	return analyse.Check{Kind: "low-delta-t", Needs: needs, Doc: "settled flow-return difference well below design",
		Criteria: append(lowCriteria(), common()...), Run: func(p *analyse.Pass) { judge(p, low) }}
}

// High is the check for a difference well above design.
func High() analyse.Check {
	return analyse.Check{Kind: "high-delta-t", Needs: needs, Doc: "settled flow-return difference well above design",
		Criteria: append(highCriteria(), common()...), Run: func(p *analyse.Pass) { judge(p, high) }}
}

// judge measures, and lets one side of the question be answered.
func judge(p *analyse.Pass, ask func(*analyse.Pass, *measured, float64) answer) {
	design, known := p.Plant.DesignDeltaT()
	if known && design <= 0 {
		p.NotAssessable("the job sheet's design flow is not above its design return")
		return
	}
	all, why := measure(p)
	if why != "" {
		p.NotAssessable(why)
		return
	}
	best := all[0]
	best.tell(p)
	if best.median < -best.error {
		p.NotAssessable(negative(best))
		return
	}
	if !known {
		design = 0
	}
	a := ask(p, best, float64(design))
	if a.outcome != analyse.NotAssessable {
		if other := disagreeing(all); other != nil {
			if b := ask(nil, other, float64(design)); b.outcome != a.outcome {
				p.LeftOpen("the sensors", "%s says %.1f K, %s says %.1f K of the same firings", best.source, best.median, other.source, other.median)
				p.NotAssessable(apart(best, other))
				return
			}
		}
	}
	if share := seen(p); a.outcome == analyse.Clear && share < seenShare {
		a = answer{because: fmt.Sprintf("nothing was found, but firings could be told in %.0f %% of the record only; %.0f %% are needed to call it clear", 100*share, 100*seenShare)}
	}
	a.give(p)
}

// seenShare is the share of the record in which firings must have been told before it is called clear.
const seenShare = 0.8

// seen is the share of the record in which firings could be told: by the flame's readings, or by the sights.
func seen(p *analyse.Pass) float64 {
	total := p.Facts.To.Sub(p.Facts.From)
	for _, g := range p.Facts.Gaps {
		total -= g.Duration()
	}
	told := time.Duration(0)
	for _, s := range p.Facts.Sights {
		if s.Basis != "" {
			told += s.Duration()
		}
	}
	return max(p.Share(decode.Flame), float64(told)/float64(max(total, 1)))
}

// answer is what one side says of one source's figures.
type answer struct {
	outcome analyse.Outcome
	because string
	finding analyse.Finding
}

func (a answer) give(p *analyse.Pass) {
	switch a.outcome {
	case analyse.Found:
		p.Found(a.finding)
	case analyse.Clear:
		p.Clear(a.because)
	default:
		p.NotAssessable(a.because)
	}
}
