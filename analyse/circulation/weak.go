package circulation

import (
	"fmt"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/analyse/water"
)

const (
	// littleShare is the share of the design's flow rate below which so little water moves that short burns cannot be told
	// from ones without. Own proposal.
	littleShare = 0.3
	// weakShare is the share of all firings that must be so for clear not to be said, weakLeast how many there must be. Own
	// proposal.
	weakShare, weakLeast = 0.5, 10
)

// weak is what speaks against saying clear.
type weak struct {
	stretches, dead int // runs in which no firing moved water as far as can be told, but more heat went than an exchanger takes; their firings
	little          int // firings with so little water that its return stayed as it was
}

func weakOf(p *analyse.Pass, firings []*episode.Firing, bouts []bout) (w weak) {
	for _, b := range bouts {
		if b.verdict == unclear && len(b.dead) >= restarts && 2*len(b.dead) >= len(b.firings) && !b.wrong {
			w.stretches++
			w.dead += len(b.dead)
		}
	}
	for _, f := range firings {
		if littleWaterMoved(p, f) {
			w.little++
		}
	}
	return w
}

// doubtful tells whether clear must not be said.
func (w weak) doubtful(firings int) bool {
	return w.stretches > 0 || w.little >= weakLeast && float64(w.little) >= weakShare*float64(firings)
}

func (w weak) words(firings int) string {
	const settle = ". A look at the pump and the valves while it burns, or a flow meter, would settle it"
	if w.stretches > 0 {
		return fmt.Sprintf("in %s, %s in all, the flow rose fast and the return did not answer, but the burner ran for longer than an exchanger alone takes: some water moved, or little, or it came and went",
			analyse.Count(w.stretches, "run"), analyse.Count(w.dead, "firing")) + settle
	}
	return fmt.Sprintf("in %d of %s the flow rose by so much that less than %.0f %% of the design's water can have moved, and the return did not answer before the burner went off: short burns with little water cannot be told from burns with none",
		w.little, analyse.Count(firings, "heating firing"), 100*littleShare) + settle
}

// littleWaterMoved tells whether a short firing can have moved little water at the most: what moves takes no more than the
// burner's heat with it, so that the rate is at most output / (c·ρ·spread).
func littleWaterMoved(p *analyse.Pass, f *episode.Firing) bool {
	r := f.Rise
	design, ok := designFlow(p.Plant)
	if kw, told := output(p.Plant, f); ok && told && f.Duration() <= quickEnd && r.FlowMax-r.FlowStart >= 2*alike && r.ReturnMax-r.ReturnStart <= least {
		return kw <= littleShare*design*water.VolumeHeat60*(r.FlowMax-r.ReturnMax)
	}
	return false
}

// designFlow is the flow rate that the design heat loss needs at the design ΔT, l/s.
func designFlow(pl analyse.Plant) (float64, bool) {
	d, ok := pl.DesignDeltaT()
	if !ok || d <= 0 || !pl.DesignHeatLoss.Known {
		return 0, false
	}
	return float64(pl.DesignHeatLoss.Value) / (water.VolumeHeat60 * float64(d)), true
}
