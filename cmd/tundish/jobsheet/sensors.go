package jobsheet

import (
	"tundish/analyse"
	"tundish/decode"
	"tundish/decode/unit"
)

const (
	// leastErrorK is the smallest error that is believed, K: a step of a 1-Wire chip is 0.0625 K (DS18B20 datasheet).
	leastErrorK = 0.03
	// chipErrorK is of a digital chip from −10 to 85 °C, ± (DS18B20 datasheet).
	chipErrorK unit.Kelvin = 0.5
)

// Sensors are the probes' errors as the sheet gives them, by series, in order of source and device; a probe without
// accuracy_k has what its chip promises. Sensors of appliances are not here: nothing is said of them.
func (s *Sheet) Sensors() (list []analyse.Sensor) {
	for _, src := range s.Sources {
		for _, probe := range sortedKeys(src.Points) {
			m := src.Points[probe]
			x := analyse.Sensor{Series: decode.Series{Source: src.Name, Point: m.Point}, Error: chipErrorK, Paired: m.Paired}
			if m.Accuracy.Known {
				x.Error = m.Accuracy.Value
			}
			list = append(list, x)
		}
	}
	return list
}
