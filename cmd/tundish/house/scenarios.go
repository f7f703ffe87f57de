package house

import (
	"time"

	"tundish/analyse/episode"
)

// Scenarios lists the houses, the demo first.
func Scenarios() []Scenario {
	return []Scenario{coldMornings(), sound(), lowFlow(), fastPump(), silentAdapter(), switchedLive(), retries(), flameLoss(),
		noisyLine()}
}

// Find gives the scenario of a name.
func Find(name string) (Scenario, bool) {
	for _, s := range Scenarios() {
		if s.Name == name {
			return s, true
		}
	}
	return Scenario{}, false
}

func names() (list []string) {
	for _, s := range Scenarios() {
		list = append(list, s.Name)
	}
	return list
}

// matched is a family house of 90 m² whose boiler fits it: the ground on which the other scenarios stand. The design
// heat loss of 5.6 kW at −3 °C is that of a semi of the 1930s with some insulation; all figures are own assumptions
// in the range of common practice unless said otherwise.
func matched() Scenario {
	return Scenario{
		Days: 3, Start: time.Date(2026, time.January, 13, 0, 0, 0, 0, time.UTC), Timezone: "Europe/London",
		Building: BuildingSpec{FloorM2: 90, DesignLossW: 5600, DesignInside: 21, DesignOutside: -3, GainsW: 350, SolarW: 500},
		Weather:  WeatherSpec{MeanC: 3.5, SynopticK: 1.2, DailyK: 2.5},
		Boiler: BoilerSpec{
			OutputMaxKW: 12, OutputMinKW: 2, HeatingMaxKW: 9, IgnitionKW: 4,
			WaterL: 2, MetalJK: 5e3, CasingWK: 1.5,
			HystOnK: 5, HystOffK: 5, AntiCycle: 3 * time.Minute, Overrun: 3 * time.Minute,
			FlowLimitC: 85, SpreadLimitK: 38, Attempts: 5,
			Prepurge: 8 * time.Second, RetryPause: 22 * time.Second, SafetyTime: 5 * time.Second, LightAfter: 2 * time.Second,
			FaultCode: 61,
		},
		// 70/50 at design: mean excess 39 K, so Φ50 = 1.15 · 5600 W / (39/50)^1.3; the 15 % are for heating up.
		// Pipes lose 0.25 W/(m·K), lagged copper of 22 mm (0.32 l/m): they are cold after some hours. Own assumption.
		// Steel panels hold about 3.2 l and 17 kg per kW at 50 K: common practice, no source.
		Circuit: CircuitSpec{FlowPipeL: 9, ReturnPipeL: 9, EmitterL: 60, PipeMetalJK: 10e3, EmitterMetalJK: 80e3, PipeLossWK: 14,
			Phi50W: 8900, Exponent: 1.3, FlowLpm: 5.2},
		Vessel: VesselSpec{VolumeL: 12, PrechargeBar: 1.0, FillBar: 1.3},
		HotWater: HotWaterSpec{Kind: Cylinder, CylinderL: 150, CylinderLossWK: 1.6, CoilL: 4, CoilUA: 550, SetC: 61,
			DifferentialK: 8, FlowC: 75, FlowLpm: 12, Hours: []Hours{{6.5, 9}, {15.5, 22}}},
		Room: RoomSpec{ComfortC: 20.5, SetbackC: 18, FromHour: 5.25, ToHour: 22.25, DifferentialK: 1.0, Compensated: true,
			InfluenceK: 6, MaxFlowC: 75, MinFlowC: 30},
		Bus:    BusSpec{StepK: 0.125, OutsideStepK: 0.5, PressureStep: 0.05, StartsBefore: 18342, FailedBefore: 21, LossesBefore: 4, HoursBefore: 6120},
		Probes: ProbeSpec{FlowROM: "28-0000b4d2190e", ReturnROM: "28-0000b4d23c7a", Every: time.Second, TauS: 20, RetOffK: 0.25, NoiseK: 0.03},

		DesignFlowC: 70, DesignReturnC: 50,
	}
}

// oversized is the same house with a 24 kW boiler that cannot go below 8 kW, on few litres of water.
func oversized() Scenario {
	s := matched()
	s.Boiler.OutputMaxKW, s.Boiler.OutputMinKW = 24, 8
	s.Boiler.HeatingMaxKW, s.Boiler.IgnitionKW = 12, 9
	s.Boiler.WaterL, s.Boiler.FaultCode = 1.6, 47
	s.Boiler.SpreadLimitK, s.Boiler.HystOffK = 32, 4
	s.Circuit.FlowPipeL, s.Circuit.ReturnPipeL, s.Circuit.EmitterL = 4, 4, 26
	s.Circuit.PipeLossWK = 6
	s.Circuit.EmitterMetalJK = 64e3
	s.Circuit.FlowLpm = 8
	s.Circuit.Phi50W = 8200 // 70/55 at design: mean excess 41.5 K, 15 % more
	s.Vessel.VolumeL = 8
	s.DesignFlowC, s.DesignReturnC = 70, 55
	return s
}

