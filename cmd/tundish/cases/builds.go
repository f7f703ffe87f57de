package cases

import (
	"math/rand/v2"
	"time"

	"tundish/cmd/tundish/house"
)

// Builds lists the sound homes. Places and figures are invented.
func Builds() []Build {
	return []Build{
		{"terrace", "a terrace with a modulating boiler of its size and a cylinder", terrace},
		{"flat", "a flat with instantaneous hot water from a boiler that turns far down", flat},
		{"solid-wall", "a large old house, on/off boiler, column radiators, mid-position valve, chopping room thermostat", solidWall},
		{"underfloor-new", "a new tight house with underfloor heating and instantaneous hot water", underfloorNew},
		{"heat-pump-radiators", "a heat pump on large radiators, cylinder at 62 °C", heatPumpRadiators},
		{"heat-pump-underfloor", "a heat pump on underfloor heating, hot water made elsewhere", heatPumpUnderfloor},
		{"lpg-cottage", "a cottage on LPG with radiators for a cool return", lpgCottage},
		{"compensated", "a condensing boiler that follows the weather, 55/45, hot water first", compensated},
		{"semi-two-port", "a semi with a two-port valve each for heating and cylinder", twoPort},
		{"switched-live", "an older boiler whose mains are switched by the programmer", switchedLive},
		{"probes-only", "two probes on the pipes and no bus", probesOnly},
		{"bus-only", "a bus and no probes; instantaneous hot water", busOnly},
		{"slow-master", "a room unit that speaks every ten seconds", slowMaster},
		{"trv-bypass", "a pump of high head, thermostatic valves and an automatic bypass", valvesAndBypass},
		{"bungalow", "a bungalow with old radiators that hold much water", bungalow},
		{"floor-boiler", "a small boiler on underfloor heating, hot water made elsewhere", floorBoiler},
	}
}

// day is a usual day of comfort.
const morning, evening = 5.5, 22.25

func terrace(r *rand.Rand) house.Scenario {
	s := home(r, plan{htcLow: 175, htcHigh: 225, floorM2: 85, flowC: 70, returnC: 50, spare: 0.15, litresPerKW: 11, pipesL: 16, comfortC: 20.5, fromHour: morning, toHour: evening})
	s.Boiler = boiler(r, 1.42*loadKW(&s), 0.28*loadKW(&s), 1.42*loadKW(&s))
	s.HotWater = cylinder(r, 140)
	vessel(&s)
	return s
}

func flat(r *rand.Rand) house.Scenario {
	s := home(r, plan{htcLow: 187, htcHigh: 215, floorM2: 72, flowC: 65, returnC: 45, spare: 0.2, litresPerKW: 12, pipesL: 12, comfortC: 20.5, fromHour: 6, toHour: 22.5})
	s.Boiler = boiler(r, 24, 2.4, 1.5*loadKW(&s))
	s.HotWater = plate(r)
	vessel(&s)
	return s
}

func solidWall(r *rand.Rand) house.Scenario {
	s := home(r, plan{htcLow: 350, htcHigh: 430, floorM2: 150, flowC: 62, returnC: 44, spare: 0.25, litresPerKW: 20, pipesL: 40, comfortC: 20, fromHour: 5.25, toHour: 22.5})
	s.Boiler = onOff(r, 1.35*loadKW(&s))
	s.HotWater = cylinder(r, 180)
	s.HotWater.Plan = house.MidPosition
	s.Room.Compensated, s.Room.FixedFlowC = false, 70 // one set-point for rooms and store
	s.Room.CyclesPerHour, s.Room.BandK, s.Room.DifferentialK = 2, 1.5, 0.6
	s.HotWater.FlowC = 70
	s.Bus.PressureStep = 0.1
	vessel(&s)
	return s
}

