package cases

import (
	"math/rand/v2"

	"tundish/cmd/tundish/house"
)

func pressureLoss() []way {
	const kind = "pressure-loss"
	leak := func(low, high float64, hot bool) func(*house.Scenario, *rand.Rand) {
		return func(s *house.Scenario, r *rand.Rand) {
			// litres are for a vessel of 10 l; a larger one shows the same loss less
			size := s.Vessel.VolumeL / 10
			s.Faults.Leak = append(s.Faults.Leak, house.Leak{Window: always(), LPerDay: size * between(r, low, high), HotOnly: hot})
		}
	}
	return []way{
		{kind: kind, name: "pressure-loss-weeping-joint", doc: "a joint that weeps day and night", severity: Moderate, days: 8,
			on: []string{"terrace", "flat"}, change: leak(0.1, 0.14, false)},
		{kind: kind, name: "pressure-loss-slow", doc: "a radiator valve that drips: a cupful a week", severity: Slight, days: 14,
			on: []string{"bungalow"}, change: leak(0.085, 0.1, false)},
		{kind: kind, name: "pressure-loss-hot", doc: "a joint that opens only when the pipes are hot", severity: Moderate, days: 6,
			on: []string{"terrace", "bus-only"}, needs: hasRadiators,
			change: func(s *house.Scenario, r *rand.Rand) { leak(0.22, 0.28, true)(s, r); s.Weather.MeanC = 1 }},
		{kind: kind, name: "pressure-loss-topped-up", doc: "a leak, and a householder who tops up in mid-record", severity: Moderate, days: 9,
			on: []string{"compensated"},
			change: func(s *house.Scenario, r *rand.Rand) {
				leak(0.25, 0.3, false)(s, r)
				s.Faults.Refills = []house.Refill{{At: clock(4, 18, 0), ToBar: s.Vessel.FillBar + 0.1}}
			}},
		{kind: kind, name: "pressure-loss-fast", doc: "a leak under the floor", severity: Severe, days: 4,
			on: []string{"underfloor-new", "slow-master"}, change: leak(0.33, 0.38, false)},
		{kind: kind, name: "pressure-loss-gas-escapes", doc: "the vessel's valve leaks gas: pressure falls although no water is lost", severity: Moderate, days: 8,
			on: []string{"trv-bypass"},
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.Precharge = []house.PrechargeLoss{{Window: always(), BarPerDay: 0.07}}
			}},

		{kind: kind, name: "like-pressure-loss-colder", doc: "the weather turns mild and the water cooler: pressure falls with it", lookAlike: true, days: 7,
			on: []string{"terrace"}, needs: hasRadiators,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Weather.MeanC = 9
				for d := range 3 {
					s.Weather.Snaps = append(s.Weather.Snaps, house.ColdSnap{Day: d, LowC: -5})
				}
			}},
		{kind: kind, name: "like-pressure-loss-swing", doc: "a flat vessel: large swings day by day, none lost", lookAlike: true, days: 5,
			on: []string{"compensated"}, needs: hasRadiators,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Vessel.VolumeL = 0.062 * s.WaterL()
				s.Vessel.PrechargeBar = 0.8
			}},
		{kind: kind, name: "like-pressure-loss-let-out", doc: "bled once: pressure falls in a step and stays", lookAlike: true, days: 9,
			on: []string{"bungalow"},
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.Refills = []house.Refill{{At: clock(2, 10, 0), ToBar: s.Vessel.FillBar + 0.35}}
			}},
		{kind: kind, name: "like-pressure-loss-coarse", doc: "a sound system whose pressure is told in coarse steps", lookAlike: true, days: 7,
			on: []string{"flat"}, change: func(s *house.Scenario, r *rand.Rand) { s.Bus.PressureStep = 0.2 }},
	}
}

func pressureSwing() []way {
	const kind = "pressure-swing"
	hot := func(s *house.Scenario) { s.Weather.MeanC = 0 }
	return []way{
		{kind: kind, name: "pressure-swing-flat", doc: "a vessel whose gas is all but gone", severity: Severe, days: 3,
			on: []string{"terrace", "semi-two-port"}, needs: hasRadiators,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Vessel.VolumeL = 0.085 * s.WaterL()
				s.Vessel.PrechargeBar = between(r, 0.05, 0.15)
				hot(s)
			}},
		{kind: kind, name: "pressure-swing-low-charge", doc: "a vessel at a third of its pre-charge", severity: Moderate, days: 3,
			on: []string{"compensated", "bus-only"}, needs: hasRadiators,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Vessel.VolumeL = 0.065 * s.WaterL()
				s.Vessel.PrechargeBar = between(r, 0.28, 0.36)
				hot(s)
			}},
		{kind: kind, name: "pressure-swing-small-vessel", doc: "radiators added and the small vessel kept", severity: Moderate, days: 3,
			on: []string{"bungalow", "slow-master"}, needs: hasRadiators,
			change: func(s *house.Scenario, r *rand.Rand) { s.Vessel.VolumeL = 0.042 * s.WaterL(); hot(s) }},
		{kind: kind, name: "pressure-swing-slight", doc: "a vessel a little too small", severity: Slight, days: 3,
			on: []string{"lpg-cottage"}, needs: hasRadiators,
			change: func(s *house.Scenario, r *rand.Rand) { s.Vessel.VolumeL = 0.056 * s.WaterL(); hot(s) }},
		{kind: kind, name: "pressure-swing-losing-charge", doc: "a vessel that loses its gas within days, topped up with water night and day", severity: Moderate, days: 5,
			on: []string{"terrace"}, needs: hasRadiators,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Vessel.VolumeL = 0.075 * s.WaterL()
				s.Vessel.PrechargeBar, s.Vessel.FillBar = 1.0, 1.3
				s.Faults.Precharge = []house.PrechargeLoss{{Window: always(), BarPerDay: 0.25}}
				for d := 1; d < 5; d++ {
					s.Faults.Refills = append(s.Faults.Refills, house.Refill{At: clock(d, 3, 0), ToBar: 1.3}, house.Refill{At: clock(d, 7, 30), ToBar: 1.3},
						house.Refill{At: clock(d, 19, 0), ToBar: 1.3})
				}
				hot(s)
			}},

		{kind: kind, name: "like-pressure-swing-wide-range", doc: "a sound vessel on water that goes from cold to very hot each day", lookAlike: true, days: 3,
			on: []string{"terrace", "bungalow"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Room.Compensated, s.Room.FixedFlowC, s.Room.SetbackC = false, 72, 15
				s.Vessel.VolumeL = max(s.Vessel.VolumeL, 0.12*s.WaterL())
			}},
		{kind: kind, name: "like-pressure-swing-leak", doc: "pressure goes up and down over days by a leak and refills, not with temperature", lookAlike: true, days: 6,
			on: []string{"compensated"},
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.Leak = []house.Leak{{Window: always(), LPerDay: 0.15}}
				s.Faults.Refills = []house.Refill{{At: clock(2, 12, 0), ToBar: 1.5}, {At: clock(4, 12, 0), ToBar: 1.5}}
			}},
		{kind: kind, name: "like-pressure-swing-high-fill", doc: "filled to 1.7 bar in the cold, vessel charged to match", lookAlike: true, days: 3,
			on: []string{"slow-master"},
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Vessel.FillBar, s.Vessel.PrechargeBar, s.Vessel.VolumeL = 1.6, 1.4, 0.15*s.WaterL()
			}},
	}
}

