package condensing

import (
	"math"

	burnt "tundish/analyse/fuel"
	"tundish/analyse/water"
)

// fuel is a fuel with the air ratios that are usual for it.
type fuel struct {
	name    string
	of      burnt.Fuel
	low, up float64
}

// The fuels. Natural gas is taken as methane: what else is in it moves the dew point by some tenths of a kelvin. Domestic
// burners run at 3 to 5.5 % oxygen in dry flue gas on gas, 3 to 5 % on oil (common practice, no source): an air ratio of
// 1.15 to 1.35.
var (
	naturalGas = fuel{"natural gas", burnt.Methane, 1.15, 1.35}
	lpg        = fuel{"LPG", burnt.Propane, 1.15, 1.35}
	oil        = fuel{"heating oil", burnt.HeatingOil, 1.15, 1.30}
)

// dewPoint is the temperature below which the flue gas begins to condense, °C, at sea level with the air of a heating
// season; it falls by about 0.2 K for each 100 m of height.
func (f fuel) dewPoint(airRatio float64) (float64, error) {
	full, err := water.MagnusKPa(burnt.Winter.TemperatureC)
	if err != nil {
		return 0, err
	}
	p := burnt.Winter.Humidity * full
	gas, err := f.of.BurnMoist(airRatio, p/(water.SeaLevelKPa-p))
	if err != nil {
		return 0, err
	}
	return water.MagnusC(water.SeaLevelKPa * gas.WaterShare())
}

// band are the lowest and highest dew points of the fuel at usual air ratios, °C.
func (f fuel) band() (low, high float64) {
	low, _ = f.dewPoint(f.up) // the three fuels burn: a test holds it
	high, _ = f.dewPoint(f.low)
	return low, high
}

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
