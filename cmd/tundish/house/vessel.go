package house

const (
	// atmosphereBar is the standard atmosphere, bar.
	atmosphereBar = 1.01325
	// reliefDefault is where the safety valve of a sealed domestic system lifts, bar. Source: 3 bar in installation
	// manuals that cite BS 7074-1.
	reliefDefault = 3.0
	// staticDefault is the water above the boiler where a scenario says nothing: 3 m to the highest emitter, bar. Own
	// assumption.
	staticDefault = 0.3
	// fullL is the gas below which the vessel counts as full, l: the pressure would run away. Own assumption.
	fullL = 0.05
	// collapseL is how much water, lost after the vessel has run dry, takes the pressure from the pre-charge to the
	// static head, l: what pipes, bubbles and the air that vents let in still give back. Own assumption.
	collapseL = 0.2
)

// VesselSpec is the sealed system's expansion vessel.
type VesselSpec struct {
	VolumeL, PrechargeBar, FillBar float64 // l; bar gauge, cold
	ReliefBar                      float64 // the safety valve lifts; 0: 3
	StaticBar                      float64 // of the water above the boiler: what is left when the vessel has run dry; 0: 0.3
}

func (v VesselSpec) relief() float64 {
	if v.ReliefBar > 0 {
		return v.ReliefBar
	}
	return reliefDefault
}

func (v VesselSpec) static() float64 {
	if v.StaticBar > 0 {
		return v.StaticBar
	}
	return staticDefault
}

// Pressure is the system's pressure in bar gauge when litres of water, filled at fillT °C, have the mean temperature
// t °C: the gas in the vessel follows Boyle's law (isothermal), the water expands by IAPWS-IF97.
func (v VesselSpec) Pressure(litres, fillT, t float64) float64 {
	return v.charged().pressure(v.gas(litres, 0, fillT, t))
}

// gas is the room that the water leaves to the gas when extra litres came to those that were filled, l; more than
// the vessel's volume where it has run dry. The pipes are taken as rigid: copper grows by a tenth of what water does.
func (v VesselSpec) gas(litres, extra, fillT, t float64) float64 {
	atFill := v.VolumeL * (v.PrechargeBar + atmosphereBar) / (v.FillBar + atmosphereBar)
	swell := Density(fillT) / Density(t)
	return atFill - litres*(swell-1) - extra*swell
}

// charge is a vessel with the gas that is in it.
type charge struct {
	volumeL, staticBar float64
	precharge          float64 // what the gas would show with the water side open, bar; below 0: less gas than air would be
}

func (v VesselSpec) charged() charge { return charge{v.VolumeL, v.static(), v.PrechargeBar} }

// pressure is what the system has, bar gauge, with the gas left in gasL litres: Boyle's law, down to the pre-charge
// when the vessel holds no more water; from there it collapses to the static head, and stays.
func (c charge) pressure(gasL float64) float64 {
	if dry := gasL - c.volumeL; dry > 0 {
		rest := max(0, 1-dry/collapseL)
		return max(c.staticBar, c.staticBar+(c.precharge-c.staticBar)*rest)
	}
	return max(c.staticBar, (c.precharge+atmosphereBar)*c.volumeL/max(gasL, fullL)-atmosphereBar)
}

// gasAt is the volume that the gas has at a pressure above the static head, l: the other way round.
func (c charge) gasAt(bar float64) float64 {
	if bar < c.precharge {
		return c.volumeL + collapseL*(c.precharge-bar)/(c.precharge-c.staticBar)
	}
	return max(fullL, (c.precharge+atmosphereBar)*c.volumeL/(bar+atmosphereBar))
}
