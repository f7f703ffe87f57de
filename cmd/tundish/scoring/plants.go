package scoring

import (
	"slices"
	"time"

	"tundish/analyse/episode"
	"tundish/cmd/tundish/cases"
	"tundish/cmd/tundish/house"
)

// Plant is one kind of heating system in the table, or a group of homes from the library of cases.
type Plant struct {
	Name     string // short, for tables
	Doc      string // one line
	Scenario house.Scenario
	Cases    []cases.Case // of a group, which is listened to by the usual bus only, for as long as each case lasts
}

// group tells that the plant is many homes.
func (p Plant) group() bool { return p.Cases != nil }

// scenarios are the houses of one seed.
func (p Plant) scenarios(seed uint64, days int) []house.Scenario {
	if !p.group() {
		s := p.Scenario
		s.Days = days
		return []house.Scenario{s}
	}
	var all []house.Scenario
	for _, c := range p.Cases {
		if s := c.Scenario(seed); !s.NoBus {
			all = append(all, s)
		}
	}
	return all
}

// Plants are the kinds of plant that are measured. All figures are own assumptions in the range of common practice.
func Plants() []Plant {
	return []Plant{
		{"modulating", "a boiler that fits its house and modulates; radiators; a cylinder by a diverter", base("sound"), nil},
		{"on/off, mid-position", "a boiler that burns at full output or not at all; a thermostat with six cycles an hour; a cylinder by a mid-position valve", onOff(), nil},
		{"oversized, little water", "least output above what the house takes, few litres of water: short cycles all day; ignition lockouts", oversized(), nil},
		{"underfloor", "a modulating boiler on a heated slab; no hot water", underfloor(), nil},
		{"instantaneous", "radiators; hot water made as it is drawn; attempts to light that fail", instantaneous(), nil},
		{"switched live", "boiler and bus have their mains only while heat is asked for", base("switched-live"), nil},
		{"heat pump", "a compressor instead of a burner, on radiators; no hot water", heatPump(), nil},
		{"noisy bus", "as the first, with lost replies, flipped bits and noise on the bus", base("noisy-line"), nil},
		{"faults", "lockouts of many causes, attempts that fail, an adapter that dies", faulty(), nil},
		{"cases", "the library's homes with lockouts, failed attempts or a silent bus, and those that look alike", house.Scenario{}, troubled()},
	}
}

// troubled are the cases whose kinds are told from lockouts, attempts and silences, with their look-alikes.
func troubled() (list []cases.Case) {
	kinds := []string{"lockout", "ignition-retries", "bus-silence"}
	for _, c := range cases.All() {
		if len(c.Intended) > 0 && slices.Contains(kinds, c.Intended[0]) || slices.Contains(kinds, c.LookAlikeOf) {
			list = append(list, c)
		}
	}
	return list
}

// base is a scenario of the house by its name.
func base(name string) house.Scenario {
	s, _ := house.Find(name)
	return s
}

func onOff() house.Scenario {
	s := base("sound")
	s.Name = "on-off"
	s.Boiler.Kind = house.OnOffBoiler
	s.Boiler.OutputMaxKW, s.Boiler.OutputMinKW, s.Boiler.HeatingMaxKW, s.Boiler.IgnitionKW = 12, 12, 12, 12
	s.Room.Compensated, s.Room.FixedFlowC = false, 70
	s.Room.CyclesPerHour, s.Room.BandK = 6, 1.5
	s.HotWater.Plan = house.MidPosition
	return s
}

func oversized() house.Scenario {
	s := base("cold-mornings")
	s.Weather.Snaps = []house.ColdSnap{{Day: 0, LowC: -5}, {Day: 1, LowC: -5}}
	s.Faults.Ignition = []house.IgnitionFault{
		{Window: between(0, 4, 9), BelowC: 0, Fails: 5, Sequences: 1, ResetAfter: 50 * time.Minute, Reset: episode.ResetCommand},
		{Window: between(1, 4, 9), BelowC: 0, Fails: 5, Sequences: 1, ResetAfter: 70 * time.Minute, Reset: episode.ResetByHand},
	}
	return s
}

func underfloor() house.Scenario {
	s := base("sound")
	s.Name = "underfloor"
	s.HotWater = house.HotWaterSpec{}
	// 90 m² of 65 mm screed hold about 12 MJ/K; 8 W/(m²·K) from the water to the slab: own assumptions. From the floor to
	// the room q = 8.92·Δθ^1.1 W/m² (EN 1264-2, from memory), so 660 W/m² at 50 K.
	s.Circuit.Emitters, s.Circuit.SlabJK, s.Circuit.SlabWK = house.Underfloor, 12e6, 700
	s.Circuit.Phi50W, s.Circuit.Exponent = 90*660, 1.1
	s.Circuit.FlowLpm, s.Circuit.EmitterMetalJK = 14, 10e3
	s.Room.MaxFlowC, s.Room.MinFlowC = 45, 25
	s.DesignFlowC, s.DesignReturnC = 42, 36
	return s
}

func instantaneous() house.Scenario {
	s := base("retries")
	s.Weather.Snaps = []house.ColdSnap{{Day: 0, LowC: -3}, {Day: 1, LowC: -5}}
	return s
}

func heatPump() house.Scenario {
	s := base("sound")
	s.Name = "heat-pump"
	s.HotWater = house.HotWaterSpec{}
	s.Boiler.Kind = house.HeatPump
	s.Boiler.OutputMaxKW, s.Boiler.OutputMinKW, s.Boiler.HeatingMaxKW = 7, 2.5, 7
	s.Boiler.MinBurn, s.Boiler.AntiCycle = 6*time.Minute, 6*time.Minute
	s.Circuit.FlowLpm, s.Circuit.Phi50W, s.Circuit.EmitterL = 16, 16000, 90
	s.Room.MaxFlowC = 55
	s.DesignFlowC, s.DesignReturnC = 50, 44
	return s
}

func faulty() house.Scenario {
	s := base("sound")
	s.Name = "faults"
	s.Weather.Snaps = []house.ColdSnap{{Day: 0, LowC: -5}, {Day: 1, LowC: -6}}
	s.Faults = house.FaultSpec{
		Ignition: []house.IgnitionFault{
			{Window: between(0, 5, 8), BelowC: 5, Fails: 5, Sequences: 1, ResetAfter: 45 * time.Minute, Reset: episode.ResetPower},
			{Window: between(1, 16, 20), BelowC: 8, Fails: 2, Sequences: 2},
		},
		FlameLoss: []house.FlameLossFault{{Window: between(0, 9, 15), After: 25 * time.Second, Times: 8, ResetAfter: 40 * time.Minute}},
		OwnSensor: []house.SensorFault{{Window: between(1, 6, 7), Ails: house.OpenWire}},
		Blocked:   []house.BlockFault{{Window: between(1, 9, 10), Cause: house.BlockAirPressure, Lockout: true}},
		Adapter:   []house.AdapterFault{{Window: between(1, 12, 13)}},
	}
	return s
}

// between is a stretch of a day, in hours after midnight.
func between(day, from, to int) house.Window {
	at := func(hour int) time.Duration { return time.Duration(24*day+hour) * time.Hour }
	return house.Window{From: at(from), To: at(to)}
}
