package condensing

import (
	"slices"

	"tundish/analyse"
	"tundish/analyse/emitter"
	"tundish/analyse/episode"
)

// signs are what tells the causes apart.
type signs struct {
	n              int
	flow           float64 // °C, median of the set-points, else of the highest flows
	bySetpoint     bool
	spread         float64 // K between the first and the last tenth of them
	outside        float64 // °C, mean over the heating firings' starts, else over the days
	outsideSeen    bool
	outsideRange   float64 // K, of the heating firings' starts; see outsideAt
	outsideAt      int     // heating firings at whose start it was known
	slope          float64 // K of flow for each K of outside; see slopeSeen
	slopeSeen      bool
	modulation     float64 // %, mean over the heating firings
	modulationSeen bool
	onOff          float64 // share of firings without a modulation that moves
}

func read(p *analyse.Pass) (s signs) {
	var setpoints, flows, out []float64
	type pair struct{ o, f float64 }
	var pairs []pair
	still, mods := 0, 0
	mod, lit := 0.0, 0.0
	for i := range p.Facts.Firings {
		f := &p.Facts.Firings[i]
		if f.Use != episode.Heating || !f.FlowSeen {
			continue
		}
		v := f.FlowMax
		if f.SetpointSeen && f.SetpointEnd >= 20 {
			v = f.SetpointEnd
			setpoints = append(setpoints, v)
		}
		flows = append(flows, v)
		if f.Start.Outside.Known {
			out = append(out, float64(f.Start.Outside.Value))
			pairs = append(pairs, pair{float64(f.Start.Outside.Value), v})
		}
		if f.ModulationSeen {
			mods++
			mod, lit = mod+f.MeanModulation*f.Duration().Seconds(), lit+f.Duration().Seconds()
			if f.MeanModulation-f.MinModulation < 1 {
				still++
			}
		}
	}
	s.n, s.bySetpoint = len(flows), 2*len(setpoints) > len(flows)
	if s.bySetpoint {
		flows = setpoints
	}
	slices.Sort(flows)
	if len(flows) > 0 {
		s.flow = flows[len(flows)/2]
		s.spread = flows[len(flows)*9/10] - flows[len(flows)/10]
	}
	if lit > 0 {
		s.modulation, s.modulationSeen = mod/lit, true
	}
	if mods > 0 {
		s.onOff = float64(still) / float64(mods)
	}
	s.outsideAt = len(out)
	if len(out) >= leastPairs {
		s.outsideSeen = true
		var so, sf, soo, sof float64
		for _, x := range pairs {
			so, sf, soo, sof = so+x.o, sf+x.f, soo+x.o*x.o, sof+x.o*x.f
		}
		n := float64(len(pairs))
		s.outside, s.outsideRange = so/n, slices.Max(out)-slices.Min(out)
		if v := soo - so*so/n; v > 0 && s.outsideRange >= slopeRangeK {
			s.slope, s.slopeSeen = (sof-so*sf/n)/v, true
		}
		return s
	}
	sum, hours := 0.0, 0.0
	for i := range p.Facts.Days {
		h := &p.Facts.Days[i].Heat
		sum, hours = sum+h.Outside*h.OutsideFor.Hours(), hours+h.OutsideFor.Hours()
	}
	if hours > 0 {
		s.outside, s.outsideSeen = sum/hours, true
	}
	return s
}

// design is flow and return that the job sheet's design needs at an outside temperature, by EN 442's law.
func design(p analyse.Plant, outside float64) (flow, ret float64, ok bool) {
	if !p.DesignFlow.Known || !p.DesignReturn.Known || !p.OutsideDesign.Known || float64(p.OutsideDesign.Value) >= neutralC {
		return 0, 0, false
	}
	inside := 20.0
	if p.InsideDesign.Known {
		inside = float64(p.InsideDesign.Value)
	}
	x := min(max((neutralC-outside)/(neutralC-float64(p.OutsideDesign.Value)), 0), 1.2)
	n := emitter.PanelExponent
	if p.Emitters == "underfloor" {
		n = emitter.FloorExponent
	}
	flow, ret, err := emitter.AtLoad(emitter.Condition{FlowC: float64(p.DesignFlow.Value), ReturnC: float64(p.DesignReturn.Value), RoomC: inside}, n, x)
	return flow, ret, err == nil
}

// load is the part of the design's heat that the water carries while the burner is lit, 0.3…1.5: by the weather, or by what
// the burner gives where that is more.
func (s signs) load(p *analyse.Pass) float64 {
	x, known := 0.3, false
	if p.Plant.OutsideDesign.Known && s.outsideSeen && float64(p.Plant.OutsideDesign.Value) < neutralC {
		x, known = max(x, min((neutralC-s.outside)/(neutralC-float64(p.Plant.OutsideDesign.Value)), 1)), true
	}
	most, loss := p.Plant.OutputMax, p.Plant.DesignHeatLoss
	if s.modulationSeen && most.Known && loss.Known && loss.Value > 0 {
		low := leastFire * float64(most.Value)
		if p.Plant.OutputMin.Known {
			low = float64(p.Plant.OutputMin.Value)
		}
		kw := low + (float64(most.Value)-low)*s.modulation/100
		x, known = max(x, min(kw/float64(loss.Value), 1.5)), true
	}
	if !known {
		return 1
	}
	return x
}
