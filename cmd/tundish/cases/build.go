package cases

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"tundish/cmd/tundish/house"
)

// Build is a sound home of one kind. Each seed gives another home of that kind.
type Build struct {
	Name, Doc string
	make      func(r *rand.Rand) house.Scenario
}

// Scenario is one home of the build, sound, with three days of record.
func (b Build) Scenario(seed uint64) house.Scenario {
	s := b.make(rand.New(rand.NewPCG(seed, hash(b.Name))))
	s.Name, s.Doc, s.Days = b.Name, b.Doc, 3
	s.JobName = homes[(hash(b.Name)+seed)%uint64(len(homes))]
	return s
}

// FindBuild gives the build of a name.
func FindBuild(name string) (Build, bool) {
	for _, b := range Builds() {
		if b.Name == name {
			return b, true
		}
	}
	return Build{}, false
}

// plan is what a home is sized from. The heat transfer coefficients of the builds are drawn from stretches that
// together lie about the median of 198 W/K (SD 119) of British homes (Buildings and Cities, doi 10.5334/bc.670).
type plan struct {
	htcLow, htcHigh  float64 // W/K
	floorM2          float64
	flowC, returnC   float64 // design
	spare            float64 // emitters larger than the design needs, share on top
	litresPerKW      float64 // water in the emitters for each kW of design load
	pipesL           float64 // flow and return together
	comfortC         float64
	fromHour, toHour float64
}

// Figures that all homes share.
const (
	designInside, designOutside = 21.0, -3.0 // °C; the second as in NHBC Standards 8.1
	// panelKW is the excess for which a radiator is rated, K (EN 442).
	ratedExcess = 50.0
	// exponentPanel and exponentFloor are of EN 442's law: panels 1.3, underfloor 1.1 (public explanations of EN 442).
	exponentPanel, exponentFloor = 1.3, 1.1
	// waterJLK is what a litre of water at 50 °C takes, J/K: 988 kg/m³ by 4180 J/(kg·K), IAPWS-IF97.
	waterJLK = 4130.0
	// flowSpare is how much more water than the design needs a home that was set up with care moves. Own assumption.
	flowSpare = 1.15
	// metalJKW is steel of panels by design load, J/K for each kW: about 17 kg by kW rated at 50 K, twice that at the
	// design's excess, 480 J/(kg·K). Common practice, no source.
	metalJKW = 14e3
	// pipeLossWKL is the loss of lagged 22 mm copper by its water, W/K for each l: 0.25 W/(m·K) over 0.32 l/m.
	// Own assumption.
	pipeLossWKL = 0.78
)

// home sizes a home with radiators from a plan; the seed moves what may differ from home to home.
func home(r *rand.Rand, p plan) house.Scenario {
	vary := func(share float64) float64 { return between(r, 1-share, 1+share) }
	htc := between(r, p.htcLow, p.htcHigh)
	load := htc * (designInside - designOutside)
	kw := load / 1000
	shift := between(r, -0.5, 0.5) // h
	s := house.Scenario{
		Start: time.Date(2026, time.January, 6+r.IntN(20), 0, 0, 0, 0, time.UTC), Timezone: "Europe/London",
		Building: house.BuildingSpec{FloorM2: p.floorM2 * vary(0.08), DesignLossW: load, DesignInside: designInside,
			DesignOutside: designOutside, GainsW: 350 * vary(0.2), SolarW: 450 * vary(0.3)},
		Weather: house.WeatherSpec{MeanC: between(r, 1.5, 4.5), SynopticK: 1.2, DailyK: between(r, 1.8, 2.8)},
		Circuit: house.CircuitSpec{FlowPipeL: p.pipesL / 2, ReturnPipeL: p.pipesL / 2, EmitterL: p.litresPerKW * kw * vary(0.12),
			PipeMetalJK: 1.1e3 * p.pipesL, EmitterMetalJK: metalJKW * kw, PipeLossWK: pipeLossWKL * p.pipesL, Exponent: exponentPanel},
		Vessel: house.VesselSpec{PrechargeBar: between(r, 0.9, 1.05), FillBar: between(r, 1.2, 1.4)},
		Room: house.RoomSpec{ComfortC: p.comfortC + between(r, -0.4, 0.4), SetbackC: p.comfortC - between(r, 2, 3),
			FromHour: p.fromHour + shift, ToHour: p.toHour + shift, DifferentialK: 1, Compensated: true, InfluenceK: 4, MaxFlowC: 75, MinFlowC: 28},
		Bus: house.BusSpec{StepK: []float64{0, 0.125, 0.5}[r.IntN(3)], OutsideStepK: 0.5, PressureStep: []float64{0.02, 0.05, 0.1}[r.IntN(3)],
			StartsBefore: uint16(2000 + r.IntN(40000)), FailedBefore: uint16(r.IntN(40)), LossesBefore: uint16(r.IntN(9)), HoursBefore: uint16(900 + r.IntN(9000))},
		Probes: house.ProbeSpec{FlowROM: rom(r), ReturnROM: rom(r), Every: time.Duration(1+r.IntN(3)) * time.Second, TauS: between(r, 14, 30),
			FlowOffK: between(r, -0.3, 0.3), RetOffK: between(r, -0.3, 0.3), NoiseK: 0.03, Contact: between(r, 0.01, 0.03)},
		People:      house.PeopleSpec{DrawScale: between(r, 0.7, 1.2)},
		DesignFlowC: p.flowC, DesignReturnC: p.returnC,
	}
	excess := (p.flowC+p.returnC)/2 - designInside
	s.Circuit.Phi50W = (1 + p.spare) * load / math.Pow(excess/ratedExcess, exponentPanel)
	s.Circuit.FlowLpm = flowSpare * designLpm(&s)
	return s
}

