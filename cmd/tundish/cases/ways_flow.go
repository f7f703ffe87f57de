package cases

import (
	"math"
	"math/rand/v2"

	"tundish/cmd/tundish/house"
)

// faster moves times as much water through the heating; a pump with a curve is one of that size.
func faster(s *house.Scenario, times float64) {
	s.Circuit.FlowLpm *= times
	s.Circuit.Pump.FreeLpm *= times
}

func lowDeltaT() []way {
	const kind = "low-delta-t"
	pump := func(times float64) func(*house.Scenario, *rand.Rand) {
		return func(s *house.Scenario, r *rand.Rand) { faster(s, times*between(r, 0.95, 1.05)) }
	}
	return []way{
		{kind: kind, name: "low-delta-t-fast-pump", doc: "a pump set four times too fast", severity: Severe, days: 2,
			on: []string{"terrace", "probes-only", "lpg-cottage"}, needs: isBoiler, change: pump(4)},
		{kind: kind, name: "low-delta-t-brisk-pump", doc: "a pump two and a half times too fast", severity: Moderate, days: 2,
			on: []string{"slow-master", "bus-only"}, needs: isBoiler, change: pump(2.5)},
		{kind: kind, name: "low-delta-t-bypass-open", doc: "a bypass left open: half of the water passes the radiators by", severity: Moderate, days: 2,
			on: []string{"compensated", "switched-live"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) { faster(s, 2.4); s.Circuit.BypassShare = 0.55 }},
		{kind: kind, name: "low-delta-t-bypass-set-low", doc: "an automatic bypass set so low that it always passes, behind a strong pump", severity: Moderate, days: 2,
			on: []string{"trv-bypass"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Circuit.Pump = house.PumpSpec{HeadKPa: 60, FreeLpm: 8 * s.Circuit.FlowLpm}
				s.Circuit.FlowLpm *= 1.2
				s.Circuit.BypassOpensKPa = 12
			}},
		{kind: kind, name: "low-delta-t-slight", doc: "a pump a little under twice as fast as wanted", severity: Slight, days: 2,
			on: []string{"bungalow"}, needs: isBoiler, change: pump(1.65)},
		{kind: kind, name: "low-delta-t-heat-pump", doc: "a heat pump whose pump stands at its highest: 2 K instead of 5", severity: Moderate, days: 2,
			on: []string{"heat-pump-radiators", "heat-pump-underfloor"}, needs: isHeatPump, change: pump(2.4)},

		{kind: kind, name: "like-low-delta-t-mild", doc: "mild weather: little heat, so little difference", lookAlike: true, days: 3,
			on: []string{"terrace", "compensated"}, needs: isBoiler, change: mild},
		{kind: kind, name: "like-low-delta-t-by-design", doc: "radiators laid out for 11 K, as in older systems", lookAlike: true, days: 2,
			on: []string{"bungalow"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.DesignFlowC, s.DesignReturnC = 62, 51
				s.Circuit.FlowLpm = flowSpare * designLpm(s)
			}},
		{kind: kind, name: "like-low-delta-t-heat-pump", doc: "a heat pump at its design difference of 5 K", lookAlike: true, days: 2,
			on: []string{"heat-pump-radiators"}, needs: isHeatPump, change: func(*house.Scenario, *rand.Rand) {}},
		{kind: kind, name: "like-low-delta-t-cool-curve", doc: "a flow set-point held down by its controller: little heat, little difference, right flow rate", lookAlike: true, days: 2,
			on: []string{"slow-master"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) { s.Room.MaxFlowC = 45; s.Weather.MeanC = 6 }},
	}
}

