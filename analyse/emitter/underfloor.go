package emitter

// Underfloor is a heated floor by its own law, q = KH · excessⁿ with q in W for each m² of heated floor, or by a rated
// output. Give KH, or RatedW with RatedExcessK; both is an error.
type Underfloor struct {
	// Name is how a person finds it: "east loop". Empty where the room has one only.
	Name string
	// AreaM2 is the floor that is heated, m², above 0: without cupboards and baths.
	AreaM2 float64
	// KH is in W/(m²·Kⁿ): of the system's calculation or test to EN 1264-2, with its covering. Usual are 2 (carpet) to
	// 7 (tiles, narrow pipes).
	KH float64
	// RatedW is the output of the whole area, W, at RatedExcessK, where no KH is known.
	RatedW float64
	// RatedExcessK is the excess of the mean water over the room at RatedW, K, above 0.
	RatedExcessK float64
	// Exponent is n, 1.0 to 1.6. Zero: 1.1. EN 1264-2 draws the line of a system through 0 straight: for a KH that comes
	// from there give 1.
	Exponent float64
	// SurfaceExcessK is by how much the floor's surface may be warmer than the room, K. Zero: 9 (29 °C in a room of
	// 20 °C); a bathroom has 9 as well (33 °C at 24 °C), the edge zone 15.
	SurfaceExcessK float64
}