// designLpm is the flow rate that the design load needs, l/min.
func designLpm(s *house.Scenario) float64 {
	return 60 * s.Building.DesignLossW / (waterJLK * (s.DesignFlowC - s.DesignReturnC))
}

// vessel gives a vessel as installation manuals ask for, citing BS 7074-1: at 0.7 bar initial 0.063 of the system's
// volume; by half as much again for the higher fill, and what is on the shelf is often larger.
func vessel(s *house.Scenario) {
	s.Vessel.VolumeL = max(8, math.Ceil(0.11*s.WaterL()))
}

func rom(r *rand.Rand) string { return fmt.Sprintf("28-0000%08x", r.Uint32()) }

// boiler is a modulating boiler of a rated range, set to give at most heating kW to the heating.
func boiler(r *rand.Rand, most, least, heating float64) house.BoilerSpec {
	return house.BoilerSpec{
		OutputMaxKW: most, OutputMinKW: least, HeatingMaxKW: heating, IgnitionKW: max(least, 0.3*most),
		WaterL: between(r, 1.5, 2.5), MetalJK: between(r, 4e3, 7e3), CasingWK: 1.5, AirRatio: between(r, 1.2, 1.3),
		HystOnK: 5, HystOffK: 5, AntiCycle: 3 * time.Minute, Overrun: 3 * time.Minute, FlowLimitC: 85, SpreadLimitK: 38,
		MinPressureBar: 0.5, Attempts: 3 + r.IntN(3), Prepurge: time.Duration(5+r.IntN(8)) * time.Second,
		RetryPause: time.Duration(15+r.IntN(20)) * time.Second, SafetyTime: 5 * time.Second, LightAfter: 2 * time.Second,
		FaultCode: uint8(20 + r.IntN(180)),
	}
}

// onOff is an older boiler of one output on a castings' worth of metal.
func onOff(r *rand.Rand, kw float64) house.BoilerSpec {
	b := boiler(r, kw, kw, kw)
	b.Kind, b.IgnitionKW = house.OnOffBoiler, kw
	b.WaterL, b.MetalJK, b.CasingWK = between(r, 4, 7), between(r, 15e3, 25e3), 4
	b.HystOnK, b.HystOffK, b.AntiCycle = 8, 3, 2*time.Minute
	return b
}

// heatPump is one of a rated output at 7 °C outside, with the store of water that its maker asks for.
func heatPump(r *rand.Rand, kw, least float64) house.BoilerSpec {
	return house.BoilerSpec{
		Kind: house.HeatPump, OutputMaxKW: kw, OutputMinKW: least, HeatingMaxKW: kw, IgnitionKW: least,
		WaterL: between(r, 2, 4), MetalJK: 12e3, CasingWK: 2, HystOnK: 4, HystOffK: 4, AntiCycle: 8 * time.Minute,
		MinBurn: 8 * time.Minute, Overrun: 3 * time.Minute, FlowLimitC: 70, SpreadLimitK: 15, MinPressureBar: 0.5,
		Attempts: 3, Prepurge: 30 * time.Second, RetryPause: time.Minute, SafetyTime: 5 * time.Second, LightAfter: 2 * time.Second,
		FaultCode: uint8(20 + r.IntN(180)),
	}
}

// cylinder is a store that reaches its hygiene temperature at each reheat.
func cylinder(r *rand.Rand, litres float64) house.HotWaterSpec {
	return house.HotWaterSpec{Kind: house.Cylinder, CylinderL: litres, CylinderLossWK: between(r, 1.3, 2), CoilL: 4, CoilUA: between(r, 480, 650),
		SetC: 62, DifferentialK: 8, FlowC: 75, FlowLpm: 12, Hours: []house.Hours{{From: 5, To: 9}, {From: 15, To: 22}}}
}

// plate is hot water made as it flows.
func plate(r *rand.Rand) house.HotWaterSpec {
	return house.HotWaterSpec{Kind: house.Instantaneous, SetC: between(r, 46, 52), FlowLpm: 12}
}

// underfloor turns a home's emitters into a screed: half of the design's excess lies between water and slab, half
// between slab and room; 65 mm of screed hold about 130 kJ/(m²·K). Own assumptions.
func underfloor(s *house.Scenario) {
	c := &s.Circuit
	excess := (s.DesignFlowC+s.DesignReturnC)/2 - designInside
	c.Emitters, c.Exponent = house.Underfloor, exponentFloor
	c.SlabWK = 1.15 * s.Building.DesignLossW / (excess / 2)
	c.Phi50W = 1.1 * s.Building.DesignLossW / math.Pow(excess/2/ratedExcess, exponentFloor)
	c.SlabJK = 130e3 * 0.8 * s.Building.FloorM2
	c.EmitterMetalJK = 5e3
	s.Room.MaxFlowC, s.Room.MinFlowC, s.Room.InfluenceK = s.DesignFlowC+5, 24, 2
	s.Room.SetbackC = s.Room.ComfortC - 1
	s.Room.FromHour, s.Room.ToHour = 4, 22
}
