package cases

import (
	"math/rand/v2"
	"time"

	"tundish/cmd/tundish/house"
)

// resize gives the heat source another range, its ignition output with it.
func resize(s *house.Scenario, most, least float64) {
	s.Boiler.OutputMaxKW, s.Boiler.OutputMinKW, s.Boiler.HeatingMaxKW = most, least, most
	s.Boiler.IgnitionKW = max(least, 0.3*most)
	if s.Boiler.Kind == house.OnOffBoiler {
		s.Boiler.OutputMinKW, s.Boiler.IgnitionKW = most, most
	}
}

// littleWater leaves a share of the water and metal in the circuit, as radiators of few litres do.
func littleWater(s *house.Scenario, share float64) {
	s.Circuit.EmitterL *= share
	s.Circuit.FlowPipeL = max(2, share*s.Circuit.FlowPipeL)
	s.Circuit.ReturnPipeL = max(2, share*s.Circuit.ReturnPipeL)
	s.Circuit.EmitterMetalJK *= share
}

// mild is weather in which little heat is wanted.
func mild(s *house.Scenario, r *rand.Rand) { s.Weather.MeanC = between(r, 7, 9) }

func shortCycling() []way {
	const kind = "short-cycling"
	return []way{
		{kind: kind, name: "short-cycling-least-output", doc: "least output far above what the circuit takes, on little water", severity: Severe, cause: "oversized",
			also: []string{"oversized"}, days: 3, on: []string{"terrace", "bus-only", "switched-live"}, needs: both(modulates, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				load := loadKW(s)
				resize(s, 4.4*load, between(r, 1.5, 1.7)*load)
				littleWater(s, 0.5)
				s.Boiler.HystOnK, s.Boiler.HystOffK = 4, 3
				mild(s, r)
			}},
		{kind: kind, name: "short-cycling-least-output-mild", doc: "least output above the load in mild weather", severity: Moderate, cause: "oversized",
			days: 3, on: []string{"compensated", "probes-only"}, needs: both(modulates, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				load := loadKW(s)
				resize(s, 3*load, 1.15*load)
				littleWater(s, 0.5)
				s.Boiler.HystOnK, s.Boiler.HystOffK = 4, 3
				mild(s, r)
			}},
		{kind: kind, name: "short-cycling-first-cost", doc: "radiators of few litres and a least output about as large as the design load", severity: Slight, cause: "oversized",
			days: 3, on: []string{"lpg-cottage"}, needs: both(modulates, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				load := loadKW(s)
				resize(s, 2.5*load, 1.0*load)
				littleWater(s, 0.4)
				s.Boiler.HystOnK, s.Boiler.HystOffK = 4, 3
				mild(s, r)
			}},
		{kind: kind, name: "short-cycling-valves-shut", doc: "thermostatic valves set below the room thermostat: they shut, and little water is left to take the heat", severity: Moderate, cause: "closed-valves",
			days: 3, on: []string{"trv-bypass", "compensated"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Circuit.Valves = house.ValveSpec{Share: 0.97, SetC: s.Room.ComfortC - 1.8, BandK: 1.5}
				s.Circuit.Pump, s.Circuit.BypassOpensKPa = house.PumpSpec{HeadKPa: 50, FreeLpm: 3 * s.Circuit.FlowLpm}, 0
				resize(s, 2.2*loadKW(s), 0.6*loadKW(s))
				s.Circuit.BypassShare = 0.05
				s.Boiler.HystOffK = 3
			}},
		{kind: kind, name: "short-cycling-lockshields-shut", doc: "all but one radiator shut at the lockshield", severity: Severe, cause: "closed-valves",
			days: 3, on: []string{"bus-only"}, needs: both(modulates, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Circuit.FlowLpm *= 0.2
				s.Circuit.Phi50W *= 0.12
				littleWater(s, 0.15)
				s.Boiler.HystOffK = 4
			}},
		{kind: kind, name: "short-cycling-narrow-differential", doc: "an on/off boiler with hardly any differential and no anti-cycle time", severity: Severe, cause: "control",
			days: 3, on: []string{"solid-wall"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Boiler.Kind = house.OnOffBoiler
				resize(s, 1.45*loadKW(s), 1.45*loadKW(s))
				s.Boiler.HystOnK, s.Boiler.HystOffK, s.Boiler.AntiCycle, s.Boiler.MetalJK, s.Boiler.WaterL = 1, 0.5, 0, 6e3, 2
				s.Room.CyclesPerHour, s.Room.Compensated, s.Room.FixedFlowC = 0, false, 52
				if s.HotWater.Plan != house.Priority {
					s.HotWater.SetC = 48 // with one set-point for rooms and store it gets no hotter
				}
				s.Weather.MeanC = 5
			}},
		{kind: kind, name: "short-cycling-chopping-fast", doc: "a room thermostat that chops its call twelve times an hour", severity: Severe, cause: "control",
			days: 3, on: []string{"bungalow", "slow-master"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Room.CyclesPerHour, s.Room.BandK, s.Room.DifferentialK = 12, 1.5, 0.2
				s.Boiler.AntiCycle = 0
				s.Weather.MeanC = 6
			}},
		{kind: kind, name: "short-cycling-chopping-slight", doc: "a room thermostat that chops its call nine times an hour in mild weather", severity: Slight, cause: "control",
			days: 3, on: []string{"terrace"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Room.CyclesPerHour, s.Room.BandK, s.Room.DifferentialK = 9, 1.5, 0.2
				s.Boiler.AntiCycle = 0
				mild(s, r)
			}},

		{kind: kind, name: "like-short-cycling-chopping-slow", doc: "a room thermostat that chops its call twice an hour: few and long burns", lookAlike: true, days: 3,
			on: []string{"bungalow"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Room.CyclesPerHour, s.Room.BandK, s.Room.DifferentialK = 2, 1.5, 0.4
			}},
		{kind: kind, name: "like-short-cycling-many-taps", doc: "many short burns, all for hot water", lookAlike: true, days: 3,
			on: []string{"flat", "bus-only"}, needs: hasPlate,
			change: func(s *house.Scenario, r *rand.Rand) { s.People.DrawScale = 2 }},
		{kind: kind, name: "like-short-cycling-on-off", doc: "an on/off boiler on much water: starts, but long burns", lookAlike: true, days: 3,
			on: []string{"bungalow"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Boiler.Kind = house.OnOffBoiler
				resize(s, 1.3*loadKW(s), 1.3*loadKW(s))
				s.Room.Compensated, s.Room.FixedFlowC, s.Room.CyclesPerHour, s.Room.BandK = false, 74, 2, 1.5
				s.Boiler.HystOnK, s.Boiler.HystOffK = 8, 6
			}},
		{kind: kind, name: "like-short-cycling-frost", doc: "heating off in freezing weather: the boiler's own frost protection makes short burns", lookAlike: true, days: 3,
			on: []string{"terrace"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Boiler.FrostC = 8
				s.Room.ComfortC, s.Room.SetbackC = 5, 5
				s.Weather.MeanC = -6
				s.People.Away = []house.Window{always()}
				s.Building.GainsW = 60
			}},
		{kind: kind, name: "like-short-cycling-retries", doc: "failed attempts show a flame for seconds; the firings that follow are long", lookAlike: true, days: 3,
			on: []string{"terrace"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.Ignition = []house.IgnitionFault{{Window: always(), BelowC: 40, Fails: 1, Flame: 4 * time.Second, Sequences: 200}}
			}},
	}
}

