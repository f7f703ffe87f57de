package pressure

import (
	"math"

	"tundish/analyse"
)

const (
	// underBar is how far under the line of its day a reading may lie, bar, before its water is taken for another's: a
	// cylinder heated without the appliance knowing. Own proposal; the sensor's step comes on top.
	underBar = 0.08
	// mostAbove is the share of a day's time that may lie above the line of its day. Own proposal: of sensors that lag.
	mostAbove = 0.05
	// mostStore is the largest share of a day's time that a cylinder may take. More than usualStore is only believed
	// where what is left has a range of its own and lies on a line, better than what was left out. Own proposals.
	usualStore, mostStore = 0.4, 0.65
)

// mayHeatStore tells whether water at the appliance may be hot while the heating's is cold: with two zone valves the
// appliance fires for a cylinder and does not know it.
func mayHeatStore(p *analyse.Pass) bool {
	return p.Plant.HotWater == analyse.CylinderHotWater || p.Plant.HotWater == analyse.HotWaterUnknown
}

// withoutStore leaves out cells that lie under the line of their day and epoch. Only a cylinder does that: the
// appliance's pipes are hot, and the bulk of the water is not.
func withoutStore(p *analyse.Pass, s series) []cell {
	var out []cell
	left, total := 0.0, 0.0
	for i := 0; i < len(s.cells); {
		j := i
		for j < len(s.cells) && s.cells[j].day == s.cells[i].day && s.cells[j].epoch == s.cells[i].epoch {
			j++
		}
		kept := uppermost(s.cells[i:j], underBar+s.step)
		for _, c := range s.cells[i:j] {
			total += c.weight
		}
		for _, c := range kept {
			left += c.weight
		}
		out = append(out, kept...)
		i = j
	}
	if total > 0 && left < total {
		p.RuledOut("water heated for a cylinder unseen", "%.0f %% of the time lies under the line of its day, as where only the appliance's pipes are hot; it is left out", 100*(1-left/total))
	}
	return out
}

// uppermost leaves out what lies under the line of its day: pressure cannot be higher than the water's warmth makes it,
// but lower where not all water is as warm.
func uppermost(cells []cell, within float64) []cell {
	const fewest = 4
	if len(cells) < fewest {
		return cells
	}
	level, slope, ok := upperLine(cells, within)
	if !ok {
		return cells
	}
	var kept []cell
	for _, c := range cells {
		if c.bar >= level+slope*c.water-within {
			kept = append(kept, c)
		}
	}
	if len(kept) < fewest {
		return cells
	}
	switch left := 1 - weightOf(kept)/weightOf(cells); {
	case left <= usualStore, left <= mostStore && rangeOf(kept) >= heldRange:
		return kept
	}
	return cells
}

// upperLine is the line through two of the cells that the most time lies near, of those with next to none above.
func upperLine(cells []cell, within float64) (level, slope float64, ok bool) {
	whole, best := weightOf(cells), 0.0
	for i, a := range cells {
		for _, b := range cells[i+1:] {
			if math.Abs(a.water-b.water) < smallRange {
				continue
			}
			k := (b.bar - a.bar) / (b.water - a.water)
			l := a.bar - k*a.water
			if k < 0 {
				continue
			}
			above, near := 0.0, 0.0
			for _, c := range cells {
				switch d := c.bar - l - k*c.water; {
				case d > within:
					above += c.weight
				case d >= -within:
					near += c.weight * (1 - d*d/(within*within)) // of two lines the nearer
				}
			}
			if above <= mostAbove*whole && near > best {
				level, slope, best, ok = l, k, near, true
			}
		}
	}
	return level, slope, ok
}

func weightOf(cells []cell) (sum float64) {
	for _, c := range cells {
		sum += c.weight
	}
	return sum
}

func rangeOf(cells []cell) float64 {
	low, high := cells[0].water, cells[0].water
	for _, c := range cells {
		low, high = min(low, c.water), max(high, c.water)
	}
	return high - low
}
