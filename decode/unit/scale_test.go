package unit

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestBetween holds conversions against published factors.
func TestBetween(t *testing.T) {
	for _, c := range []struct {
		from, to string
		v, want  float64
		source   string
	}{
		{"°F", "°C", 212, 100, "boiling water, definition of both scales"},
		{"°F", "°C", -40, -40, "where both scales meet"},
		{"K", "°C", 273.15, 0, "SI brochure, 2.3.1"},
		{"psi", "bar", 1, 0.06894757, "NIST SP 811 B.8"},
		{"kPa", "bar", 150, 1.5, "SI prefixes"},
		{"mH2O", "bar", 10, 0.980665, "NIST SP 811 B.8"},
		{"m³/h", "l/min", 0.6, 10, "arithmetic"},
		{"l/h", "l/min", 600, 10, "arithmetic"},
		{"imp gal/min", "l/min", 1, 4.54609, "NIST SP 811 B.8"},
		{"BTU/h", "kW", 100000, 29.30711, "NIST SP 811 B.8"},
		{"GJ", "kWh", 1, 277.7778, "NIST SP 811 B.8: 1 kWh = 3.6 MJ"},
		{"ft³", "m³", 100, 2.8316846592, "NIST SP 811 B.8"},
		{"W", "kW", 1500, 1.5, "SI prefixes"},
		{"degc", "°C", 21.5, 21.5, "another spelling"},
	} {
		s, err := Between(c.from, c.to)
		if err != nil {
			t.Errorf("%s to %s: %v", c.from, c.to, err)
			continue
		}
		if got := s.Of(c.v); math.Abs(got-c.want) > 1e-6*math.Max(1, math.Abs(c.want)) {
			t.Errorf("%g %s = %.8g %s, want %.8g (%s)", c.v, c.from, got, c.to, c.want, c.source)
		}
	}
}

func TestBetweenRefuses(t *testing.T) {
	for _, c := range [][2]string{{"furlong", "°C"}, {"bar", "°C"}, {"mw", "kWh"}, {"", "bar"}, {"°C", "furlong"}} {
		if s, err := Between(c[0], c[1]); err == nil {
			t.Errorf("%q to %q gave %+v, want an error", c[0], c[1], s)
		}
	}
}

// TestThereAndBack: a scale and its opposite cancel.
func TestThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(units).Draw(t, "unit")
		own := Known(u.names[0])[0]
		there, err1 := Between(u.names[0], own)
		back, err2 := Between(own, u.names[0])
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		v := rapid.Float64Range(-1e6, 1e6).Draw(t, "v")
		if got := back.Of(there.Of(v)); math.Abs(got-v) > 1e-6*math.Max(1, math.Abs(v)) {
			t.Fatalf("%g %s came back as %g", v, u.names[0], got)
		}
	})
}
