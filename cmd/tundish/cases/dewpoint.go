package cases

import "tundish/cmd/tundish/house"

// dewTable is the dew point of flue gas in °C at 101.325 kPa by air ratio 1.0, 1.1 … 1.5, combustion air of 10 °C and
// 80 % RH: saturation line of IAPWS-IF97 region 4 on the stoichiometry of methane and propane (computed; published spot
// values for natural gas: about 55 °C, about 54 °C).
var dewTable = [2][6]float64{
	house.NaturalGas: {60.0, 58.2, 56.6, 55.2, 53.8, 52.6},
	house.LPG:        {55.9, 54.1, 52.6, 51.2, 49.9, 48.7},
}

// usualAirRatio stands where a boiler's spec has 0.
const usualAirRatio = 1.25

// DewPointC is the dew point of a boiler's flue gas, °C; air ratio 1…1.5, 0: 1.25.
func DewPointC(f house.Fuel, airRatio float64) float64 {
	if airRatio == 0 {
		airRatio = usualAirRatio
	}
	row := dewTable[min(int(f), len(dewTable)-1)]
	x := min(max((airRatio-1)/0.1, 0), 4.999)
	i := int(x)
	return row[i] + (row[i+1]-row[i])*(x-float64(i))
}