func underfloorNew(r *rand.Rand) house.Scenario {
	s := home(r, plan{htcLow: 155, htcHigh: 185, floorM2: 180, flowC: 42, returnC: 35, litresPerKW: 18, pipesL: 14, comfortC: 20.5})
	s.Boiler = boiler(r, 20, 2, 1.4*loadKW(&s))
	s.HotWater = plate(r)
	underfloor(&s)
	vessel(&s)
	return s
}

func heatPumpRadiators(r *rand.Rand) house.Scenario {
	s := home(r, plan{htcLow: 180, htcHigh: 230, floorM2: 100, flowC: 47, returnC: 42, spare: 0.1, litresPerKW: 30, pipesL: 40, comfortC: 20.5, fromHour: 4, toHour: 22.5})
	s.Boiler = heatPump(r, 1.45*loadKW(&s), 0.4*loadKW(&s))
	s.HotWater = cylinder(r, 200)
	s.HotWater.CoilUA, s.HotWater.FlowLpm, s.HotWater.FlowC = 1500, 18, 67
	s.HotWater.Hours = []house.Hours{{From: 1, To: 5}, {From: 13, To: 16}}
	s.Room.SetbackC, s.Room.InfluenceK = s.Room.ComfortC-1, 2
	vessel(&s)
	return s
}

func heatPumpUnderfloor(r *rand.Rand) house.Scenario {
	s := home(r, plan{htcLow: 120, htcHigh: 160, floorM2: 140, flowC: 38, returnC: 33, litresPerKW: 22, pipesL: 30, comfortC: 20.5})
	s.Boiler = heatPump(r, 1.45*loadKW(&s), 0.4*loadKW(&s))
	underfloor(&s)
	vessel(&s)
	return s
}

func lpgCottage(r *rand.Rand) house.Scenario {
	s := home(r, plan{htcLow: 230, htcHigh: 290, floorM2: 95, flowC: 60, returnC: 42, spare: 0.15, litresPerKW: 11, pipesL: 18, comfortC: 20.5, fromHour: morning, toHour: evening})
	s.Boiler = boiler(r, 1.45*loadKW(&s), 0.3*loadKW(&s), 1.45*loadKW(&s))
	s.Boiler.Fuel = house.LPG
	s.HotWater = cylinder(r, 150)
	vessel(&s)
	return s
}

func compensated(r *rand.Rand) house.Scenario {
	s := home(r, plan{htcLow: 190, htcHigh: 240, floorM2: 95, flowC: 55, returnC: 45, spare: 0.1, litresPerKW: 14, pipesL: 18, comfortC: 20.5, fromHour: 5, toHour: 22.5})
	s.Boiler = boiler(r, 1.4*loadKW(&s), 0.25*loadKW(&s), 1.4*loadKW(&s))
	s.HotWater = cylinder(r, 150)
	vessel(&s)
	return s
}

func twoPort(r *rand.Rand) house.Scenario {
	s := home(r, plan{htcLow: 230, htcHigh: 300, floorM2: 95, flowC: 65, returnC: 45, spare: 0.2, litresPerKW: 12, pipesL: 20, comfortC: 20.5, fromHour: morning, toHour: evening})
	s.Boiler = boiler(r, 1.45*loadKW(&s), 0.28*loadKW(&s), 1.45*loadKW(&s))
	s.HotWater = cylinder(r, 140)
	s.HotWater.Plan, s.HotWater.FlowC = house.TwoPort, 70
	s.Room.Compensated, s.Room.FixedFlowC = false, 70 // one set-point for rooms and store
	vessel(&s)
	return s
}

func switchedLive(r *rand.Rand) house.Scenario {
	s := home(r, plan{htcLow: 200, htcHigh: 260, floorM2: 90, flowC: 65, returnC: 45, spare: 0.15, litresPerKW: 12, pipesL: 18, comfortC: 20.5, fromHour: 6, toHour: 22})
	s.Boiler = boiler(r, 1.45*loadKW(&s), 0.3*loadKW(&s), 1.45*loadKW(&s))
	s.Boiler.VolatileLockout = true
	s.HotWater = cylinder(r, 140)
	s.SwitchedLive = true
	s.Room.InfluenceK, s.Room.DifferentialK = 0, 0.6
	s.Weather.MeanC += 2
	s.Bus.Unsupported = []uint8{15, 113, 114}
	vessel(&s)
	return s
}

