package fuel

import (
	"fmt"

	"tundish/analyse/water"
)

// airByOxygen is mol of dry air for each mol of oxygen: 20.95 %.
const airByOxygen = 4.774

// Air is the air that burns. Zero is dry air at sea level.
type Air struct {
	// TemperatureC is 0 to 60 °C.
	TemperatureC float64
	// Humidity is relative, 0 to 1.
	Humidity float64
	// KPa is the pressure of the place, 50 to 110. Zero: sea level, 101.325. The dew point falls by about 0.2 K for
	// each 100 m of height.
	KPa float64
}

// Winter is the air of a heating season: 10 °C, 80 % (own proposal).
var Winter = Air{TemperatureC: 10, Humidity: 0.8}

func (a Air) pressure() float64 {
	if a.KPa == 0 {
		return water.SeaLevelKPa
	}
	return a.KPa
}

// vapour is mol of vapour for each mol of dry air.
func (a Air) vapour() (float64, error) {
	switch {
	case !(a.TemperatureC >= 0 && a.TemperatureC <= 60):
		return 0, fmt.Errorf("air to burn with is %g °C: it is 0 to 60", a.TemperatureC)
	case !(a.Humidity >= 0 && a.Humidity <= 1):
		return 0, fmt.Errorf("relative humidity of the air to burn with is %g: it is 0 to 1", a.Humidity)
	case !(a.pressure() >= 50 && a.pressure() <= 110):
		return 0, fmt.Errorf("pressure of the air to burn with is %g kPa: it is 50 to 110 absolute, 101.325 at sea level", a.KPa)
	}
	full, err := water.SaturationKPa(a.TemperatureC)
	if err != nil {
		return 0, err
	}
	p := a.Humidity * full
	return p / (a.pressure() - p), nil
}

// FlueGas is what leaves, in mol for each molecule of fuel.
type FlueGas struct {
	CO2, Water, O2, N2 float64 // N2 is what of the dry air is not oxygen
	KPa                float64
}

// Burn burns a fuel with air; the air ratio λ is 1 (just enough) to 10.
func (f Fuel) Burn(airRatio float64, a Air) (FlueGas, error) {
	vapour, err := a.vapour()
	if err != nil {
		return FlueGas{}, err
	}
	g, err := f.BurnMoist(airRatio, vapour)
	g.KPa = a.pressure()
	return g, err
}

// BurnMoist burns a fuel at sea level with air that has so many mol of vapour, 0 to 1, for each mol of dry air.
func (f Fuel) BurnMoist(airRatio, vapour float64) (FlueGas, error) {
	if err := f.check(); err != nil {
		return FlueGas{}, err
	}
	if !(airRatio >= 1 && airRatio <= 10) {
		return FlueGas{}, fmt.Errorf("air ratio is %g: 1 is just enough air, burners run at 1.15 to 1.5; it is 1 to 10", airRatio)
	}
	if !(vapour >= 0 && vapour <= 1) {
		return FlueGas{}, fmt.Errorf("vapour for each mol of dry air is %g: it is 0 to 1", vapour)
	}
	oxygen := f.Carbon + f.Hydrogen/4
	air := airRatio * oxygen * airByOxygen
	return FlueGas{
		CO2: f.Carbon, Water: f.Hydrogen/2 + air*vapour, O2: (airRatio - 1) * oxygen, N2: air - airRatio*oxygen,
		KPa: water.SeaLevelKPa,
	}, nil
}

func (g FlueGas) dry() float64 { return g.CO2 + g.O2 + g.N2 }

// CO2Dry and O2Dry are shares of the dry flue gas, 0 to 1, as an analyser tells them.
func (g FlueGas) CO2Dry() float64 { return g.CO2 / g.dry() }

// O2Dry is the oxygen in the dry flue gas, 0 to 1.
func (g FlueGas) O2Dry() float64 { return g.O2 / g.dry() }

// WaterShare is the vapour in the wet flue gas, 0 to 1: by all of it. A known slip divides by the dry gas alone.
func (g FlueGas) WaterShare() float64 { return g.Water / (g.Water + g.dry()) }

// DewPointC is the temperature below which water begins to condense, °C.
func (g FlueGas) DewPointC() (float64, error) {
	c, err := water.SaturatedC(g.KPa * g.WaterShare())
	if err != nil {
		return 0, fmt.Errorf("flue gas with %.1f %% of water: %w", 100*g.WaterShare(), err)
	}
	return c, nil
}

// DewPointC is the dew point at an air ratio, °C: nothing condenses where the return is warmer.
func (f Fuel) DewPointC(airRatio float64, a Air) (float64, error) {
	g, err := f.Burn(airRatio, a)
	if err != nil {
		return 0, err
	}
	return g.DewPointC()
}

// AirRatioByO2 is the air ratio by the oxygen in the dry flue gas, a share of 0 to 0.18, as an analyser tells it.
func (f Fuel) AirRatioByO2(dry float64) (float64, error) {
	if err := f.check(); err != nil {
		return 0, err
	}
	if !(dry >= 0 && dry <= 0.18) {
		return 0, fmt.Errorf("oxygen in the dry flue gas is %g: it is a share of 0 to 0.18 (air has 0.2095); 4 %% is 0.04", dry)
	}
	oxygen := f.Carbon + f.Hydrogen/4
	return (oxygen + dry*(f.Carbon-oxygen)) / (oxygen * (1 - airByOxygen*dry)), nil
}