func tooCool() []way {
	const kind = "cylinder-too-cool"
	return []way{
		{kind: kind, name: "cylinder-too-cool-set-low", doc: "a cylinder thermostat set to 50 °C", severity: Severe, days: 7,
			on: []string{"terrace", "slow-master"}, needs: hasCylinder,
			change: func(s *house.Scenario, r *rand.Rand) { s.HotWater.SetC = between(r, 48, 51) }},
		{kind: kind, name: "cylinder-too-cool-sensor-reads-high", doc: "the cylinder's sensor reads 6 K too high", severity: Moderate, days: 7,
			on: []string{"compensated", "lpg-cottage"}, needs: hasCylinder,
			change: func(s *house.Scenario, r *rand.Rand) { s.HotWater.SensorOffK = between(r, 5.5, 8) }},
		{kind: kind, name: "cylinder-too-cool-flow-low", doc: "reheats with a flow set-point of 58 °C never get there", severity: Moderate, days: 7,
			on: []string{"bungalow"}, needs: func(s *house.Scenario) bool { return hasCylinder(s) && s.HotWater.Plan == house.Priority },
			change: func(s *house.Scenario, r *rand.Rand) {
				s.HotWater.FlowC, s.Boiler.HystOffK = 55, min(3, s.Boiler.HystOffK)
			}},
		{kind: kind, name: "cylinder-too-cool-hours-short", doc: "a quarter of an hour each morning to heat what a family draws", severity: Severe, days: 7,
			on: []string{"trv-bypass"}, needs: hasCylinder,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.HotWater.Hours = []house.Hours{{From: 5, To: 5.3}}
				s.People.DrawScale = 1.5
			}},
		{kind: kind, name: "cylinder-too-cool-scaled-coil", doc: "a coil furred up, and little time", severity: Moderate, days: 7,
			on: []string{"switched-live"}, needs: hasCylinder,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.HotWater.CoilUA, s.HotWater.FlowC, s.HotWater.Hours = 70, 68, []house.Hours{{From: 6, To: 7.5}, {From: 17, To: 18.5}}
				s.People.DrawScale = 1.4
			}},
		{kind: kind, name: "cylinder-too-cool-heat-pump", doc: "a heat pump that heats its store to 48 °C", severity: Severe, days: 7,
			on: []string{"heat-pump-radiators"}, needs: both(hasCylinder, isHeatPump),
			change: func(s *house.Scenario, r *rand.Rand) { s.HotWater.SetC, s.HotWater.FlowC = 48, 54 }},
		{kind: kind, name: "cylinder-too-cool-slight", doc: "a cylinder thermostat set to 57 °C", severity: Slight, days: 7,
			on: []string{"semi-two-port"}, needs: hasCylinder,
			change: func(s *house.Scenario, r *rand.Rand) { s.HotWater.SetC = 57 }},

		{kind: kind, name: "like-cylinder-too-cool-once-a-day", doc: "cool for most of the day, but hot once each morning", lookAlike: true, days: 7,
			on: []string{"terrace"}, needs: both(hasCylinder, isBoiler),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.HotWater.Hours, s.HotWater.SetC, s.People.DrawScale = []house.Hours{{From: 3, To: 6.5}}, 63, 1.6
			}},
		{kind: kind, name: "like-cylinder-too-cool-plate", doc: "48 °C at the tap, made as it flows: nothing is stored", lookAlike: true, days: 3,
			on: []string{"flat"}, needs: hasPlate, change: func(s *house.Scenario, r *rand.Rand) { s.HotWater.SetC = 48 }},
		{kind: kind, name: "like-cylinder-too-cool-sensor-reads-low", doc: "set to 58 °C by a sensor that reads 6 K too low: the water is hot enough", lookAlike: true, days: 7,
			on: []string{"compensated"}, needs: both(hasCylinder, isBoiler),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.HotWater.SetC, s.HotWater.SensorOffK, s.HotWater.FlowC = 58, -6, 80
			}},
	}
}
