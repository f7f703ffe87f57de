// Package unit has the quantities of heating as types, so that an absolute temperature and a difference of
// temperatures, or a power and an energy, cannot be taken for each other unnoticed.
package unit

import (
	"math"
	"strconv"
)

// Celsius is an absolute temperature in °C.
type Celsius float64

// Kelvin is a difference of temperatures in K.
type Kelvin float64

// Sub gives the difference c − d. Go would let two Celsius be subtracted into a Celsius; use this instead.
func (c Celsius) Sub(d Celsius) Kelvin { return Kelvin(c - d) }

// Add gives the temperature k warmer than c.
func (c Celsius) Add(k Kelvin) Celsius { return c + Celsius(k) }

// KW is a power in kilowatts.
type KW float64

// KWh is an energy in kilowatt-hours.
type KWh float64

// Bar is a gauge pressure in bar.
type Bar float64

// Litre is a volume in litres.
type Litre float64

// LitresPerMinute is a flow rate in l/min.
type LitresPerMinute float64

// Percent is a share in %, 0–100 where a range is meant.
type Percent float64

func (c Celsius) String() string         { return decimal(float64(c), 1) + " °C" }
func (k Kelvin) String() string          { return decimal(float64(k), 1) + " K" }
func (p KW) String() string              { return decimal(float64(p), 1) + " kW" }
func (e KWh) String() string             { return decimal(float64(e), 1) + " kWh" }
func (b Bar) String() string             { return decimal(float64(b), 2) + " bar" }
func (v Litre) String() string           { return decimal(float64(v), 0) + " l" }
func (f LitresPerMinute) String() string { return decimal(float64(f), 1) + " l/min" }
func (p Percent) String() string         { return decimal(float64(p), 0) + " %" }

// decimal prints with a true minus sign, and never "−0".
func decimal(v float64, places int) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', places, 64)
	if v < 0 {
		if zero, _ := strconv.ParseFloat(s, 64); zero != 0 {
			return "−" + s
		}
	}
	return s
}
