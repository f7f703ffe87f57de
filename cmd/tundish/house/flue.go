package house

import "math"

// Combustion as an ideal condensing exchanger has it: the flue gas leaves saturated, approachK above the return.
// Energies are for one mole of fuel at 25 °C. No gas is let out unburnt, and none is counted in attempts without a
// flame.
const (
	// approachK is how far above the return the flue gas leaves, K. Own assumption, as in the table it is tested against.
	approachK = 5.0
	// shortfall is the share of the fuel's heat that a real exchanger loses beyond the ideal one. Own assumption: none.
	shortfall = 0.0
	// airRatioUsual is λ where the boiler does not say. Own assumption in the range of common practice (1.2–1.3).
	airRatioUsual = 1.25
	// nitrogen is the moles of nitrogen and argon that come with one of oxygen in dry air.
	nitrogen = 3.774
	// sensibleKJ is the molar heat of flue gas, kJ/(mol·K), and latentKJ the heat of condensation, kJ/mol: means for
	// 20–80 °C, from memory.
	sensibleKJ, latentKJ = 0.0301, 44.0
	// referenceC is the temperature to which heating values refer here, °C.
	referenceC = 25.0
	// airPressureKPa is the standard atmosphere, kPa.
	airPressureKPa = 101.325
	// waterKgMol is the molar mass of water, kg/mol.
	waterKgMol = 0.018015
	// grossMJM3 are the gross heating values for a gas meter, MJ/m³: natural gas 39.5, as is usual on bills; propane 93
	// at 15 °C, from memory.
	grossNaturalMJM3, grossLPGMJM3 = 39.5, 93.0
)

// combustible is a fuel: moles per mole burnt with just enough oxygen, and gross heating value in kJ/mol.
type combustible struct{ carbonDioxide, water, oxygen, grossKJ float64 }

// Methane stands for natural gas, propane for LPG. Heating values: ISO 6976 at 25 °C, from memory.
var (
	methane = combustible{1, 2, 2, 890.6}
	propane = combustible{3, 4, 5, 2219.2}
)

func (f Fuel) burns() combustible {
	if f == LPG {
		return propane
	}
	return methane
}

// products are the moles of dry flue gas and of water for one mole of fuel at the air ratio lambda. humidity is moles
// of water that come with one mole of dry air.
func (c combustible) products(lambda, humidity float64) (dry, water float64) {
	dry = c.carbonDioxide + c.oxygen*(lambda-1) + c.oxygen*lambda*nitrogen
	return dry, c.water + humidity*c.oxygen*lambda*(1+nitrogen)
}

// flueLoss is the share of the gross heating value that leaves with the flue gas, latent heat included, and the
// condensate in kg per J of fuel, at a return temperature in °C. Combustion air is taken as dry, at referenceC.
func (c combustible) flueLoss(lambda, ret float64) (share, condensate float64) {
	dry, water := c.products(lambda, 0)
	t := ret + approachK
	vapour := water
	if p := saturationKPa(t); p < airPressureKPa {
		vapour = min(water, dry*p/(airPressureKPa-p))
	}
	lost := sensibleKJ*(dry+vapour)*(t-referenceC) + latentKJ*vapour
	return max(0, lost/c.grossKJ+shortfall), (water - vapour) * waterKgMol / (1000 * c.grossKJ)
}

// saturationKPa is the pressure of saturated steam at t °C, kPa (IAPWS-IF97, region 4; coefficients from memory, held
// by the standard's verification points).
func saturationKPa(t float64) float64 {
	const (
		n1, n2, n3, n4, n5 = 0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7
		n6, n7, n8, n9     = 0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849
		n10                = 0.65017534844798e3
	)
	k := min(max(t, 0), 300) + kelvin
	v := k + n9/(k-n10)
	a := v*v + n1*v + n2
	b := n3*v*v + n4*v + n5
	c := n6*v*v + n7*v + n8
	return 1000 * math.Pow(2*c/(-b+math.Sqrt(b*b-4*a*c)), 4)
}

// burn keeps the ledger of what was burnt, or drawn from the mains, for burner J of heat in one second, with water
// coming back at ret °C.
func (h *House) burn(burner, ret float64) {
	b, l := &h.boiler, &h.story.Ledger
	h.fuelW = 0
	if !b.running() {
		return
	}
	if b.spec.Kind == HeatPump {
		h.fuelW = 1000 * b.electricKW(h.outside)
		l.Ambient += burner - h.fuelW
	} else {
		share, condensate := b.spec.Fuel.burns().flueLoss(orUsual(b.spec.AirRatio, airRatioUsual), ret)
		h.fuelW = burner / (1 - share)
		l.Flue += share * h.fuelW
		l.CondensateKg += condensate * h.fuelW
	}
	l.Fuel += h.fuelW
}

// GasM3 is the gas burnt, as a gas meter would count it, m³.
func (l Ledger) GasM3(fuel Fuel) float64 {
	if fuel == LPG {
		return l.Fuel / (1e6 * grossLPGMJM3)
	}
	return l.Fuel / (1e6 * grossNaturalMJM3)
}
