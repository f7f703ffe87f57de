package water

import "fmt"

// The table, each 10 K from 0 to 100 °C at 1.01325 bar: IAPWS-IF97, region 1.
const (
	stepK  = 10.0
	lowC   = 0.0
	highC  = 100.0
	inRows = 11
)

var (
	densityKgM3 = [inRows]float64{999.84, 999.70, 998.21, 995.65, 992.22, 988.05, 983.21, 977.78, 971.80, 965.32, 958.35}
	heatKJKgK   = [inRows]float64{4.2194, 4.1954, 4.1848, 4.1800, 4.1786, 4.1796, 4.1828, 4.1881, 4.1955, 4.2050, 4.2166}
)

// VolumeHeat60 is the heat that a litre takes for each kelvin at 60 °C, kJ/(l·K): for figures that need no better, and
// the same as of the table to its last digit but one.
const VolumeHeat60 = 4.1125

// RangeError says that a temperature is none that liquid water has at the pressure of the air.
type RangeError struct {
	What string
	C    float64 // °C, or NaN
}

func (e *RangeError) Error() string {
	return fmt.Sprintf("%s is %g °C: water's properties are known from %g to %g °C; look at the unit, or leave the value out",
		e.What, e.C, lowC, highC)
}

func inRange(what string, c float64) error {
	if c >= lowC && c <= highC {
		return nil
	}
	return &RangeError{what, c}
}

// between reads a table at c, 0 to 100 °C.
func between(rows *[inRows]float64, c float64) float64 {
	x := (c - lowC) / stepK
	i := min(int(x), inRows-2)
	return rows[i] + (x-float64(i))*(rows[i+1]-rows[i])
}

// DensityKgM3 is the density at c °C, 0 to 100, kg/m³.
func DensityKgM3(c float64) (float64, error) {
	if err := inRange("water temperature", c); err != nil {
		return 0, err
	}
	return between(&densityKgM3, c), nil
}

// SpecificHeatKJKgK is the isobaric specific heat at c °C, 0 to 100, kJ/(kg·K).
func SpecificHeatKJKgK(c float64) (float64, error) {
	if err := inRange("water temperature", c); err != nil {
		return 0, err
	}
	return between(&heatKJKgK, c), nil
}

// VolumeHeatKJLK is the heat that a litre at c °C takes for each kelvin, kJ/(l·K); the number is the same in MJ/(m³·K).
func VolumeHeatKJLK(c float64) (float64, error) {
	if err := inRange("water temperature", c); err != nil {
		return 0, err
	}
	return between(&densityKgM3, c) * between(&heatKJKgK, c) / 1000, nil
}

// EnthalpyKJKg is the enthalpy above that at 0 °C, kJ/kg: the specific heat summed up from there.
func EnthalpyKJKg(c float64) (float64, error) {
	if err := inRange("water temperature", c); err != nil {
		return 0, err
	}
	return enthalpy(c), nil
}

func enthalpy(c float64) (sum float64) {
	at := lowC
	for i := 0; at < c && i < inRows-1; i++ {
		to := min(c, at+stepK)
		sum += (between(&heatKJKgK, at) + between(&heatKJKgK, to)) / 2 * (to - at)
		at = to
	}
	return sum
}
