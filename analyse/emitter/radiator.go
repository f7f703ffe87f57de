package emitter

import "fmt"

// Condition is a state of water and room, °C: flow/return/room, as 75/65/20.
type Condition struct{ FlowC, ReturnC, RoomC float64 }

func (c Condition) String() string { return fmt.Sprintf("%g/%g/%g", c.FlowC, c.ReturnC, c.RoomC) }

// The conditions that catalogues rate at.
var (
	// EN442 is the test of EN 442-2: 50 K of arithmetic mean excess.
	EN442 = Condition{75, 65, 20}
	// Catalogue60K is how older British catalogues rate, before EN 442: 60 K (common practice, no source).
	Catalogue60K = Condition{90, 70, 20}
)

// Radiator is a radiator or convector by its catalogue.
type Radiator struct {
	// Name is how a person finds it: "bay window". Empty where the room has one only.
	Name string
	// RatedW is the rated output, W, above 0, at RatedAt.
	RatedW float64
	// RatedAt is the condition of RatedW. Zero: EN442 (75/65/20, 50 K). A catalogue that tells an excess only is read
	// by RatedAtExcess: 50 and 60 K have conditions of their own.
	RatedAt Condition
	// Exponent is n of output = K · excessⁿ, 1.0 to 1.6: EN 442 test reports tell it. Zero: 1.3, as of panel
	// radiators (1.2 to 1.35).
	Exponent float64
}

// RatedAtExcess is the condition of a catalogue that tells a mean excess over 20 °C only, K: 50 is EN442, 60 is
// Catalogue60K, others are taken with the spread of EN 442, 10 K.
func RatedAtExcess(k float64) Condition {
	switch k {
	case 50:
		return EN442
	case 60:
		return Catalogue60K
	}
	const room, half = 20, 5
	return Condition{room + k + half, room + k - half, room}
}