func oversized() []way {
	const kind = "oversized"
	times := func(most, least float64) func(*house.Scenario, *rand.Rand) {
		return func(s *house.Scenario, r *rand.Rand) {
			load := loadKW(s)
			resize(s, most*load*between(r, 0.98, 1.02), least*load)
		}
	}
	return []way{
		{kind: kind, name: "oversized-old-rule", doc: "a boiler picked by the size of the one before: four and a half times the design load", severity: Severe, days: 3,
			on: []string{"terrace", "lpg-cottage"}, needs: both(isBoiler, func(s *house.Scenario) bool { return !hasPlate(s) }), change: times(4.6, 1.0)},
		{kind: kind, name: "oversized-twice-and-half", doc: "two and a half to three times the design load, turning down well", severity: Moderate, days: 3,
			on: []string{"compensated", "probes-only"}, needs: both(isBoiler, func(s *house.Scenario) bool { return !hasPlate(s) }), change: times(2.9, 0.4)},
		{kind: kind, name: "oversized-on-off", doc: "an on/off boiler of nearly three times the design load", severity: Moderate, days: 3,
			on: []string{"solid-wall"}, needs: both(isBoiler, func(s *house.Scenario) bool { return !hasPlate(s) }),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Boiler.Kind = house.OnOffBoiler
				resize(s, 2.8*loadKW(s), 2.8*loadKW(s))
			}},
		{kind: kind, name: "oversized-least", doc: "a boiler for instantaneous hot water whose least output is more than the flat ever takes", severity: Severe, days: 3,
			on: []string{"flat"}, needs: hasPlate, change: times(7, 1.6)},
		{kind: kind, name: "oversized-least-floor", doc: "a boiler for instantaneous hot water that cannot turn down to a tight house's load", severity: Moderate, days: 3,
			on: []string{"underfloor-new", "bus-only"}, needs: hasPlate, change: times(6, 1.12)},
		{kind: kind, name: "oversized-heat-pump", doc: "a heat pump of two and a half times the design load", severity: Slight, days: 3,
			on: []string{"heat-pump-radiators", "heat-pump-underfloor"}, needs: isHeatPump, change: times(2.5, 0.9)},
		{kind: kind, name: "oversized-just", doc: "a little over twice the design load", severity: Slight, days: 3,
			on: []string{"slow-master"}, needs: both(isBoiler, func(s *house.Scenario) bool { return !hasPlate(s) }), change: times(2.15, 0.4)},

		{kind: kind, name: "like-oversized-for-taps", doc: "a large boiler for instantaneous hot water that turns down below the load", lookAlike: true, days: 3,
			on: []string{"flat", "underfloor-new"}, needs: hasPlate,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Boiler.OutputMaxKW, s.Boiler.OutputMinKW = 30, 0.5*loadKW(s)
			}},
		{kind: kind, name: "like-oversized-mild", doc: "a boiler of the right size in weather so mild that it cycles all day", lookAlike: true, days: 3,
			on: []string{"terrace", "bungalow"}, needs: both(isBoiler, func(s *house.Scenario) bool { return !hasPlate(s) }),
			change: func(s *house.Scenario, r *rand.Rand) { s.Weather.MeanC = 12 }},
		{kind: kind, name: "like-oversized-control", doc: "a boiler of the right size made to cycle by its thermostat", lookAlike: true, days: 3,
			on: []string{"compensated"}, needs: both(isBoiler, hasRadiators, func(s *house.Scenario) bool { return !hasPlate(s) }),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Room.CyclesPerHour, s.Room.BandK, s.Room.DifferentialK, s.Boiler.AntiCycle = 12, 1.5, 0.2, 0
			}},
	}
}

