package house

import (
	"time"

	"tundish/analyse/episode"
)

// Span is a stretch of a scenario, as offsets from its start, resolution 1 s. Open tells that the simulation ended
// before it did.
type Span struct {
	From, To time.Duration
	Open     bool
}

// Duration is To − From.
func (s Span) Duration() time.Duration { return s.To - s.From }

// Firing is a burner run: a flame that was proved. Flames of failed attempts are in [Attempt]. A run of a heat pump's
// compressor is a firing without a flame. Use is hot water only where no water went through the heating, but for the
// seconds in which a motor valve moves.
type Firing struct {
	Span
	Use   episode.Use
	End   episode.End
	MaxK  float64 // hottest water in the exchanger less set-point while it burned and a minute after, K
	Mean  float64 // mean output, kW
	Least float64 // least output, kW
}

// Attempt is one try to light that failed. Flame is how long a flame showed, 0: none.
type Attempt struct {
	At    time.Duration // when the attempt was given up
	Flame time.Duration
	Next  AttemptOutcome
}

// AttemptOutcome is what came of the ignition sequence that a failed attempt belongs to.
type AttemptOutcome uint8

const (
	ThenUnknown AttemptOutcome = iota // the record ended
	ThenLit                           // a later attempt of the same sequence held
	ThenLockout                       //
	ThenGivenUp                       // nobody wanted heat any more
)

// Overrun is a stretch in which the pump ran on with no demand.
type Overrun struct {
	Span
	After episode.Use
}

// Block is a stretch in which the boiler held the burner off by itself and let it go by itself.
type Block struct {
	Span
	Cause string // low-pressure, air-pressure
	Shown bool   // the fault bit was up
}

// Lockout is a stretch in which the boiler was held off until a person acted.
type Lockout struct {
	Span
	Cause    string // one of the words of tundish/analyse/episode
	Attempts int    // failed attempts, or flames lost, that led to it
	Flags    uint8
	Code     uint8
	Reset    episode.Reset
}

// Silence is a stretch in which the bus adapter printed nothing: without mains, or, unexplained, because the adapter
// died. The first frame after mains come back is some seconds later than To.
type Silence struct {
	Span
	Reason episode.SilenceReason
}

// Truth is what happened, known because it was made to happen. Each list is in order of time.
type Truth struct {
	Ended    time.Duration // how much was simulated
	Firings  []Firing
	Demands  []Span // the room unit asked for heat
	Draws    []Span // hot water was being made
	Attempts []Attempt
	Lockouts []Lockout
	Silences []Silence
	Overruns []Overrun
	Blocks   []Block
	Refills  []time.Duration // when water was let in
	Ledger   Ledger
}

// Ledger is the heat since the start, J. Two sums must close: circuit and house.
type Ledger struct {
	Fuel         float64 // burnt, on the gross (higher) heating value; a heat pump's electricity
	Flue         float64 // left with the flue gas, latent heat included
	Ambient      float64 // taken from outside by a heat pump
	CondensateKg float64
	Burner       float64 // into the exchanger's water
	Emitters     float64 // to the rooms
	CasingPipes  float64 // to the rooms
	HotWater     float64 // through coil or plate
	WaterMetal   float64 // change of heat stored in the circuit
	Gains        float64 // people, appliances, sun
	CylinderLoss float64 // to the rooms
	Outside      float64 // lost by the building
	Fabric       float64 // change of heat stored in air and fabric
	Drawn        float64 // left at the taps
	Cylinder     float64 // change of heat stored in the cylinder
}

// Circuit is what the circuit's sum leaves unexplained, as a share of the burner's heat: burner = emitters + losses +
// hot water + change of heat stored. 0 before any firing.
func (l Ledger) Circuit() float64 {
	if l.Burner == 0 {
		return 0
	}
	return (l.Burner - l.Emitters - l.CasingPipes - l.HotWater - l.WaterMetal) / l.Burner
}

// House is the same for the building with its cylinder: emitters, losses, gains and hot water came in; what went
// outside and to the drain left; the rest is stored. As a share of the heat that came in.
func (l Ledger) House() float64 {
	in := l.Emitters + l.CasingPipes + l.Gains + l.HotWater
	if in == 0 {
		return 0
	}
	return (in - l.Outside - l.Fabric - l.Drawn - l.Cylinder) / in
}
