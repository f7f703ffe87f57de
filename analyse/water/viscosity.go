package water

import "math"

// viscosityMPaS is the dynamic viscosity, each 10 K from 0 to 100 °C at 1.01325 bar, mPa·s: IAPWS R12-08.
var viscosityMPaS = [inRows]float64{1.7918, 1.3059, 1.0016, 0.7972, 0.6527, 0.5465, 0.4660, 0.4036, 0.3541, 0.3142, 0.2816}

// ViscosityMPaS is the dynamic viscosity of water at c °C, 0 to 100, mPa·s, within 0.8 %: between the rows its logarithm
// runs straight.
func ViscosityMPaS(c float64) (float64, error) {
	if err := inRange("water temperature", c); err != nil {
		return 0, err
	}
	x := (c - lowC) / stepK
	i := min(int(x), inRows-2)
	a, b := math.Log(viscosityMPaS[i]), math.Log(viscosityMPaS[i+1])
	return math.Exp(a + (x-float64(i))*(b-a)), nil
}

// Density is that of what circulates, kg/m³.
func (l Liquid) Density(c float64) (float64, error) {
	if err := l.Check(); err != nil {
		return 0, err
	}
	if err := inRange("temperature of what circulates", c); err != nil {
		return 0, err
	}
	return l.density(c), nil
}

// Viscosity is the dynamic viscosity of what circulates, mPa·s; known is false for a mixture that nobody gave one for.
func (l Liquid) Viscosity(c float64) (mPaS float64, known bool, err error) {
	if err := l.Check(); err != nil {
		return 0, false, err
	}
	if !l.IsWater() {
		return l.ViscosityMPaS, l.ViscosityMPaS > 0, nil
	}
	mPaS, err = ViscosityMPaS(c)
	return mPaS, err == nil, err
}
