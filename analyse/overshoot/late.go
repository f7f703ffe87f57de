package overshoot

import (
	"fmt"

	"tundish/analyse"
	"tundish/analyse/episode"
)

// A sensor that hangs off its pipe follows late and flattens a peak. It shows where the burner is off and the pump runs
// on: water that moves has carried the exchanger's heat away after two minutes, and the flow's reading still stands half
// way between where it was and the return. So does a boiler with much water, and the record cannot tell these apart.
const (
	usualK    = 6.0  // K past the set-point up to which burner thermostats go off (common practice, no source)
	lateLeast = 0.25 // of flow over return that is left after the watch: a sound sensor keeps under 0.1. Own proposal
	lateMost  = 0.75 // more of it: the water stands and keeps its heat. Own proposal
	lateDelta = 6.0  // K of flow over return at the end, from which that can be read. Own proposal
)

// keeps gives the share of flow over return that the flow's sensor still shows at the end of the watch, the median.
func keeps(starts []start) (share float64, n int) {
	var left []float64
	for _, s := range starts {
		r := s.Rise
		if !r.Seen || !r.LaterSeen || r.FlowSource != r.ReturnSource || s.End == episode.EndHotWater || !s.FlowSeen {
			continue
		}
		if d := s.FlowEnd - r.ReturnEnd; d >= lateDelta {
			left = append(left, (r.FlowLater-r.ReturnEnd)/d)
		}
	}
	return median(left), len(left)
}

// mayFlatten answers "not assessable" where the only sensor of the flow follows so late that a peak just short of the
// border may have been beyond it.
func mayFlatten(p *analyse.Pass, starts []start, m measured, w witness) bool {
	left, n := keeps(starts)
	if n < leastBurns {
		return false
	}
	p.Measured("flow two minutes after the burner stopped", "%.0f %% of its height over the return are left, in the median of %d", 100*left, n)
	if w.agrees() || left < lateLeast || left > lateMost {
		return false
	}
	if m.median < usualK {
		return false
	}
	p.NotAssessable(fmt.Sprintf("by its sensor the flow peaks %.1f K above its set-point in the median of %s, but two minutes after the burner stopped it still shows %.0f %% of its height over the return: the sensor follows late, or the boiler holds much water, and a sensor that follows late flattens the peaks. Clip a probe on the flow at the boiler and log again",
		m.median, analyse.Count(len(starts), "heating start"), 100*left))
	return true
}
