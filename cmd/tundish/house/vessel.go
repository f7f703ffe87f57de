package house

const (
	// atmosphereBar is the standard atmosphere, bar.
	atmosphereBar = 1.01325
)

// VesselSpec is the sealed system's expansion vessel.
type VesselSpec struct {
	VolumeL, PrechargeBar, FillBar float64 // l; bar gauge, cold
	ReliefBar                      float64 // the safety valve lifts; 0: 3
	StaticBar                      float64 // of the water above the boiler: what is left when the vessel has run dry; 0: 0.3
}

// Pressure is the system's pressure in bar gauge when litres of water, filled at fillT °C, have the mean temperature
// t °C: the gas in the vessel follows Boyle's law (isothermal), the water expands by IAPWS-IF97.
func (v VesselSpec) Pressure(litres, fillT, t float64) float64 {
	gasFill := v.VolumeL * (v.PrechargeBar + atmosphereBar) / (v.FillBar + atmosphereBar)
	gas := gasFill - litres*(Density(fillT)/Density(t)-1)
	const fullL = 0.05 // l of gas: below it the vessel counts as full, pressure would run away; own assumption
	return (v.FillBar+atmosphereBar)*gasFill/max(gas, fullL) - atmosphereBar
}
