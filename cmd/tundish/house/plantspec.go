package house

import "time"

// SourceKind is what makes the heat; zero: a boiler that modulates.
type SourceKind uint8

const (
	ModulatingBoiler SourceKind = iota
	OnOffBoiler                 // burns at OutputMaxKW or not at all
	HeatPump                    // no flame, no ignition; OutputMaxKW at 7 °C outside
)

// Fuel is what a boiler burns; zero: natural gas.
type Fuel uint8

const (
	NaturalGas Fuel = iota
	LPG
)

// BoilerSpec is the heat source and its own controls. A zero value of a field that says so means the usual.
type BoilerSpec struct {
	Kind SourceKind
	Fuel Fuel

	OutputMaxKW, OutputMinKW float64 // rated range, heat into the water
	HeatingMaxKW             float64 // ceiling for heating, as set at commissioning
	IgnitionKW               float64 // output while lighting and settling
	WaterL                   float64 // in the heat exchanger
	MetalJK                  float64 // of the heat exchanger, J/K
	CasingWK                 float64 // casing loss, W per K above the room
	AirRatio                 float64 // λ of the combustion; 0: 1.25

	SensorTauS        float64 // lag of its own flow and return sensors, s; 0: 6
	GainKWK, ResetS   float64 // flow control for heating, kW/K and s; 0: 0.25 and 60
	HystOnK, HystOffK float64 // burner on below set-point − HystOnK, off above set-point + HystOffK
	AntiCycle         time.Duration
	MinBurn           time.Duration // least running time of a heat pump once started, flow limit apart
	Overrun           time.Duration // of the pump after the demand's end
	FlowLimitC        float64       // burner off above
	SpreadLimitK      float64       // output is throttled above this flow − return
	OverheatC         float64       // the limiter's: exchanger water above locks out until reset by hand; 0: 100
	MinPressureBar    float64       // burner blocked below, clears 0.2 bar above; 0: the appliance does not look

	Attempts               int // to light before lockout, 3…7
	Prepurge, RetryPause   time.Duration
	SafetyTime, LightAfter time.Duration // longest time with gas and no flame; usual time to a flame
	FaultCode              uint8         // the code shown at an ignition lockout: this house's own
	VolatileLockout        bool          // a supply interruption clears a lockout (EN 298, as remembered)
	FrostC                 float64       // own frost protection: fires below this flow temperature, °C; 0: none
}

// EmitterKind is how the rooms get their heat; zero: radiators.
type EmitterKind uint8

const (
	Radiators EmitterKind = iota
	Underfloor
)

// CircuitSpec is the heating circuit.
type CircuitSpec struct {
	FlowPipeL, ReturnPipeL, EmitterL float64 // water
	PipeMetalJK, EmitterMetalJK      float64 // J/K
	PipeLossWK                       float64 // flow and return pipe together, W/K
	Emitters                         EmitterKind
	Phi50W, Exponent                 float64 // EN 442 output at 50 K and exponent; underfloor: of the slab to the room
	SlabJK, SlabWK                   float64 // underfloor: heat capacity of the slab, J/K; water to slab, W/K
	FlowLpm                          float64 // l/min with all valves open and bypass as it is
	Pump                             PumpSpec
	Valves                           ValveSpec
	BypassShare                      float64 // 0…1 of FlowLpm that passes the emitters by, all valves open
	BypassOpensKPa                   float64 // automatic bypass: opens at this differential pressure; 0: none
}

// PumpSpec is the pump's curve; zero: FlowLpm flows whatever the circuit does.
type PumpSpec struct {
	HeadKPa float64 // at no flow: H = HeadKPa·(1 − (q/FreeLpm)²)
	FreeLpm float64 // against nothing; more than CircuitSpec.FlowLpm
	Hold    bool    // an electronic pump that holds the differential pressure it has at FlowLpm, while its curve allows
}

// ValveSpec are thermostatic radiator valves; zero: none.
type ValveSpec struct {
	Share float64 // of the emitters that have one, 0…1
	SetC  float64 // room temperature at which they are half open, °C
	BandK float64 // from open to shut, K; 0: 2
}

// RoomSpec is the room unit: the master on the bus, or a thermostat.
type RoomSpec struct {
	ComfortC, SetbackC float64
	FromHour, ToHour   float64 // comfort from … to, h of the day
	More               []Hours // further stretches of comfort each day
	DifferentialK      float64 // heat asked for below set-point − half, no more above set-point + half
	CyclesPerHour      float64 // a chopping thermostat: on-time by the room's error within a cycle of 1/CyclesPerHour; 0: plain
	BandK              float64 // of the chopping thermostat: full call at this error, K; 0: 1.5
	Compensated        bool    // flow set-point by outside temperature; else FixedFlowC
	FixedFlowC         float64
	InfluenceK         float64 // K of flow set-point per K of room below set-point
	MaxFlowC, MinFlowC float64 // bounds of the flow set-point
	TauS               float64 // lag of its sensor, s; 0: 300
}

// PeopleSpec is who lives there.
type PeopleSpec struct {
	DrawScale float64  // of all hot-water draws; 0: 1
	Away      []Window // nobody at home: no draws, set-back
}
