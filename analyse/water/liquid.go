package water

import "fmt"

// Liquid is what circulates. Zero is water; anything else is told by whoever knows that it is in there: nothing in this
// package takes glycol by itself, and water's figures for a mixture tell too much heat by several per cent.
type Liquid struct {
	// Name is empty for water.
	Name string
	// DensityKgM3 and HeatKJKgK are of the mixture at its mean temperature, by its data sheet: 700 to 1300 kg/m³, 1.5 to
	// 4.3 kJ/(kg·K). Both 0 for water.
	DensityKgM3, HeatKJKgK float64
	// ViscosityMPaS is the dynamic viscosity at that temperature, mPa·s, for pressure drops alone. 0: not known.
	ViscosityMPaS float64
	// ErrorShare is how far density times specific heat may be off, ± as a share.
	ErrorShare float64
	// Source is where the figures are from.
	Source string
}

// Mixtures at 50 to 60 °C. The middle of what tables of inhibited glycols have (ASHRAE Handbook Fundamentals, secondary
// coolants; from memory). The data sheet of what was filled in is better.
var (
	// PropyleneGlycol30 is 30 % by volume of inhibited propylene glycol: about 5 % less heat than water by volume.
	PropyleneGlycol30 = Liquid{Name: "30 % propylene glycol", DensityKgM3: 1007.5, HeatKJKgK: 3.875, ErrorShare: 0.015,
		Source: "ASHRAE Handbook Fundamentals, secondary coolants (from memory)"}
	// EthyleneGlycol30 is 30 % by volume of inhibited ethylene glycol: 6 to 8 % less.
	EthyleneGlycol30 = Liquid{Name: "30 % ethylene glycol", DensityKgM3: 1025, HeatKJKgK: 3.725, ErrorShare: 0.015,
		Source: "ASHRAE Handbook Fundamentals, secondary coolants (from memory)"}
)

// IsWater tells whether nothing but water was told of.
func (l Liquid) IsWater() bool { return l.DensityKgM3 == 0 && l.HeatKJKgK == 0 && l.ViscosityMPaS == 0 }

// Check says what is wrong with a mixture's figures.
func (l Liquid) Check() error {
	switch {
	case l.IsWater() && l.Name == "":
		return nil
	case !(l.DensityKgM3 >= 700 && l.DensityKgM3 <= 1300):
		return fmt.Errorf("density of %s is %g kg/m³: give that of the mixture's data sheet, 700 to 1300", l.name(), l.DensityKgM3)
	case !(l.HeatKJKgK >= 1.5 && l.HeatKJKgK <= 4.3):
		return fmt.Errorf("specific heat of %s is %g kJ/(kg·K): give that of the mixture's data sheet, 1.5 to 4.3", l.name(), l.HeatKJKgK)
	case !(l.ViscosityMPaS >= 0 && l.ViscosityMPaS <= 100):
		return fmt.Errorf("viscosity of %s is %g mPa·s: give that of the mixture's data sheet, 0 (not known) to 100; water has 0.5", l.name(), l.ViscosityMPaS)
	}
	return nil
}

func (l Liquid) name() string {
	if l.Name == "" {
		return "the liquid"
	}
	return l.Name
}

// density and heatBetween take temperatures in range and a checked liquid.
func (l Liquid) density(c float64) float64 {
	if l.IsWater() {
		return between(&densityKgM3, c)
	}
	return l.DensityKgM3
}

// heatBetween is the heat that a kilogram gives from one temperature to another, kJ.
func (l Liquid) heatBetween(hotC, coldC float64) float64 {
	if l.IsWater() {
		return enthalpy(hotC) - enthalpy(coldC)
	}
	return l.HeatKJKgK * (hotC - coldC)
}
