package circulation

import (
	"tundish/analyse"
	"tundish/analyse/episode"
)

// carriedOff tells whether the flow was back where the burner lit two minutes after it went off, though it stood far above
// the return then already: water that moves took the heat, and one of the two sensors reads wrong. An exchanger in
// which water stands keeps most of it.
func carriedOff(p *analyse.Pass, f *episode.Firing) bool {
	rise, left, ok := heatLeft(p, f)
	return ok && rise >= 2*least && left <= backShare*rise
}

// wentOff tells whether nearly all of a large rise was gone two minutes after a firing, also where nobody asked for heat any
// more: a pump that overruns carries it off, an exchanger in which water stands keeps it. Hot water would take it another way.
func wentOff(p *analyse.Pass, f *episode.Firing) bool {
	r := f.Rise
	rise := r.FlowMax - r.FlowStart
	return r.LaterSeen && rise >= leastApart && r.FlowLater-r.FlowStart <= backShare*rise && f.Use == episode.Heating &&
		f.End != episode.EndHotWater && f.End != episode.EndFault && r.FlowStart-r.ReturnStart < leastApart
}

// goneAtNext tells the same of a firing after which the burner lit again before two minutes were over: the flow stands where
// it then began.
func goneAtNext(f, next *episode.Firing) bool {
	r := f.Rise
	spread := r.FlowMax - r.ReturnMax
	return !r.LaterSeen && next.From.Sub(f.To) <= soonAgain && next.Rise.FlowSource == r.FlowSource && next.Use == f.Use &&
		spread >= leastApart && next.Rise.FlowStart-r.ReturnMax < keepsShare*spread
}

// heatLeft is by how much the flow rose in a firing that began with the flow far above the return, and how much of that
// was left two minutes after it, K. Only while heat was asked for on, so that the pump ran.
func heatLeft(p *analyse.Pass, f *episode.Firing) (rise, left float64, ok bool) {
	r := f.Rise
	rise = r.FlowMax - r.FlowStart
	return rise, r.FlowLater - r.FlowStart, r.LaterSeen && rise >= least && r.FlowStart-r.ReturnStart >= leastApart && pumpGoesOn(p, f)
}