func highDeltaT() []way {
	const kind = "high-delta-t"
	slower := func(times float64) func(*house.Scenario, *rand.Rand) {
		return func(s *house.Scenario, r *rand.Rand) {
			faster(s, times*between(r, 0.95, 1.05))
			s.Weather.MeanC = between(r, 0, 1.5)
		}
	}
	return []way{
		{kind: kind, name: "high-delta-t-choked", doc: "a valve nearly shut in the main pipe: a third of the water", severity: Severe, days: 2,
			on: []string{"terrace", "probes-only"}, needs: isBoiler, change: slower(0.36)},
		{kind: kind, name: "high-delta-t-slow-pump", doc: "a pump on its lowest speed: half of the water", severity: Moderate, days: 2,
			on: []string{"compensated", "bus-only"}, needs: isBoiler, change: slower(0.5)},
		{kind: kind, name: "high-delta-t-sludge", doc: "sludge in the circuit", severity: Moderate, days: 2,
			on: []string{"bungalow", "slow-master"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.Sludge.At = between(r, 4, 5)
				s.Weather.MeanC = between(r, 0, 1.5)
			}},
		{kind: kind, name: "high-delta-t-sludge-grows", doc: "a strainer that clogs day by day", severity: Moderate, days: 4,
			on: []string{"lpg-cottage"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.Sludge = house.Sludge{At: 1.5, PerDay: 2}
				s.Weather.MeanC = between(r, 0, 1.5)
			}},
		{kind: kind, name: "high-delta-t-failing-pump", doc: "a pump that runs at a third of its speed from the first morning on", severity: Moderate, days: 3,
			on: []string{"semi-two-port", "trv-bypass"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.Pump = []house.PumpFault{{Window: house.Window{From: clock(0, 6, 0), To: always().To}, Share: 0.36}}
				s.Weather.MeanC = between(r, 0, 1.5)
			}},
		{kind: kind, name: "high-delta-t-slight", doc: "two thirds of the water that is wanted, in cold weather", severity: Slight, days: 2,
			on: []string{"switched-live"}, needs: isBoiler, change: slower(0.52)},

		{kind: kind, name: "like-high-delta-t-design-day", doc: "design weather: the full design difference", lookAlike: true, days: 2,
			on: []string{"terrace", "lpg-cottage"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) { s.Weather.MeanC = -2.5 }},
		{kind: kind, name: "like-high-delta-t-by-design", doc: "radiators laid out for 30 K", lookAlike: true, days: 2,
			on: []string{"bungalow"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.DesignFlowC, s.DesignReturnC = 75, 45
				s.Circuit.FlowLpm = flowSpare * designLpm(s)
			}},
		{kind: kind, name: "like-high-delta-t-warm-up", doc: "cold starts at full output: a large difference for as long as the house warms up", lookAlike: true, days: 3,
			on: []string{"compensated"}, needs: both(modulates, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Room.SetbackC = 15
				s.Boiler.HeatingMaxKW = s.Boiler.OutputMaxKW
			}},
		{kind: kind, name: "like-high-delta-t-probe-high", doc: "a flow probe that reads 2 K too high: the water is as it should be", lookAlike: true, days: 2,
			on: []string{"slow-master"}, needs: both(isBoiler, hasProbes),
			change: func(s *house.Scenario, r *rand.Rand) { s.Probes.FlowOffK = 2 }},
	}
}

func noCirculation() []way {
	const kind = "no-circulation"
	stopped := func(list ...house.Window) func(*house.Scenario, *rand.Rand) {
		return func(s *house.Scenario, r *rand.Rand) {
			s.Faults.NoFlow = append(s.Faults.NoFlow, list...)
			s.Boiler.OverheatC = 130 // no limiter trips: the control stops it each time
		}
	}
	return []way{
		{kind: kind, name: "no-circulation-air-lock", doc: "an air lock after draining down: no water moves all day", severity: Severe, days: 2,
			on: []string{"terrace", "bus-only"}, needs: isBoiler, change: stopped(window(0, 4, 0, 24, 0), window(1, 0, 0, 16, 0))},
		{kind: kind, name: "no-circulation-sticking-pump", doc: "a pump that sticks on two mornings until somebody taps it", severity: Moderate, days: 3,
			on: []string{"compensated", "probes-only"}, needs: isBoiler, change: stopped(window(1, 3, 0, 9, 30), window(2, 3, 0, 10, 0))},
		{kind: kind, name: "no-circulation-valve-shut", doc: "the heating's motor valve jams shut; the boiler is called none the less", severity: Severe, days: 2,
			on: []string{"solid-wall"}, needs: func(s *house.Scenario) bool { return s.HotWater.Plan == house.MidPosition },
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.Stuck = []house.ValveFault{{Window: always(), Where: house.HeatingValve}}
				s.Boiler.OverheatC = 130
			}},
		{kind: kind, name: "no-circulation-pump-dying", doc: "a pump at a tenth of its speed", severity: Moderate, days: 2,
			on: []string{"slow-master", "lpg-cottage"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.Pump = []house.PumpFault{{Window: always(), Share: 0.07}}
				s.Boiler.OverheatC = 130
			}},
		{kind: kind, name: "no-circulation-overheats", doc: "an air lock, and the limiter locks the boiler out", severity: Severe, days: 2,
			on: []string{"bungalow"}, needs: isBoiler, also: []string{"lockout"}, cause: "",
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.NoFlow = []house.Window{window(0, 12, 0, 24, 0), window(1, 0, 0, 15, 0)}
				overheats(s)
			}},
		{kind: kind, name: "no-circulation-one-morning", doc: "one morning without flow", severity: Slight, days: 2,
			on: []string{"switched-live"}, needs: isBoiler, change: stopped(window(1, 4, 0, 8, 30))},

		{kind: kind, name: "like-no-circulation-little-flow", doc: "a third of the water: far apart, but it comes back", lookAlike: true, days: 2,
			on: []string{"terrace"}, needs: isBoiler, change: func(s *house.Scenario, r *rand.Rand) { faster(s, 0.45) }},
		{kind: kind, name: "like-no-circulation-much-water", doc: "cold starts on much water: the return follows after many minutes", lookAlike: true, days: 2,
			on: []string{"bungalow"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Circuit.EmitterL *= 2
				s.Circuit.ReturnPipeL *= 2
				s.Room.SetbackC = 15.5
				vessel(s)
			}},
		{kind: kind, name: "like-no-circulation-hot-water", doc: "hot water at the tap with the heating's pipes cold", lookAlike: true, days: 2,
			on: []string{"flat"}, needs: hasPlate, change: func(s *house.Scenario, r *rand.Rand) { s.People.DrawScale = 1.8; mild(s, r) }},
	}
}

