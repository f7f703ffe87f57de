package house

import (
	"time"
)

// day is one day of a scenario. Scenarios run without a change of clocks.
const day = 24 * time.Hour

// Streams of random numbers, one for each part, so that one part's use of chance never moves another's.
const (
	streamWeather = iota + 1
	streamPeople
	streamBus
	streamProbes
)

// Scenario is one house, its plant, its weather and its faults: all data. Copy one from [Find] and change it to make
// another; the zero Scenario is of no use.
type Scenario struct {
	Name, Doc string
	Days      int       // length of a recording
	Start     time.Time // midnight of the first day, UTC
	Timezone  string    // IANA; its offset is taken as 0 for the schedule's hours
	JobName   string    // an invented name for the job sheet

	Building BuildingSpec
	Weather  WeatherSpec
	Boiler   BoilerSpec
	Circuit  CircuitSpec
	Vessel   VesselSpec
	HotWater HotWaterSpec
	Room     RoomSpec
	Bus      BusSpec
	Probes   ProbeSpec
	Faults   FaultSpec
	People   PeopleSpec

	NoBus, NoProbes bool // what the engineer did not fit

	SwitchedLive               bool    // mains, and with it the bus, only while heat or hot water is asked for
	DesignFlowC, DesignReturnC float64 // °C, of the emitters at the design temperature
}

// WaterL is all the water between fill valve and last emitter, coil included, l.
func (s *Scenario) WaterL() float64 {
	return s.Boiler.WaterL + s.Circuit.FlowPipeL + s.Circuit.ReturnPipeL + s.Circuit.EmitterL + s.HotWater.CoilL
}

// clock is hh:mm on a day of the scenario, from 0.
func clock(d, hh, mm int) time.Duration {
	return time.Duration(d)*day + time.Duration(hh)*time.Hour + time.Duration(mm)*time.Minute
}
