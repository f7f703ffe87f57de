package jobsheet

import (
	"tundish/analyse"
	"tundish/decode"
	"tundish/decode/unit"
)

const (
	// LeastErrorK is the smallest error that is believed, K: a step of a 1-Wire chip is 0.0625 K (DS18B20 datasheet).
	LeastErrorK = 0.03
	// chipErrorK is of a digital chip from −10 to 85 °C, ± (DS18B20 datasheet).
	chipErrorK unit.Kelvin = 0.5
)

// Sensors are the probes' errors as the sheet gives them, by series, in order of source and device; a probe without
// accuracy_k has what its chip promises. Sensors of other sources are here where they were compared.
func (s *Sheet) Sensors() (list []analyse.Sensor) {
	for _, src := range s.Sources {
		for _, probe := range sortedKeys(src.Points) {
			m := src.Points[probe]
			list = append(list, m.sensor(src.Name, chipErrorK))
		}
		for _, p := range decode.Points() {
			if m, ok := src.Paired[p]; ok {
				list = append(list, m.sensor(src.Name, analyse.OwnSensorError))
			}
		}
	}
	return list
}

// sensor is what is said of a sensor; usual is its error where the sheet gives none.
func (m Mapping) sensor(source string, usual unit.Kelvin) analyse.Sensor {
	x := analyse.Sensor{Series: decode.Series{Source: source, Point: m.Point}, Error: usual, Paired: m.Paired,
		Offset: m.Offset, Spread: m.Spread, PairedOn: m.PairedOn}
	if m.Accuracy.Known {
		x.Error = m.Accuracy.Value
	}
	return x
}

// PairedWords says what a comparison in the same water left; empty: none is known.
func (m Mapping) PairedWords() string { return m.sensor("", 0).PairedWords() }
