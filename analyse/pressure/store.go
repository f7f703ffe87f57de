package pressure

import (
	"slices"

	"tundish/analyse"
)

const (
	// underBar is how far under the line of its day a reading may lie, bar, before its water is taken for another's: a
	// cylinder heated without the appliance knowing. Own proposal; the sensor's step comes on top.
	underBar = 0.08
	// upper is how much more a reading above the line pulls at it than one below. Own proposal.
	upper = 9.0
	// mostStore is the largest share of a day's time that a cylinder may take. Own proposal.
	mostStore = 0.4
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

func uppermost(cells []cell, under float64) []cell {
	if len(cells) < 4 {
		return cells
	}
	weights := make([]float64, len(cells))
	whole := 0.0
	for i, c := range cells {
		weights[i] = c.weight
		whole += c.weight
	}
	const rounds = 20
	var level, slope float64
	for range rounds {
		var w, x, y, xx, xy float64
		for i, c := range cells {
			w += weights[i]
			x += weights[i] * c.water
			y += weights[i] * c.bar
		}
		for i, c := range cells {
			d := c.water - x/w
			xx += weights[i] * d * d
			xy += weights[i] * d * (c.bar - y/w)
		}
		if xx <= 0 {
			return cells
		}
		slope = xy / xx
		level = y/w - slope*x/w
		for i, c := range cells {
			weights[i] = c.weight
			if c.bar > level+slope*c.water {
				weights[i] *= upper
			}
		}
	}
	kept, left := slices.Clone(cells)[:0], 0.0
	for _, c := range cells {
		if c.bar >= level+slope*c.water-under {
			kept = append(kept, c)
			left += c.weight
		}
	}
	if left < (1-mostStore)*whole {
		return cells
	}
	return kept
}
