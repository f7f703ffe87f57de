package emitter

// Pipe is a length of pipe that carries the water of some rooms.
type Pipe struct {
	// Name is how a person finds it: "riser", "to the bathroom".
	Name string
	// OutsideMM is the outside diameter of a copper tube to EN 1057, mm: 8, 10, 12, 15, 22, 28, 35. Zero: BoreMM is given.
	OutsideMM float64
	// BoreMM is the clear bore, mm, for other pipes. Zero: by OutsideMM. Both is an error.
	BoreMM float64
	// RoughnessMM is the wall's roughness, mm. Zero: 0.0015, drawn copper and plastic.
	RoughnessMM float64
	// LengthM is flow and return together, m. Zero: not known, and the pressure drop is told by the metre only.
	LengthM float64
	// Rooms are the names of the rooms whose water it carries. Empty: all of them, as the pipes at the boiler do.
	Rooms []string
}
