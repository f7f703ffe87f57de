package suit

import "tundish/analyse/assume"

// Estimate is a figure and the range in which it may lie. Where no range is known, Low and High are the figure itself.
type Estimate struct{ Value, Low, High float64 }

// Exactly is a figure of which no range is known.
func Exactly(v float64) Estimate { return Estimate{v, v, v} }

// Within is a figure that may be off by a share of itself either way.
func Within(v, share float64) Estimate { return Estimate{v, v * (1 - share), v * (1 + share)} }

// Ranged tells whether a range is known.
func (e Estimate) Ranged() bool { return e.Low < e.High }

// Assumption is a figure that was taken because nobody gave it, or a limit by which an answer was made.
type Assumption = assume.Assumption

// Input is all that an answer is made from. A nil part is not known; the text beside it says why.
type Input struct {
	Computed        *Computed
	ComputedMissing string // why there is no computed load
	Measured        *Measured
	MeasuredMissing string // why there is no measured load
	Plant           Plant
	Hours           Histogram
	HoursMissing    string // why Hours is empty
	Needed          []CurvePoint
	NeededMissing   string // why Needed is empty
	NeededBy        string // by which load: "the measured load"
	Delivered       []Delivered
	DeliveredFrom   string // which sensor gave the flow: "boiler"
	DeliveredWhy    string // why Delivered is empty
	Rooms           []Room
	// LowFlowC is the flow temperature that counts as low, °C; 0: [LowFlowUsual].
	LowFlowC float64
}

// Computed is the load by a heat loss computed from the building.
type Computed struct {
	From    string   // who computed it: "the house file mill.toml", "the job sheet"
	WPerK   Estimate // to the outside
	DesignW Estimate // W at OutsideC
	// InsideC is where the load line comes to nothing, gains ignored, °C: for rooms of different temperatures
	// OutsideC + the loss to the outside ÷ WPerK.
	InsideC, OutsideC float64
	// GainsW are gains of sun, people and appliances that the user gives, W. 0: none are taken off.
	GainsW float64
}

// Measured is the load by the heat that was made over days of different weather.
type Measured struct {
	Basis    string // what the heat was measured by: "heat counter"
	Days     int
	WPerK    Estimate // the slope, with its 95 % interval
	BaseW    float64  // what does not go with the weather
	BalanceC float64  // °C outside above which heat does not go with the weather
	// Design is the load at the design temperatures; nil where the outside one is not known.
	Design *MeasuredDesign
	// Line is the load in use by outside temperature, from cold to warm, with its interval.
	Line   []LinePoint
	Points []DayPoint
	// Remarks limit what the figures are worth: a sentence without a full stop each.
	Remarks []string
}

// MeasuredDesign is the measured load at the design temperatures, W.
type MeasuredDesign struct {
	OutsideC, InsideC float64
	InUseW            Estimate // with the gains and habits of the people in it
	LossW             Estimate // with no gains taken off, as a computed figure has it
}

// LinePoint is the load at an outside temperature, W.
type LinePoint struct {
	OutsideC float64
	W        Estimate
}

// DayPoint is one day: its mean outside temperature, °C, and the mean power that went into heating, W.
type DayPoint struct{ OutsideC, W float64 }

// Plant is what the appliance can give, W; 0: not known.
type Plant struct {
	GreatestW, LeastW       float64
	GreatestFrom, LeastFrom string // who says so: "the job sheet"
	HeatPump                bool
}

// CurvePoint is one pair of a weather curve, °C.
type CurvePoint struct{ OutsideC, FlowC float64 }

// Delivered is the mean flow temperature while the plant fired for heating, °C, at an outside temperature, and over how
// many hours of firing.
type Delivered struct{ OutsideC, FlowC, H float64 }

// Room is how a room's emitters do.
type Room struct {
	Name    string
	NeedW   float64 // at design
	OutputW float64 // of its emitters at the design flow and return; 0 where EmitterKnown is false
	// EmitterKnown: the file says what emitters it has.
	EmitterKnown bool
	// LowestFlowC is the lowest flow temperature at which it still reaches its temperature at design, °C; 0: not known, or
	// at none.
	LowestFlowC float64
}
