package house

import (
	"time"

	"tundish/analyse/episode"
)

// FaultSpec is what goes wrong, and when. What stands for good (a bypass left open, a flat vessel, a slow pump, a
// cylinder set too low) is in the specs of the parts.
type FaultSpec struct {
	Ignition  []IgnitionFault
	FlameLoss []FlameLossFault
	Blocked   []BlockFault
	OwnSensor []SensorFault // of the boiler's own sensors, as control and bus see them

	NoFlow    []Window    // air lock or shut valve: no water moves through the circuit while the pump runs
	Pump      []PumpFault // a failing pump
	Sludge    Sludge
	Stuck     []ValveFault // the motor valve of heating or cylinder, or the diverter
	Leak      []Leak
	Refills   []Refill
	Precharge []PrechargeLoss

	Probe     []ProbeFault
	Adapter   []AdapterFault
	Restarts  []time.Duration // the adapter restarts: a banner of its own, nothing for some seconds, perhaps a cut line
	LoggerOff []Window        // no logger ran
	Clock     []ClockStep
	LostReply float64  // probability that the boiler's reply is missing
	BadParity float64  // probability, per line, of one flipped bit
	Garbage   float64  // probability, per line, of a line of noise after it
	Chatter   float64  // probability that a conversation is had twice at once
	Supply    []Window // no mains at all: power cut, or the fused spur turned off
}

// Window is a stretch of a scenario.
type Window struct{ From, To time.Duration }

func (w Window) contains(t time.Duration) bool { return t >= w.From && t < w.To }

// IgnitionFault makes attempts fail in ignition sequences that begin in the window with the outside at BelowC or
// colder, for the first Sequences of them.
type IgnitionFault struct {
	Window
	BelowC     float64
	ColdFor    time.Duration // how long it must have been as cold as that (a condensate pipe that froze); 0: no matter
	Fails      int           // attempts that fail in one sequence; the boiler's Attempts or more: lockout
	Chance     float64       // 0: the first Fails attempts fail; else each attempt fails with this probability
	Flame      time.Duration // how long a flame shows in a failed attempt; 0: none
	Sequences  int
	ResetAfter time.Duration // after a lockout: when a person resets
	Reset      episode.Reset // ResetByHand, ResetCommand or ResetPower
}

// FlameLossFault drops the flame of firings in the window once they have run for After, Times times in all.
type FlameLossFault struct {
	Window
	After      time.Duration
	Times      int
	ResetAfter time.Duration // after a lockout; 0: an hour
}

// BlockCause is why a burner may not start.
type BlockCause uint8

const (
	BlockAirPressure BlockCause = iota // air-pressure switch or fan: block before any spark; the fault bit is up
	BlockInterlock                     // an external contact is open: no fault is shown
)

// BlockFault keeps the burner from starting in a window: demand that is not met.
type BlockFault struct {
	Window
	Cause   BlockCause
	Lockout bool // needs a reset at the window's end; else clears by itself
}

// SensorAilment is what can be wrong with a sensor.
type SensorAilment uint8

const (
	Drifted   SensorAilment = iota // reads By too high, K
	Jumping                        // now and then jumps by By for one to three seconds, EveryS apart on average
	StuckAt                        // holds the value it had
	OpenWire                       // rail: −40 °C on the boiler's own
	ShortWire                      // rail: 125 °C on the boiler's own
)

// SensorFault is one ailing sensor. On the boiler's own flow sensor OpenWire and ShortWire lock the burner out
// until they are mended at the window's end and the boiler is reset.
type SensorFault struct {
	Window
	Return bool // the return sensor; else flow
	Ails   SensorAilment
	By     float64
	EveryS float64
}

// PumpFault is a pump that gives only a share of its head and flow.
type PumpFault struct {
	Window
	Share float64 // of its speed, 0…1: flow goes with it, head with its square
}

// Sludge adds to the circuit's resistance: flow at full valves falls to FlowLpm / √(1 + At + PerDay·days).
type Sludge struct{ At, PerDay float64 }

// Where says which valve.
type Where uint8

const (
	HeatingValve Where = iota
	CylinderValve
)

// ValveFault is a motor valve that does not obey.
type ValveFault struct {
	Window
	Where Where
	Open  float64 // stuck at this opening, 0 shut … 1 open; a passing valve is one that shuts no further
}

// Leak loses water.
type Leak struct {
	Window
	LPerDay float64
	HotOnly bool // only while the flow is above 50 °C
}

// Refill is a person who tops up.
type Refill struct {
	At    time.Duration
	ToBar float64
}

// PrechargeLoss lets gas out of the expansion vessel: the pre-charge falls by BarPerDay within the window.
type PrechargeLoss struct {
	Window
	BarPerDay float64
}

// ProbeAilment is what can be wrong with a clip-on probe.
type ProbeAilment uint8

const (
	SlippedOff ProbeAilment = iota // hangs beside the pipe: Share of the excess over the room
	PowerOn                        // 85 °C, the power-on value, now and then
	BadCRC                         // scratchpads that fail their checksum, now and then
	Gone                           // no answer at all
	ProbeStuck                     // the same value on and on
	ProbeDrift                     // reads By K too high, growing from nothing over the window
)

// ProbeFault is one ailing probe.
type ProbeFault struct {
	Window
	Return bool // the return probe; else flow
	Ails   ProbeAilment
	Share  float64 // SlippedOff: 0…1; PowerOn, BadCRC: probability per reading
	By     float64 // K
}

// AdapterFault is a stretch in which the bus adapter prints nothing. Noted: the logger saw the device go.
type AdapterFault struct {
	Window
	Noted bool
}

// ClockStep is a correction of the logger's wall clock.
type ClockStep struct {
	At time.Duration
	By time.Duration
}
