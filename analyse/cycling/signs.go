package cycling

import (
	"slices"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/analyse/water"
	"tundish/decode"
	"tundish/decode/unit"
)

// signs are the averages over the burns that tell the causes apart.
type signs struct {
	byDemand      float64 // share of burns that heat demand ended
	rise          float64 // K/min, median; riseSeen
	riseSeen      bool
	modulation    float64 // %, median of means; modSeen
	modSeen       bool
	volume        float64 // l, median of V_eff; volumeSeen
	volumeSeen    bool
	leastOverLoss float64 // OutputMin ÷ design heat loss; lossSeen
	lossSeen      bool
	delta         float64 // K at the end of the burn, median; deltaSeen
	deltaSeen     bool
	flowShare     float64 // of the design water flow; flowSeen
	flowSeen      bool
	demandSeen    bool
	spread        float64 // K, within which half of the burns had their highest flow; spreadSeen
	spreadSeen    bool
	fixed         bool // the burner has one output only
	least         analyse.Opt[unit.KW]
	balance       balance
}

func read(p *analyse.Pass, burns []episode.Firing) signs {
	var s signs
	var rises, mods, volumes, deltas, tops []float64
	s.demandSeen = p.Has(decode.HeatDemand, decode.HeatActive)
	for _, f := range burns {
		if f.End == episode.EndDemand {
			s.byDemand++
		}
		if f.ModulationSeen {
			mods = append(mods, f.MeanModulation)
		}
		if f.FlowSeen {
			tops = append(tops, f.FlowMax)
		}
		if f.DeltaSeen {
			deltas = append(deltas, f.DeltaEnd)
		}
		if f.FlowSeen && f.FlowMax > f.FlowStart && f.Duration() >= leastClimb {
			climb := f.FlowMax - f.FlowStart
			rises = append(rises, climb/f.Duration().Minutes())
			if p.Plant.OutputMin.Known {
				kJ := outputOf(p.Plant, f) * f.Duration().Seconds()
				volumes = append(volumes, kJ/(water.VolumeHeat60*climb))
			}
		}
	}
	s.byDemand /= float64(len(burns))
	s.rise, s.riseSeen = median(rises), len(rises) > 0
	s.modulation, s.modSeen = median(mods), len(mods) > 0
	s.volume, s.volumeSeen = median(volumes), len(volumes) > 0
	if p.Plant.OutputMin.Known && p.Plant.DesignHeatLoss.Known && p.Plant.DesignHeatLoss.Value > 0 {
		s.leastOverLoss = float64(p.Plant.OutputMin.Value) / float64(p.Plant.DesignHeatLoss.Value)
		s.lossSeen = true
	}
	s.delta, s.deltaSeen = median(deltas), len(deltas) > 0
	if n := len(tops); n >= swingBurns {
		slices.Sort(tops)
		s.spread, s.spreadSeen = tops[3*n/4]-tops[n/4], true
	}
	if design, ok := p.Plant.DesignDeltaT(); ok && s.deltaSeen && s.lossSeen && s.delta > 0 {
		// Both flows are output ÷ (ρ·c·ΔT), so that ρ·c falls out.
		s.flowShare = s.leastOverLoss * float64(design) / s.delta
		s.flowSeen = true
	}
	pl := p.Plant
	s.least = pl.OutputMin
	s.fixed = pl.OutputMin.Known && pl.OutputMax.Known && float64(pl.OutputMax.Value) <= fixedRange*float64(pl.OutputMin.Value)
	return s
}

// outputOf is the mean output of a firing, kW: the least, where the modulation is not known.
func outputOf(pl analyse.Plant, f episode.Firing) float64 {
	least := float64(pl.OutputMin.Value)
	if !f.ModulationSeen || !pl.OutputMax.Known {
		return least
	}
	return least + f.MeanModulation/100*float64(pl.OutputMax.Value-pl.OutputMin.Value)
}
