package fuel

import (
	"fmt"
	"math"
)

// Fuel is a fuel by its mean molecule.
type Fuel struct {
	Name string
	// Carbon and Hydrogen are atoms in a molecule.
	Carbon, Hydrogen float64
	// GrossKJMol is the gross calorific value, kJ/mol at 25 °C.
	GrossKJMol float64
}

const (
	// latentKJMol is the heat that water vapour gives when it condenses at 25 °C, kJ/mol: what parts gross from net (ISO
	// 6976, from memory).
	latentKJMol = 44.01
	// waterGMol is the molar mass of water, g/mol.
	waterGMol = 18.015
	kJPerKWh  = 3600
)

// The fuels. Gross calorific values of ISO 6976, from memory. Heating oil is 86.3 % carbon and 13.7 % hydrogen by mass
// with 45.6 MJ/kg gross (usual values, from memory), told for one atom of carbon: 13.92 g.
var (
	Methane    = Fuel{"methane", 1, 4, 890.63}
	Propane    = Fuel{"propane", 3, 8, 2219.17}
	Hydrogen   = Fuel{"hydrogen", 0, 2, 285.83}
	HeatingOil = Fuel{"heating oil", 1, 1.89, 45.6 * 13.916}
)

// Part is a share of a mixture, by volume, 0 to 1.
type Part struct {
	Fuel  Fuel
	Share float64
}

// Mix is a mixture of gases; the shares come to 1.
func Mix(name string, parts ...Part) (Fuel, error) {
	out := Fuel{Name: name}
	sum := 0.0
	for _, p := range parts {
		if err := p.Fuel.check(); err != nil {
			return Fuel{}, fmt.Errorf("in the mixture %s: %w", name, err)
		}
		if !(p.Share >= 0 && p.Share <= 1) {
			return Fuel{}, fmt.Errorf("share of %s in the mixture %s is %g: it lies from 0 to 1", p.Fuel.Name, name, p.Share)
		}
		sum += p.Share
		out.Carbon += p.Share * p.Fuel.Carbon
		out.Hydrogen += p.Share * p.Fuel.Hydrogen
		out.GrossKJMol += p.Share * p.Fuel.GrossKJMol
	}
	if math.Abs(sum-1) > 1e-6 {
		return Fuel{}, fmt.Errorf("shares of the mixture %s come to %g: they come to 1", name, sum)
	}
	return out, nil
}

// check says what a molecule cannot be. Hydrogen of 0 is coke: it makes no water.
func (f Fuel) check() error {
	switch {
	case !(f.Carbon >= 0 && f.Carbon <= 100), !(f.Hydrogen >= 0 && f.Hydrogen <= 250), f.Carbon+f.Hydrogen <= 0:
		return fmt.Errorf("fuel %q has %g atoms of carbon and %g of hydrogen: give those of its molecule", f.Name, f.Carbon, f.Hydrogen)
	case !(f.GrossKJMol > f.Hydrogen/2*latentKJMol && f.GrossKJMol < 1e6):
		return fmt.Errorf("fuel %q has a gross calorific value of %g kJ/mol: it is above what its water takes, %.0f", f.Name, f.GrossKJMol, f.Hydrogen/2*latentKJMol)
	}
	return nil
}

// Values are what follows from the molecule alone.
type Values struct {
	// GrossByNet is the gross by the net calorific value: 1.11 for methane.
	GrossByNet float64
	// WaterKgPerKWhGross and WaterKgPerKWhNet are the water that burning makes, all of it, kg/kWh.
	WaterKgPerKWhGross, WaterKgPerKWhNet float64
	// LatentShareOfNet is the heat in the vapour, as a share of the net calorific value.
	LatentShareOfNet float64
}

// Values works out what follows from the molecule.
func (f Fuel) Values() (Values, error) {
	if err := f.check(); err != nil {
		return Values{}, err
	}
	water := f.Hydrogen / 2
	net := f.GrossKJMol - water*latentKJMol
	kg := water * waterGMol / 1000
	return Values{
		GrossByNet:         f.GrossKJMol / net,
		WaterKgPerKWhGross: kg / f.GrossKJMol * kJPerKWh,
		WaterKgPerKWhNet:   kg / net * kJPerKWh,
		LatentShareOfNet:   water * latentKJMol / net,
	}, nil
}