func probesOnly(r *rand.Rand) house.Scenario {
	s := home(r, plan{htcLow: 210, htcHigh: 270, floorM2: 92, flowC: 68, returnC: 48, spare: 0.15, litresPerKW: 11, pipesL: 18, comfortC: 20.5, fromHour: morning, toHour: evening})
	s.Boiler = boiler(r, 1.45*loadKW(&s), 0.3*loadKW(&s), 1.45*loadKW(&s))
	s.HotWater = cylinder(r, 140)
	s.NoBus = true
	s.Probes.Every = time.Second
	vessel(&s)
	return s
}

func busOnly(r *rand.Rand) house.Scenario {
	s := home(r, plan{htcLow: 187, htcHigh: 230, floorM2: 80, flowC: 65, returnC: 45, spare: 0.15, litresPerKW: 12, pipesL: 15, comfortC: 20.5, fromHour: morning, toHour: evening})
	s.Boiler = boiler(r, 24, 2.4, 1.5*loadKW(&s))
	s.HotWater = plate(r)
	s.NoProbes = true
	vessel(&s)
	return s
}

func slowMaster(r *rand.Rand) house.Scenario {
	s := home(r, plan{htcLow: 220, htcHigh: 280, floorM2: 95, flowC: 65, returnC: 47, spare: 0.15, litresPerKW: 12, pipesL: 18, comfortC: 20.5, fromHour: morning, toHour: evening})
	s.Boiler = boiler(r, 1.4*loadKW(&s), 0.28*loadKW(&s), 1.4*loadKW(&s))
	s.HotWater = cylinder(r, 150)
	s.Bus.Every, s.Bus.StatusEvery = time.Duration(between(r, 7, 11)*float64(time.Second)), 3
	vessel(&s)
	return s
}

func valvesAndBypass(r *rand.Rand) house.Scenario {
	s := home(r, plan{htcLow: 200, htcHigh: 260, floorM2: 100, flowC: 65, returnC: 45, spare: 0.2, litresPerKW: 12, pipesL: 20, comfortC: 20.5, fromHour: morning, toHour: evening})
	s.Boiler = boiler(r, 1.42*loadKW(&s), 0.28*loadKW(&s), 1.42*loadKW(&s))
	s.HotWater = cylinder(r, 150)
	s.Circuit.Pump = house.PumpSpec{HeadKPa: 60, FreeLpm: 4 * s.Circuit.FlowLpm}
	s.Circuit.Valves = house.ValveSpec{Share: 0.7, SetC: 22.5, BandK: 2}
	s.Circuit.BypassOpensKPa = 58
	vessel(&s)
	return s
}

func bungalow(r *rand.Rand) house.Scenario {
	s := home(r, plan{htcLow: 195, htcHigh: 250, floorM2: 80, flowC: 68, returnC: 48, spare: 0.2, litresPerKW: 20, pipesL: 30, comfortC: 20.5, fromHour: 5.25, toHour: evening})
	s.Boiler = boiler(r, 1.45*loadKW(&s), 0.35*loadKW(&s), 1.45*loadKW(&s))
	s.HotWater = cylinder(r, 120)
	vessel(&s)
	return s
}

func floorBoiler(r *rand.Rand) house.Scenario {
	s := home(r, plan{htcLow: 230, htcHigh: 280, floorM2: 150, flowC: 43, returnC: 35, litresPerKW: 18, pipesL: 20, comfortC: 20.5})
	s.Boiler = boiler(r, 1.42*loadKW(&s), 0.28*loadKW(&s), 1.42*loadKW(&s))
	underfloor(&s)
	vessel(&s)
	return s
}
