package house

import (
	"time"

	"tundish/analyse/episode"
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

	SwitchedLive               bool    // mains, and with it the bus, only while heat or hot water is asked for
	DesignFlowC, DesignReturnC float64 // °C, of the emitters at the design temperature
}

// BoilerSpec is the heat source and its own controls.
type BoilerSpec struct {
	OutputMaxKW, OutputMinKW float64 // rated range, heat into the water
	HeatingMaxKW             float64 // ceiling for heating, as set at commissioning
	IgnitionKW               float64 // output while lighting and settling
	WaterL                   float64 // in the heat exchanger
	MetalJK                  float64 // of the heat exchanger, J/K
	CasingWK                 float64 // casing loss, W per K above the room
	HystOnK, HystOffK        float64 // burner on below set-point − HystOnK, off above set-point + HystOffK
	AntiCycle                time.Duration
	Overrun                  time.Duration // of the pump after the demand's end
	FlowLimitC               float64       // burner off above
	SpreadLimitK             float64       // output is throttled above this flow − return
	Attempts                 int           // to light before lockout
	Prepurge, RetryPause     time.Duration
	SafetyTime, LightAfter   time.Duration // longest time with gas and no flame; usual time to a flame
	FaultCode                uint8         // the code shown at an ignition lockout: this house's own
}

// CircuitSpec is the heating circuit.
type CircuitSpec struct {
	FlowPipeL, ReturnPipeL, EmitterL float64 // water
	PipeMetalJK, EmitterMetalJK      float64 // J/K
	PipeLossWK                       float64 // flow and return pipe together, W/K
	Phi50W, Exponent                 float64 // EN 442 output at 50 K and exponent
	FlowLpm                          float64 // pump, l/min
	BypassShare                      float64 // 0…1
}

// WaterL is all the water between fill valve and last emitter, coil included, l.
func (s *Scenario) WaterL() float64 {
	return s.Boiler.WaterL + s.Circuit.FlowPipeL + s.Circuit.ReturnPipeL + s.Circuit.EmitterL + s.HotWater.CoilL
}

// RoomSpec is the room unit: the master on the bus.
type RoomSpec struct {
	ComfortC, SetbackC float64
	FromHour, ToHour   float64 // comfort from … to, h of the day
	DifferentialK      float64 // heat asked for below set-point − half, no more above set-point + half
	Compensated        bool    // flow set-point by outside temperature; else FixedFlowC
	FixedFlowC         float64
	InfluenceK         float64 // K of flow set-point per K of room below set-point
	MaxFlowC, MinFlowC float64 // bounds of the flow set-point
}

// FaultSpec is what goes wrong, and when.
type FaultSpec struct {
	Ignition  []IgnitionFault
	FlameLoss []FlameLossFault
	Adapter   []Window // the bus adapter prints nothing
	LostReply float64  // probability that the boiler's reply is missing
	BadParity float64  // probability, per line, of one flipped bit
	Garbage   float64  // probability, per line, of a line of noise after it
}

// Window is a stretch of a scenario.
type Window struct{ From, To time.Duration }

func (w Window) contains(t time.Duration) bool { return t >= w.From && t < w.To }

// IgnitionFault makes attempts fail in ignition sequences that begin in the window with the outside at BelowC or
// colder, for the first Sequences of them.
type IgnitionFault struct {
	Window
	BelowC     float64
	Fails      int           // attempts that fail in one sequence; the boiler's Attempts or more: lockout
	Flame      time.Duration // how long a flame shows in a failed attempt; 0: none
	Sequences  int
	ResetAfter time.Duration // after a lockout: when a person resets
	Reset      episode.Reset // ResetByHand or ResetCommand
}

// FlameLossFault drops the flame of firings in the window once they have run for After, Times times in all.
type FlameLossFault struct {
	Window
	After time.Duration
	Times int
}

// clock is hh:mm on a day of the scenario, from 0.
func clock(d, hh, mm int) time.Duration {
	return time.Duration(d)*day + time.Duration(hh)*time.Hour + time.Duration(mm)*time.Minute
}
