package circulation

import (
	"fmt"
	"math"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/analyse/water"
)

const (
	// littleShare is the share of the design's flow rate below which so little water moves that short burns cannot be told
	// from ones without. Own proposal. cycleMost is the longest time from one firing to the next that is reckoned with: in
	// longer pauses the pump may rest. Own proposal.
	littleShare, cycleMost = 1.0 / 3, 30 * time.Minute
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
	for i := range len(firings) - 1 {
		if littleWaterMoved(p, firings[i], firings[i+1]) {
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
	return fmt.Sprintf("in %d of %s the return did not answer before the burner went off, and what the burner gave left with less than a third of the design's water, by the heat of each cycle: short burns with little water cannot be told from burns with none",
		w.little, analyse.Count(firings, "heating firing")) + settle
}

// littleWaterMoved tells whether from a short firing to the next, with the return as it was, little water moved: what the
// burner gave in the cycle left with the water.
func littleWaterMoved(p *analyse.Pass, f, next *episode.Firing) bool {
	r := f.Rise
	cycle := next.From.Sub(f.From)
	design, ok := designFlow(p.Plant)
	kw, told := output(p.Plant, f)
	if !ok || !told || !r.LaterSeen || f.Duration() > quickEnd || cycle > cycleMost || r.FlowMax-r.FlowStart < 2*alike || r.ReturnMax-r.ReturnStart > least {
		return false
	}
	burn := f.Duration().Seconds()
	return kw*burn <= littleShare*design*water.VolumeHeat60*(excess(r, burn, cycle.Seconds()-burn)+(r.FlowStart-r.ReturnMax)*cycle.Seconds())
}

// excess is the flow's excess over what it began with, summed over a burn and a pause of so many seconds, K·s: it climbs
// evenly and falls exponentially, as fast as what is left of it after two minutes tells.
func excess(r episode.Rise, burn, pause float64) float64 {
	rise := r.FlowMax - r.FlowStart
	left := min(max((r.FlowLater-r.FlowStart)/rise, 0.02), 0.98) // a step of a sensor is as much
	tau := (2 * time.Minute).Seconds() / -math.Log(left)
	return rise * (burn/2 + tau*(1-math.Exp(-pause/tau)))
}

// designFlow is the flow rate that the design heat loss needs at the design ΔT, l/s.
func designFlow(pl analyse.Plant) (float64, bool) {
	d, ok := pl.DesignDeltaT()
	if !ok || d <= 0 || !pl.DesignHeatLoss.Known {
		return 0, false
	}
	return float64(pl.DesignHeatLoss.Value) / (water.VolumeHeat60 * float64(d)), true
}
