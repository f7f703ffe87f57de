package episode

import (
	"cmp"
	"math"
	"slices"
	"time"
)

// Where flow and return are all there is, a cylinder's reheat shows in how far they lie apart. Radiators give by the
// law of EN 442, so that flow − return goes with the 1.3th power of the water's excess over the room, whatever the
// weather; a coil in a store that is warm already takes far less from water as hot as that. The firings of a record
// then fall into two groups with nothing between.
const (
	// emitterExponent is that of panel radiators (EN 442, usual value); a heated floor's is near 1.1.
	emitterExponent = 1.3
	// reheatRoom is the room temperature for the excess, °C. Own assumption; it matters little.
	reheatRoom = 20.0
	// judgedFrom is the shortest firing whose end is near enough to a steady state. Own proposal.
	judgedFrom = 5 * time.Minute
	// groupsApart is how far the two groups must lie apart, as a ratio of flow − return at the same excess, and
	// groupWidth how wide the reheats' may be. Own proposals: coils and radiators of a house differ by three and more.
	groupsApart, groupWidth = 2.2, 1.6
	// storeFlow is the least flow temperature at which a store is reheated, °C: 60 °C stored (HSG274) wants more, a
	// store kept cool by a heat pump less. reheatLongest is the longest reheat. Own proposals.
	storeFlow, reheatLongest = 50.0, 150 * time.Minute
	// reheatsLeast is the least number of firings in each group. Own proposal.
	reheatsLeast = 2
)

// spreadShare is flow − return at the firing's end as the logarithm of its share of what the emitters' law gives at
// the same water temperature; false: it cannot be judged.
func (f *Firing) spreadShare() (float64, bool) {
	excess := f.FlowEnd - f.DeltaEnd/2 - reheatRoom
	if !f.FlowSeen || !f.DeltaSeen || f.DeltaEnd <= 0 || excess <= 1 || f.Duration() < judgedFrom || f.Cut || f.Open {
		return 0, false
	}
	return math.Log(f.DeltaEnd) - emitterExponent*math.Log(excess), true
}

// useByWater tells reheats from heating by flow and return alone, at a plant with a cylinder where nothing else tells.
func (b *Builder) useByWater() {
	if b.cfg.Draws != Reheat || b.reheats.seen {
		return
	}
	type judged struct {
		*Firing
		share float64
	}
	var all []judged
	for i := range b.firings {
		f := &b.firings[i]
		if f.Basis != ByShape || f.UseKnown {
			continue
		}
		if share, ok := f.spreadShare(); ok {
			all = append(all, judged{f, share})
		}
	}
	slices.SortFunc(all, func(x, y judged) int {
		return cmp.Or(cmp.Compare(x.share, y.share), x.From.Compare(y.From))
	})
	widest, split := 0.0, 0
	for i := 1; i < len(all); i++ {
		if gap := all[i].share - all[i-1].share; gap > widest {
			widest, split = gap, i
		}
	}
	low, high := all[:split], all[split:]
	if len(low) < reheatsLeast || len(high) < reheatsLeast || widest < math.Log(groupsApart) ||
		low[len(low)-1].share-low[0].share > math.Log(groupWidth) {
		return
	}
	for _, f := range low {
		if f.FlowEnd < storeFlow || f.Duration() > reheatLongest {
			return
		}
	}
	for _, f := range low {
		f.Use, f.UseKnown = HotWater, true
	}
	for _, f := range high {
		f.Use, f.UseKnown = Heating, true
	}
}