func overshoot() []way {
	const kind = "flow-overshoot"
	hot := func(lag, ignition, off float64) func(*house.Scenario, *rand.Rand) {
		return func(s *house.Scenario, r *rand.Rand) {
			s.Boiler.SensorTauS, s.Boiler.HystOffK = lag, off
			s.Boiler.IgnitionKW = ignition * loadKW(s)
		}
	}
	return []way{
		{kind: kind, name: "flow-overshoot-sensor-off-pipe", doc: "the flow sensor hangs off its pipe and follows two minutes late", severity: Severe, days: 3,
			on: []string{"terrace", "bus-only"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				hot(120, 2.6, 13)(s, r)
				resize(s, max(2.6*loadKW(s), s.Boiler.OutputMaxKW), 0.9*loadKW(s))
				littleWater(s, 0.5)
				mild(s, r)
			}},
		{kind: kind, name: "flow-overshoot-wide-differential", doc: "an on/off boiler that goes off 12 K above its set-point", severity: Moderate, days: 3,
			on: []string{"solid-wall", "bungalow"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Boiler.Kind = house.OnOffBoiler
				resize(s, 1.45*loadKW(s), 1.45*loadKW(s))
				s.Boiler.HystOffK = 12
				s.Boiler.HystOnK = 3
				s.Room.CyclesPerHour = 0
				s.Room.Compensated, s.Room.FixedFlowC = false, 48
				if s.HotWater.Plan != house.Priority {
					s.HotWater.SetC = 44 // with one set-point for rooms and store it gets no hotter
				}
			}},
		{kind: kind, name: "flow-overshoot-starts-at-full", doc: "lights at full output on little water, and its least output runs it 11 K past before it goes off", severity: Moderate, days: 3,
			on: []string{"flat", "compensated"}, needs: both(modulates, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				resize(s, 4*loadKW(s), 1.2*loadKW(s))
				s.Boiler.IgnitionKW, s.Boiler.SensorTauS, s.Boiler.HystOffK, s.Boiler.HystOnK = 3.8*loadKW(s), 30, 11, 5
				littleWater(s, 0.35)
				mild(s, r)
			}},
		{kind: kind, name: "flow-overshoot-reads-low", doc: "the boiler's flow sensor reads 13 K too low: its water is that much hotter than it thinks", severity: Moderate, days: 3,
			on: []string{"trv-bypass", "lpg-cottage"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.OwnSensor = append(s.Faults.OwnSensor, house.SensorFault{Window: always(), Ails: house.Drifted, By: -between(r, 13, 14)})
			}},
		{kind: kind, name: "flow-overshoot-least-output", doc: "least output above the load, and a differential that lets it run 9 K past", severity: Slight, days: 3,
			on: []string{"slow-master"}, needs: both(modulates, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				resize(s, 2.8*loadKW(s), 1.1*loadKW(s))
				s.Boiler.HystOffK, s.Boiler.HystOnK = 9, 5
				mild(s, r)
			}},

		{kind: kind, name: "like-flow-overshoot-usual", doc: "goes off 3 K above its set-point, start after start", lookAlike: true, days: 3,
			on: []string{"terrace"}, needs: both(modulates, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				resize(s, 2.5*loadKW(s), 0.9*loadKW(s))
				s.Boiler.HystOffK = 3
				s.Boiler.SensorTauS = 4
				mild(s, r)
			}},
		{kind: kind, name: "like-flow-overshoot-hot-water", doc: "far hotter than the heating's set-point, but for the cylinder", lookAlike: true, days: 3,
			on: []string{"compensated", "bungalow"}, needs: both(hasCylinder, modulates),
			change: func(s *house.Scenario, r *rand.Rand) { s.HotWater.FlowC, s.People.DrawScale = 80, 2 }},
		{kind: kind, name: "like-flow-overshoot-falling-curve", doc: "the set-point falls as the day warms, the flow follows late", lookAlike: true, days: 3,
			on: []string{"underfloor-new", "compensated"}, needs: both(modulates, func(s *house.Scenario) bool { return s.Room.Compensated }),
			change: func(s *house.Scenario, r *rand.Rand) { s.Weather.DailyK, s.Weather.MeanC = 5, 4 }},
	}
}