func coldMornings() Scenario {
	s := oversized()
	s.Name = "cold-mornings"
	s.Doc = "an oversized boiler that short-cycles in mild weather and locks out on ignition on two cold mornings"
	s.JobName = "Tanner's Row 9"
	s.Weather.MeanC = 5
	s.Weather.Snaps = []ColdSnap{{Day: 1, LowC: -5}, {Day: 2, LowC: -6}}
	s.Faults.Ignition = []IgnitionFault{
		{Window: Window{clock(1, 4, 40), clock(1, 9, 0)}, BelowC: -2, Fails: 5, Sequences: 1,
			ResetAfter: 97*time.Minute + 20*time.Second, Reset: episode.ResetByHand},
		{Window: Window{clock(2, 6, 20), clock(2, 9, 0)}, BelowC: -2, Fails: 5, Sequences: 1,
			ResetAfter: 78*time.Minute + 40*time.Second, Reset: episode.ResetCommand},
	}
	return s
}

func sound() Scenario {
	s := matched()
	s.Name, s.JobName = "sound", "Orchard Rise 14"
	s.Doc = "a boiler that fits its house, without faults, through the same kind of weather"
	s.Weather.Snaps = []ColdSnap{{Day: 1, LowC: -5}, {Day: 2, LowC: -6}}
	return s
}

func lowFlow() Scenario {
	s := matched()
	s.Name, s.JobName = "low-flow", "Weir Cottage"
	s.Doc = "a sound boiler on a circuit that lets too little water through: flow and return far apart"
	s.Circuit.FlowLpm = 2.0
	s.Weather.MeanC = 1
	return s
}

func fastPump() Scenario {
	s := matched()
	s.Name, s.JobName = "fast-pump", "Quarry Lane 2"
	s.Doc = "a pump set far too fast and a bypass that passes: flow and return close together"
	s.Circuit.FlowLpm, s.Circuit.BypassShare = 27, 0.35
	s.Weather.MeanC = 1
	return s
}

func silentAdapter() Scenario {
	s := matched()
	s.Name, s.JobName = "silent-adapter", "Chapel Yard 5"
	s.Doc = "the bus adapter says nothing for forty minutes while the probes show that the house is being heated"
	s.Faults.Adapter = []AdapterFault{{Window: Window{clock(1, 7, 12), clock(1, 7, 52)}}}
	return s
}

func switchedLive() Scenario {
	s := matched()
	s.Name, s.JobName = "switched-live", "Harbour Steps 7"
	s.Doc = "boiler and bus lose their mains whenever neither heat nor hot water is asked for"
	s.SwitchedLive = true
	s.Bus.Unsupported = []uint8{15, 113, 114} // an older boiler
	s.Weather.MeanC = 6
	s.Room.DifferentialK = 0.6
	s.Room.InfluenceK = 0
	return s
}

func retries() Scenario {
	s := matched()
	s.Name, s.JobName = "retries", "Kiln Court 11"
	s.Doc = "first attempts to light fail on cold mornings, later ones succeed: no lockout; instantaneous hot water"
	s.Boiler.OutputMaxKW, s.Boiler.IgnitionKW = 24, 6
	s.Boiler.OutputMinKW = 2.4
	s.HotWater = HotWaterSpec{Kind: Instantaneous, SetC: 50, FlowLpm: 12}
	s.Weather.Snaps = []ColdSnap{{Day: 0, LowC: -3}, {Day: 1, LowC: -5}, {Day: 2, LowC: -4}}
	s.Faults.Ignition = []IgnitionFault{
		{Window: Window{clock(0, 5, 0), clock(0, 9, 0)}, BelowC: 0, Fails: 2, Sequences: 2},
		{Window: Window{clock(1, 5, 0), clock(1, 9, 0)}, BelowC: 0, Fails: 3, Sequences: 2},
		{Window: Window{clock(2, 5, 0), clock(2, 9, 0)}, BelowC: 0, Fails: 2, Flame: 3 * time.Second, Sequences: 3},
	}
	return s
}

func flameLoss() Scenario {
	s := matched()
	s.Name, s.JobName = "flame-loss", "Signal House"
	s.Doc = "the flame is lost in the run and lights again; on the last day it is lost until the boiler locks out"
	s.Faults.FlameLoss = []FlameLossFault{
		{Window: Window{clock(0, 6, 0), clock(0, 20, 0)}, After: 40 * time.Second, Times: 3},
		{Window: Window{clock(2, 7, 0), clock(2, 20, 0)}, After: 15 * time.Second, Times: 8},
	}
	return s
}

func noisyLine() Scenario {
	s := matched()
	s.Name, s.JobName = "noisy-line", "Pump Cottage"
	s.Doc = "a poor bus connection: lost replies, flipped bits, lines of noise"
	s.Faults.LostReply, s.Faults.BadParity, s.Faults.Garbage = 0.01, 0.002, 0.002
	return s
}
