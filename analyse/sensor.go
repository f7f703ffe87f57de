package analyse

import (
	"math"

	"tundish/decode"
	"tundish/decode/unit"
)

// Sensor is what is known of one temperature sensor's error.
type Sensor struct {
	Series decode.Series
	// Error is how far it may be from the water it is said to measure, ± at worst, its contact with the pipe left out.
	Error unit.Kelvin
	// Paired is the error of its difference to the other probe of the same source after pairing; not known where they
	// were never paired.
	Paired Opt[unit.Kelvin]
}

const (
	// ownSensorError is of an appliance's thermistor of 1 % at 60 °C (common practice, no source).
	ownSensorError unit.Kelvin = 0.7
)

// SensorOf gives what is known of a series' error; an appliance's own sensor where nothing is said.
func (p *Pass) SensorOf(s decode.Series) Sensor {
	for _, x := range p.Sensors {
		if x.Series == s {
			return x
		}
	}
	return Sensor{Series: s, Error: ownSensorError}
}

// DeltaError is the error of the difference of flow and return by one source, ±: what pairing left, else both errors,
// root-sum-square.
func (p *Pass) DeltaError(source string) unit.Kelvin {
	flow := p.SensorOf(decode.Series{Source: source, Point: decode.Flow})
	ret := p.SensorOf(decode.Series{Source: source, Point: decode.Return})
	for _, x := range []Sensor{flow, ret} {
		if x.Paired.Known {
			return x.Paired.Value
		}
	}
	return unit.Kelvin(math.Hypot(float64(flow.Error), float64(ret.Error)))
}
