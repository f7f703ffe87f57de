package deltat

import (
	"cmp"
	"math"
	"slices"
	"time"

	"tundish/analyse"
)

// Where nobody says what a firing was for, a store's reheat shows in its difference: a coil takes far less from hot
// water than radiators do, as long as the store is warm. The firings then fall into two groups with nothing between.
const (
	groupsApart  = 2.2
	storeFlow    = 55.0 // °C
	longestStore = 150 * time.Minute
	// fewestGroup is the least number of firings in a group. Own proposal.
	fewestGroup = 2
	// sameSide is the share of burning that must speak the same where its use is not known.
	sameSide = 0.75
)

// sortUse leaves out the firings that were reheats, where nobody says which they were.
func (m *measured) sortUse(p *analyse.Pass) {
	if p.Plant.HotWater == analyse.NoHotWater || !slices.ContainsFunc(m.parts, func(x part) bool { return !x.useKnown }) {
		return
	}
	// Water that never came to what a store asks for was not for it.
	cool := slices.DeleteFunc(slices.Clone(m.parts), func(x part) bool { return !x.useKnown && x.flowMax >= storeFlow })
	if counted(cool) >= 2*leastSettled {
		m.reheats = len(m.parts) - len(cool)
		m.parts = cool
		return
	}
	if low, high, ok := groups(m.parts); ok {
		m.reheats, m.parts = len(low), high
		return
	}
	m.useOpen = true
}

// groups parts firings that may have been a store's reheats from those that were not.
func groups(parts []part) (low, high []part, ok bool) {
	load := func(x part) float64 { // of a radiator's law, as a logarithm
		return math.Log(max(x.k, 0.1)) - panelExponent*math.Log(max(x.flow-x.k/2-usualRoom, 1))
	}
	sorted := slices.Clone(parts)
	slices.SortStableFunc(sorted, func(x, y part) int { return cmp.Compare(load(x), load(y)) })
	widest, split := 0.0, 0
	for i := 1; i < len(sorted); i++ {
		if gap := load(sorted[i]) - load(sorted[i-1]); gap > widest {
			widest, split = gap, i
		}
	}
	low, high = sorted[:split], sorted[split:]
	if len(low) < fewestGroup || len(high) < fewestGroup || widest < math.Log(groupsApart) {
		return nil, nil, false
	}
	for _, x := range low {
		if x.flowMax < storeFlow || x.whole > longestStore {
			return nil, nil, false
		}
	}
	high = slices.Clone(high)
	slices.SortStableFunc(high, func(x, y part) int { return x.from.Compare(y.from) })
	return low, high, true
}

// agree is the share of burning of which a word holds.
func (m *measured) agree(holds func(part) bool) float64 {
	var yes time.Duration
	for _, x := range m.parts {
		if holds(x) {
			yes += x.counts
		}
	}
	return float64(yes) / float64(max(m.total, 1))
}
