package house

import "math"

// Density and specific heat of liquid water at 1.01325 bar absolute, every 10 °C from 0 to 100 °C; source: IAPWS
// Industrial Formulation 1997 (IF97), region 1. In between, linear interpolation (ρ·c within 0.04 %).
var (
	densityTable = [...]float64{999.84, 999.70, 998.21, 995.65, 992.22, 988.05, 983.21, 977.78, 971.80, 965.32, 958.35} // kg/m³
	heatTable    = [...]float64{4219.4, 4195.4, 4184.8, 4180.0, 4178.6, 4179.6, 4182.8, 4188.1, 4195.5, 4205.0, 4216.6} // J/(kg·K)
	// enthalpyTable is the integral of heatTable from 0 °C, J/kg, by the trapezoid that linear interpolation makes exact.
	enthalpyTable = integrate(heatTable)
)

const tableStepK = 10.0

func integrate(c [11]float64) (h [11]float64) {
	for i := 1; i < len(c); i++ {
		h[i] = h[i-1] + tableStepK*(c[i-1]+c[i])/2
	}
	return h
}

// place finds the table's row below t and the distance from it in K; outside 0…100 °C the end interval goes on.
func place(t float64) (row int, d float64) {
	row = min(max(int(math.Floor(t/tableStepK)), 0), len(heatTable)-2)
	return row, t - tableStepK*float64(row)
}

// Density is the density of water in kg/m³ at t °C (IAPWS-IF97, 1.01325 bar, 0…100 °C).
func Density(t float64) float64 {
	i, d := place(t)
	return densityTable[i] + (densityTable[i+1]-densityTable[i])*d/tableStepK
}

// SpecificHeat is the specific heat of water in J/(kg·K) at t °C (IAPWS-IF97, 1.01325 bar, 0…100 °C).
func SpecificHeat(t float64) float64 {
	i, d := place(t)
	return heatTable[i] + (heatTable[i+1]-heatTable[i])*d/tableStepK
}

// enthalpy is the heat in J/kg to bring water from 0 °C to t °C. Advection and the ledger use it, so that heat is
// conserved although the specific heat changes with temperature.
func enthalpy(t float64) float64 {
	i, d := place(t)
	return enthalpyTable[i] + d*(heatTable[i]+(heatTable[i+1]-heatTable[i])*d/(2*tableStepK))
}
