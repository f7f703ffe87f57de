package water

import (
	"fmt"
	"math"
)

// SeaLevelKPa is the standard atmosphere (ISO 2533).
const SeaLevelKPa = 101.325

const kelvinAtNull = 273.15

// region4 are the coefficients of the saturation line, IAPWS-IF97 table 34; the first is not used, so that the indices
// are the standard's.
var region4 = [...]float64{0,
	0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
	0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3}

// SaturationKPa is the pressure of saturated vapour over water at c °C, 0 to 100, kPa (IAPWS-IF97, equation 30).
func SaturationKPa(c float64) (float64, error) {
	if err := inRange("vapour temperature", c); err != nil {
		return 0, err
	}
	return saturation(c), nil
}

func saturation(c float64) float64 {
	n := &region4
	t := c + kelvinAtNull
	v := t + n[9]/(t-n[10])
	a := v*v + n[1]*v + n[2]
	b := n[3]*v*v + n[4]*v + n[5]
	d := n[6]*v*v + n[7]*v + n[8]
	return 1000 * math.Pow(2*d/(-b+math.Sqrt(b*b-4*a*d)), 4)
}

// SaturatedC is the temperature at which vapour of that pressure is saturated, °C: 0 to 100 °C, 0.6112 to 101.4 kPa
// (IAPWS-IF97, equation 31).
func SaturatedC(kPa float64) (float64, error) {
	if !(kPa >= saturation(lowC) && kPa <= saturation(highC)) {
		return 0, &PressureError{kPa}
	}
	n := &region4
	b := math.Pow(kPa/1000, 0.25)
	e := b*b + n[3]*b + n[6]
	f := n[1]*b*b + n[4]*b + n[7]
	g := n[2]*b*b + n[5]*b + n[8]
	d := 2 * g / (-f - math.Sqrt(f*f-4*e*g))
	return (n[10]+d-math.Sqrt((n[10]+d)*(n[10]+d)-4*(n[9]+n[10]*d)))/2 - kelvinAtNull, nil
}

// The Magnus formula over water after Sonntag 1990, as in the WMO guide no. 8, for −45 to 60 °C.
const (
	magnusA      = 17.62
	magnusB      = 243.12 // °C
	magnusAtNull = 0.6112 // kPa
)

// MagnusKPa is the pressure of saturated vapour over water at c °C, −45 to 100, by the Magnus formula, kPa. It is within
// 0.06 K of SaturationKPa from 0 to 60 °C, and 0.2 K off at 75; checks whose criteria name it use it.
func MagnusKPa(c float64) (float64, error) {
	if !(c >= -45 && c <= highC) {
		return 0, fmt.Errorf("vapour temperature is %g °C: the Magnus formula is used from -45 to 100 °C", c)
	}
	return magnusAtNull * math.Exp(magnusA*c/(magnusB+c)), nil
}

// MagnusC is the temperature, °C, at which vapour of that pressure, 0.007 to 110 kPa, is saturated by the Magnus formula.
func MagnusC(kPa float64) (float64, error) {
	if !(kPa >= 0.007 && kPa <= 110) {
		return 0, fmt.Errorf("vapour pressure is %g kPa: the Magnus formula is used from 0.007 to 110 kPa", kPa)
	}
	x := math.Log(kPa / magnusAtNull)
	return magnusB * x / (magnusA - x), nil
}

// PressureError says that a vapour pressure has no saturation temperature from 0 to 100 °C.
type PressureError struct{ KPa float64 }

func (e *PressureError) Error() string {
	return fmt.Sprintf("vapour pressure is %g kPa: saturation is known from 0.6112 to 101.4 kPa, 0 to 100 °C", e.KPa)
}
