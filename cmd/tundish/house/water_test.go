package house

import (
	"math"
	"testing"
)

// near fails unless got is within tol of want.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.5g, want %.5g ± %.2g", what, got, want, tol)
	}
}

// Volumetric heat capacity of water at 1.01325 bar, MJ/(m³·K), computed from IAPWS-IF97 region 1 to five digits.
func TestVolumetricHeatIsIF97(t *testing.T) {
	for _, c := range []struct{ t, want float64 }{{10, 4.1942}, {20, 4.1773}, {40, 4.1461}, {60, 4.1125}, {80, 4.0772}, {100, 4.0410}} {
		near(t, "ρ·c", Density(c.t)*SpecificHeat(c.t)/1e6, c.want, 0.0002)
	}
	// Between the rows: density at 25 °C is 997.05 kg/m³ (IAPWS-95, widely tabulated); a straight line lies below the
	// curve by at most (10 K)²/8 · |ρ″| ≈ 0.13.
	near(t, "ρ(25)", Density(25), 997.05, 0.14)
}

// Worked figures from IF97: expansion in %, and the heat of a 150 l store from 10 to 60 °C, 31.0–31.4 MJ by the mass
// of the hot or of the cold fill.
func TestWaterExpansionAndHeat(t *testing.T) {
	for _, c := range []struct{ from, to, want float64 }{{10, 50, 1.18}, {10, 60, 1.68}, {10, 70, 2.24}, {10, 80, 2.87}, {15, 70, 2.18}, {15, 75, 2.49}, {20, 60, 1.53}} {
		near(t, "expansion %", 100*(Density(c.from)/Density(c.to)-1), c.want, 0.02)
	}
	heat := (enthalpy(60) - enthalpy(10)) / 1e6
	near(t, "store by hot fill", 0.150*Density(60)*heat, 31.0-0.15, 0.2)
	near(t, "store by cold fill", 0.150*Density(10)*heat, 31.4, 0.1)
	// 1 m³/h over 20 K about 60 °C carries 22.85 kW.
	near(t, "1 m³/h, 20 K", Density(60)*SpecificHeat(60)*20/3600/1000, 22.85, 0.01)
}

// Enthalpy is the integral of specific heat, whatever the interval.
func TestEnthalpyIntegratesHeat(t *testing.T) {
	for from := 0.0; from < 95; from += 3.7 {
		to, sum := from+4.9, 0.0
		const n = 1000
		for i := range n {
			sum += SpecificHeat(from+(to-from)*(float64(i)+0.5)/n) * (to - from) / n
		}
		near(t, "∫c dt", enthalpy(to)-enthalpy(from), sum, sum*1e-6)
	}
}

// Hot pressure of sealed systems, 8 l vessel, filled to 1.2 bar at 15 °C, heated to 70 °C: Boyle's law and IF97
// worked by hand. Tolerance 1 %: a straight line from 10 to 20 °C puts the density at 15 °C 0.15 kg/m³ low.
func TestVesselPressure(t *testing.T) {
	for _, c := range []struct{ litres, precharge, want float64 }{{80, 1.0, 1.90}, {120, 1.0, 2.44}, {120, 0.75, 2.74}, {100, 0.2, 3.39}} {
		v := VesselSpec{VolumeL: 8, PrechargeBar: c.precharge, FillBar: 1.2}
		near(t, "hot pressure", v.Pressure(c.litres, 15, 70), c.want, 0.01*c.want)
		near(t, "cold pressure", v.Pressure(c.litres, 15, 15), 1.2, 1e-9)
	}
}