func notCondensing() []way {
	const kind = "not-condensing"
	// laidOut gives the home radiators of another design, and a flow fixed at its flow temperature. The water moves as
	// much faster than designed as it did before.
	laidOut := func(s *house.Scenario, flow, back float64) {
		ratio := s.Circuit.FlowLpm / designLpm(s)
		s.DesignFlowC, s.DesignReturnC = flow, back
		s.Circuit.Phi50W = 1.1 * s.Building.DesignLossW / math.Pow(((flow+back)/2-designInside)/ratedExcess, exponentPanel)
		faster(s, ratio*designLpm(s)/s.Circuit.FlowLpm)
	}
	fixed := func(flow, times float64) func(*house.Scenario, *rand.Rand) {
		return func(s *house.Scenario, r *rand.Rand) {
			s.Room.Compensated, s.Room.FixedFlowC, s.Room.MaxFlowC = false, flow, max(s.Room.MaxFlowC, flow)
			s.Room.CyclesPerHour = 0
			faster(s, times)
			s.Boiler.HystOffK = min(s.Boiler.HystOffK, 5)
		}
	}
	return []way{
		{kind: kind, name: "not-condensing-fixed-hot", doc: "small radiators, flow fixed at 84 °C whatever the weather", severity: Severe, days: 3,
			on: []string{"compensated", "probes-only", "trv-bypass"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) { laidOut(s, 84, 73); fixed(84, 1)(s, r) }},
		{kind: kind, name: "not-condensing-fixed", doc: "flow fixed at 84 °C and a brisk pump on radiators laid out for 4 K", severity: Moderate, days: 3,
			on: []string{"bungalow", "bus-only"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				laidOut(s, 84, 80)
				fixed(84, 1.3)(s, r)
			}},
		{kind: kind, name: "not-condensing-lpg", doc: "LPG: a return that would do for natural gas lies above its dew point", severity: Moderate, days: 3,
			on: []string{"lpg-cottage"}, needs: both(hasRadiators, func(s *house.Scenario) bool { return s.Boiler.Fuel == house.LPG }),
			change: func(s *house.Scenario, r *rand.Rand) { laidOut(s, 74, 64); fixed(74, 1)(s, r) }},
		{kind: kind, name: "not-condensing-bypass", doc: "a bypass that warms the return, flow at 77 °C", severity: Severe, days: 3,
			on: []string{"terrace", "slow-master"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				laidOut(s, 78, 66)
				fixed(77, 2)(s, r)
				s.Circuit.BypassShare = 0.4
			}},
		{kind: kind, name: "not-condensing-steep-curve", doc: "a heating curve far too steep, held off by thermostatic valves", severity: Moderate, days: 3,
			on: []string{"switched-live"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				laidOut(s, 84, 80)
				s.Room.MinFlowC, s.Room.MaxFlowC = 83, 84
				s.Circuit.Valves = house.ValveSpec{Share: 0.8, SetC: s.Room.ComfortC + 1, BandK: 2}
			}},
		{kind: kind, name: "not-condensing-slight", doc: "flow fixed at 74 °C on radiators laid out for 74/63", severity: Slight, days: 3,
			on: []string{"terrace"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) { laidOut(s, 74, 63); fixed(74, 1)(s, r) }},

		{kind: kind, name: "like-not-condensing-cold", doc: "a hot curve in cold weather, but with a cool return", lookAlike: true, days: 2,
			on: []string{"terrace", "bungalow"}, needs: both(isBoiler, hasRadiators), change: func(s *house.Scenario, r *rand.Rand) { s.Weather.MeanC = -2 }},
		{kind: kind, name: "like-not-condensing-cylinder", doc: "hot reheats of the cylinder, heating cool", lookAlike: true, days: 3,
			on: []string{"compensated"}, needs: both(isBoiler, hasCylinder),
			change: func(s *house.Scenario, r *rand.Rand) { s.HotWater.FlowC, s.People.DrawScale = 80, 2 }},
		{kind: kind, name: "like-not-condensing-heat-pump", doc: "a heat pump: nothing to condense", lookAlike: true, days: 2,
			on: []string{"heat-pump-radiators"}, needs: isHeatPump, change: func(s *house.Scenario, r *rand.Rand) { s.Room.MinFlowC = 55 }},
		{kind: kind, name: "like-not-condensing-fixed-low", doc: "flow fixed, at 62 °C with a return below the dew point", lookAlike: true, days: 3,
			on: []string{"bus-only"}, needs: both(isBoiler, hasRadiators), change: fixed(62, 1)},
	}
}
