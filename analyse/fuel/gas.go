package fuel

import (
	"fmt"
	"math"
)

// Conditions are those of a gas: temperature and absolute pressure.
type Conditions struct{ TemperatureC, KPa float64 }

// The conditions that calorific values and corrected volumes are told for.
var (
	// Standard15 is the standard reference of ISO 13443: 15 °C.
	Standard15 = Conditions{15, 101.325}
	// Normal0 is the normal condition of DIN 1343: 0 °C.
	Normal0 = Conditions{0, 101.325}
)

// BritishBillFactor is what British bills multiply a metered volume by where the meter corrects for nothing (Gas
// (Calculation of Thermal Energy) Regulations 1996; from memory).
const BritishBillFactor = 1.02264

// NaturalGasMJM3 is the gross calorific value of natural gas where nobody gave one, MJ/m³ (common practice, no source).
const NaturalGasMJM3 = 39.5

func (c Conditions) check(what string) error {
	if !(c.TemperatureC >= -30 && c.TemperatureC <= 60) {
		return fmt.Errorf("%s: temperature is %g °C, it is -30 to 60", what, c.TemperatureC)
	}
	if !(c.KPa >= 50 && c.KPa <= 600) {
		return fmt.Errorf("%s: pressure is %g kPa, it is absolute, 50 to 600 (the air's 101.3 and the gas's 2 above it)", what, c.KPa)
	}
	return nil
}

// VolumeFactor is what a volume at the meter is multiplied by to have that at the reference conditions, as of an ideal gas
// (ISO 13443; real gas differs by less than 0.1 % at the pressures of a home, from memory). For a meter that corrects
// for temperature itself, give the reference's temperature as the meter's.
func VolumeFactor(meter, reference Conditions) (float64, error) {
	if err := meter.check("gas at the meter"); err != nil {
		return 0, err
	}
	if err := reference.check("reference conditions of the gas"); err != nil {
		return 0, err
	}
	const null = 273.15
	return meter.KPa / reference.KPa * (reference.TemperatureC + null) / (meter.TemperatureC + null), nil
}

// Metered says how a volume of gas becomes energy. Nothing of it has a default: a volume corrected for nothing may be 3 %
// off, and a calorific value that nobody gave more.
type Metered struct {
	// CalorificMJM3 is the calorific value at the reference conditions, MJ/m³: 11.5 to 130. Gross gives gross energy.
	CalorificMJM3 float64
	// Factor brings the metered volume to those conditions, 0.5 to 6: of VolumeFactor, of a bill (BritishBillFactor), or
	// 1 for a meter that corrects by itself.
	Factor float64
}

// KWh is the energy of a metered volume in m³, 0 or above.
func (m Metered) KWh(volumeM3 float64) (float64, error) {
	switch {
	case !(m.CalorificMJM3 >= 11.5 && m.CalorificMJM3 <= 130):
		return 0, fmt.Errorf("calorific value is %g MJ/m³: it is 11.5 (hydrogen) to 130; natural gas has about 39 MJ/m³, and a value of about 11 is one in kWh/m³: times 3.6", m.CalorificMJM3)
	case !(m.Factor >= 0.5 && m.Factor <= 6):
		return 0, fmt.Errorf("volume correction factor is %g: it is 0.5 to 6; give 1 for a meter that corrects by itself", m.Factor)
	case !(volumeM3 >= 0) || math.IsInf(volumeM3, 0):
		return 0, fmt.Errorf("volume of gas is %g m³: it is 0 or above", volumeM3)
	}
	const mjPerKWh = 3.6
	return volumeM3 * m.Factor * m.CalorificMJM3 / mjPerKWh, nil
}

// GrossMJM3 is the gross calorific value of a gas by its molecule, MJ/m³, as of an ideal gas at those conditions.
func (f Fuel) GrossMJM3(at Conditions) (float64, error) {
	if err := f.check(); err != nil {
		return 0, err
	}
	if err := at.check("reference conditions of the gas"); err != nil {
		return 0, err
	}
	const gasConstant = 8.314463 // kPa·l/(mol·K) (SI, exact to the digits given)
	return f.GrossKJMol / (gasConstant * (at.TemperatureC + 273.15) / at.KPa), nil
}
