package analyse

import (
	"fmt"
	"math"
	"time"

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
	// Of that comparison: what was added to the sensor since, the standard deviation of the single differences, and the
	// day, UTC; zero where it is not known. Nothing is computed from them: they are told.
	Offset   unit.Kelvin
	Spread   Opt[unit.Kelvin]
	PairedOn time.Time
}

// OwnSensorError is of an appliance's thermistor of 1 % at 60 °C (common practice, no source).
const OwnSensorError unit.Kelvin = 0.7

// PairedWords says what a comparison in the same water left; empty: none is known.
func (s Sensor) PairedWords() string {
	if !s.Paired.Known && s.PairedOn.IsZero() {
		return ""
	}
	words := "paired on a day that is not stated"
	if !s.PairedOn.IsZero() {
		words = "paired on " + s.PairedOn.Format("2 January 2006")
	}
	words += fmt.Sprintf(", offset %+.2f K", s.Offset)
	if s.Paired.Known {
		words += fmt.Sprintf(" known to ± %.2f K", s.Paired.Value)
	}
	if s.Spread.Known {
		words += fmt.Sprintf(", spread %.2f K", s.Spread.Value)
	}
	return words
}

// SensorOf gives what is known of a series' error; an appliance's own sensor where nothing is said.
func (p *Pass) SensorOf(s decode.Series) Sensor {
	for _, x := range p.Sensors {
		if x.Series == s {
			return x
		}
	}
	return Sensor{Series: s, Error: OwnSensorError}
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
