package sizing

import (
	"tundish/analyse"
	"tundish/analyse/episode"
)

// Outputs are the plant's rated outputs, kW, and who says so.
type Outputs struct {
	Max, Min         analyse.Opt[float64]
	MaxFrom, MinFrom string  // "the job sheet", "the appliance itself"
	Stated           float64 // greatest output by the appliance itself, 0: it does not say
}

const (
	sheet  = "the job sheet"
	itself = "the appliance itself"
)

// OutputsOf takes the outputs from the job sheet and, where that lacks them, from what the appliance states.
func OutputsOf(f *episode.Facts, plant analyse.Plant) Outputs {
	var o Outputs
	least := 0.0
	for _, d := range f.Days {
		o.Stated = max(o.Stated, d.Heat.OutputMax)
		least = max(least, d.Heat.ModulationMin)
	}
	switch {
	case plant.OutputMax.Known && plant.OutputMax.Value > 0:
		o.Max, o.MaxFrom = analyse.Some(float64(plant.OutputMax.Value)), sheet
	case o.Stated > 0:
		o.Max, o.MaxFrom = analyse.Some(o.Stated), itself
	}
	switch {
	case plant.OutputMin.Known && plant.OutputMin.Value > 0:
		o.Min, o.MinFrom = analyse.Some(float64(plant.OutputMin.Value)), sheet
	case o.Stated > 0 && least > 0 && least <= 100:
		o.Min, o.MinFrom = analyse.Some(o.Stated*least/100), itself
	}
	return o
}

// setDown is what shows that the output for heating was set below the greatest.
type setDown struct {
	highest float64 // %, the highest modulation seen while heating
	ceiling float64 // %, the highest that the controller set
	low     bool    // highest stayed well below the greatest, over enough heating
	held    bool    // ceiling is well below
}

const (
	// wellBelow is the modulation below which the burner is set down for heating, %. Own proposal.
	wellBelow = 85.0
	// watchedEnough is how much heating with known modulation shows its highest. Own proposal, h.
	watchedEnough = 6.0
)

func setDownOf(f *episode.Facts) setDown {
	s := setDown{ceiling: -1}
	hours := 0.0
	for _, d := range f.Days {
		b := d.Heat.Burner
		s.highest = max(s.highest, b.HighestHeating)
		hours += b.Heating.ModFor.Hours()
		if b.CeilingSeen {
			s.ceiling = max(s.ceiling, b.Ceiling)
		}
	}
	s.low = hours >= watchedEnough && s.highest > 0 && s.highest < wellBelow
	s.held = s.ceiling > 0 && s.ceiling < wellBelow
	return s
}
