package house

import "time"

// A heat pump here is an air-to-water machine whose compressor is controlled like a modulating burner. Figures are own
// assumptions in the range of published rating points: at 7 °C outside and 35 °C flow a COP of about 4.7, at 2/35 about
// 4.0, at −7/35 about 3.2, at 7/55 about 2.9 (EN 14511 points of common machines, from memory). Between heating and hot
// water the compressor stops and rests, as a boiler's flame goes out, so that each run has one use.
const (
	// carnotShare is the share of the Carnot factor between outside air and flow that the machine reaches.
	carnotShare = 0.43
	// leastLiftK is the smallest lift that the compressor works against, K.
	leastLiftK = 20.0
	// ratedOutsideC and ratedFlowC are where OutputMaxKW holds, °C.
	ratedOutsideC, ratedFlowC = 7.0, 35.0
	// capacityOutsideK and capacityFlowK are what the greatest output changes by for each K of outside and flow.
	capacityOutsideK, capacityFlowK = 0.022, -0.005
	// capacityLeast and capacityMost bound it, as a share of OutputMaxKW.
	capacityLeast, capacityMost = 0.4, 1.2

	// frostBelowC is the outside temperature below which the evaporator ices over, °C.
	frostBelowC = 3.0
	// icedQuick and icedSlow are the running times to a defrost, in damp air at 0 °C and above and in dry air at −10 °C.
	icedQuick, icedSlow = 60 * time.Minute, 90 * time.Minute
	// defrostFor is how long a defrost takes, defrostShare how much heat it takes out of the water as a share of
	// OutputMaxKW, and defrostPowerShare the electricity meanwhile, likewise.
	defrostFor        = 5 * time.Minute
	defrostShare      = 0.5
	defrostPowerShare = 0.12
	// thawAboveC is the air in which ice melts off a standing evaporator, °C; thawFor how long a full coat takes 1 K above it,
	// quicker in warmer air. Own assumption.
	thawAboveC = 0.0
	thawFor    = 60 * time.Minute
)

const kelvin = 273.15 // K at 0 °C

// COP is the heat pump's coefficient of performance at an outside temperature and a flow temperature in °C.
func COP(outside, flow float64) float64 {
	return carnotShare * (flow + kelvin) / max(flow-outside, leastLiftK)
}

// capacityKW is the heat pump's greatest output, kW.
func (s *BoilerSpec) capacityKW(outside, flow float64) float64 {
	share := (1 + capacityOutsideK*(outside-ratedOutsideC)) * (1 + capacityFlowK*(flow-ratedFlowC))
	return s.OutputMaxKW * min(max(share, capacityLeast), capacityMost)
}

// electricKW is what the heat pump draws in this second, kW.
func (b *boiler) electricKW(outside float64) float64 {
	switch {
	case b.outputKW < 0:
		return defrostPowerShare * b.spec.OutputMaxKW
	case b.outputKW == 0:
		return 0
	}
	return b.outputKW / COP(outside, b.exchanger)
}

// compress moves a compressor that is wanted by one second.
func (b *burner) compress(now time.Duration, outside float64) (h happened) {
	switch b.phase {
	case phaseOff:
		b.enter(phasePurge, now) // the pump runs first
	case phasePurge:
		if now-b.since >= b.spec.Prepurge {
			b.litAt = now
			b.enter(phaseRun, now)
			h.lit = true
		}
	case phaseRun:
		if now < b.defrostTo {
			break
		}
		if b.icing += icing(outside); b.icing >= 1 {
			b.icing, b.defrostTo = 0, now+defrostFor
		}
	}
	return h
}

// thaw melts the ice of a compressor that stands for a second.
func (b *burner) thaw(outside float64) {
	b.icing = max(0, b.icing-max(0, outside-thawAboveC)/thawFor.Seconds())
}

// icing is the share of the way to a defrost that a second of running brings.
func icing(outside float64) float64 {
	if outside >= frostBelowC {
		return 0
	}
	dry := min(max(-outside/10, 0), 1)
	return 1 / (icedQuick.Seconds() + dry*(icedSlow-icedQuick).Seconds())
}

// held tells whether a compressor may not be stopped yet: its least running time, or a defrost, which is brought to its
// end.
func (b *boiler) held(now time.Duration) bool {
	return b.spec.Kind == HeatPump && b.phase == phaseRun && (now < b.litAt+b.spec.MinBurn || now < b.defrostTo)
}
