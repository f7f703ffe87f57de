package emitter

import (
	"fmt"
	"slices"
)

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

// Roughness is the wall's roughness of drawn copper and plastic, mm (usual value of handbooks, from memory).
const Roughness = 0.0015

// copper are outside diameter and bore of the usual half-hard copper tubes, mm: EN 1057 with walls of 0.6 (to 12 mm), 0.7
// (15 mm), 0.9 (22, 28 mm) and 1.2 mm (35 mm).
var copper = []struct{ outside, bore float64 }{{8, 6.8}, {10, 8.8}, {12, 10.8}, {15, 13.6}, {22, 20.2}, {28, 26.2}, {35, 32.6}}

// CopperBoreMM is the bore of a copper tube to EN 1057 by its outside diameter, mm.
func CopperBoreMM(outsideMM float64) (float64, error) {
	var known []float64
	for _, c := range copper {
		if c.outside == outsideMM {
			return c.bore, nil
		}
		known = append(known, c.outside)
	}
	return 0, fmt.Errorf("outside diameter of copper tube is %g mm: known are %v; else give the bore", outsideMM, known)
}

func (p Pipe) bore() (float64, error) {
	switch {
	case p.BoreMM != 0 && p.OutsideMM != 0:
		return 0, fmt.Errorf("both outside diameter and bore are given: give one of them")
	case p.BoreMM == 0:
		return CopperBoreMM(p.OutsideMM)
	case !(p.BoreMM >= lowestBore && p.BoreMM <= highestBore):
		return 0, outOf("bore", p.BoreMM, "mm", lowestBore, highestBore)
	}
	return p.BoreMM, nil
}

func (p Pipe) roughness() float64 {
	if p.RoughnessMM == 0 {
		return Roughness
	}
	return p.RoughnessMM
}

// Check says what is wrong with a pipe in a house with those rooms.
func (p Pipe) Check(rooms []string) error {
	bore, err := p.bore()
	if err != nil {
		return err
	}
	if !(p.RoughnessMM >= 0 && p.RoughnessMM <= 0.05*bore) {
		return outOf("roughness", p.RoughnessMM, "mm", 0, 0.05*bore)
	}
	if !(p.LengthM >= 0 && p.LengthM <= 1000) {
		return outOf("length", p.LengthM, "m", 0, 1000)
	}
	for _, r := range p.Rooms {
		if !slices.Contains(rooms, r) {
			return fmt.Errorf("it carries the water of %q: there is no such room", r)
		}
	}
	return nil
}
