// Package fuel knows what burns: gross and net calorific value, the water that burning makes, the temperature below which
// it condenses, and the energy of a metered volume of gas. All of it follows from the molecule:
//
//	CxHy + λ·(x + y/4)·(O2 + 3.774 N2 + the air's vapour)  →  x CO2 + y/2 H2O + what is left of the air
//
// The dew point is where that share of water is saturated at the pressure of the air (package water). Carbon monoxide,
// soot, sulphur (whose acid condenses earlier, with oil) and the gas's own moisture are left out. Nothing here judges
// combustion: that takes a licensed engineer's analyser.
package fuel
