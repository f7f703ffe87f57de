package emitter

import "tundish/analyse/water"

// Room is a heated room with all that heats it.
type Room struct {
	// Name is unique in the house.
	Name string
	// InsideC is the design inside temperature, 5 to 35 °C.
	InsideC float64
	// NeedW is the design heat loss, W, at the System's OutsideC, 0 or above. A room that only gains has 0.
	NeedW float64
	// Radiators and Underfloor heat it, in any number and mixture; none is a room that its neighbours heat, and it
	// limits nothing where NeedW is 0.
	Radiators  []Radiator
	Underfloor []Underfloor
}

// System is a house's emitters.
type System struct {
	// OutsideC is the design outside temperature that the rooms' needs are told for, −40 to 15 °C.
	OutsideC float64
	Rooms    []Room
	// Pipes are told for their velocity only; none is fine.
	Pipes []Pipe
	// Liquid is what circulates. Zero: water. Glycol is never taken by itself.
	Liquid water.Liquid
}
