package condensing

import "math"

// fuel is a fuel by its molecule, CxHy.
type fuel struct {
	name    string
	c, h    float64
	low, up float64 // usual air ratio
}

// The fuels. Natural gas is taken as methane: what else is in it moves the dew point by some tenths of a kelvin. Heating
// oil is taken as 86.3 % carbon and 13.7 % hydrogen by mass (usual values, from memory). Domestic burners run at 3 to
// 5.5 % oxygen in dry flue gas on gas, 3 to 5 % on oil (common practice, no source): an air ratio of 1.15 to 1.35.
var (
	naturalGas = fuel{"natural gas", 1, 4, 1.15, 1.35}
	lpg        = fuel{"LPG", 3, 8, 1.15, 1.35}
	oil        = fuel{"heating oil", 1, 1.89, 1.15, 1.30}
)

// Air, and the air that burns: 10 °C and 80 % relative humidity.
const (
	airByOxygen  = 4.774   // mol of dry air for each mol of oxygen: 20.95 %
	seaLevelKPa  = 101.325 // standard atmosphere (ISO 2533)
	intakeC      = 10.0    // own proposal: a heating season's mean
	intakeHumid  = 0.8     // own proposal
	magnusA      = 17.62   // Magnus formula over water after Sonntag 1990, as in the WMO guide no. 8: −45…60 °C
	magnusB      = 243.12  // °C
	magnusAtNull = 0.6112  // kPa
)

// saturationKPa is the pressure of saturated vapour over water at c °C.
func saturationKPa(c float64) float64 { return magnusAtNull * math.Exp(magnusA*c/(magnusB+c)) }

// saturatedAt is the temperature, °C, at which vapour of that pressure is saturated.
func saturatedAt(kPa float64) float64 {
	x := math.Log(kPa / magnusAtNull)
	return magnusB * x / (magnusA - x)
}

// dewPoint is the temperature below which the flue gas begins to condense, °C, at sea level; it falls by about 0.2 K for
// each 100 m of height.
func (f fuel) dewPoint(airRatio float64) float64 {
	oxygen := f.c + f.h/4
	air := airRatio * oxygen * airByOxygen
	p := intakeHumid * saturationKPa(intakeC)
	water := f.h/2 + air*p/(seaLevelKPa-p)
	dry := air - oxygen + f.c
	return saturatedAt(seaLevelKPa * water / (water + dry))
}

// band are the lowest and highest dew points of the fuel at usual air ratios, °C.
func (f fuel) band() (low, high float64) { return f.dewPoint(f.up), f.dewPoint(f.low) }

// fuelsOf gives what may burn by the job sheet's word.
func fuelsOf(word string) []fuel {
	switch word {
	case "natural-gas":
		return []fuel{naturalGas}
	case "lpg":
		return []fuel{lpg}
	case "oil":
		return []fuel{oil}
	}
	return []fuel{naturalGas, lpg, oil}
}

// dewBand is the band over all that may burn, °C.
func dewBand(list []fuel) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, f := range list {
		l, h := f.band()
		low, high = min(low, l), max(high, h)
	}
	return low, high
}
