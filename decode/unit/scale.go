package unit

import (
	"fmt"
	"slices"
	"strings"
)

// Scale turns a value from one unit into another: value × Factor + Offset.
type Scale struct{ Factor, Offset float64 }

// Of gives v in the unit that the scale leads to.
func (s Scale) Of(v float64) float64 { return v*s.Factor + s.Offset }

// named is a unit by what a meter, a broker or a table's header may call it: its quantity, and how it is led back to
// the quantity's own unit.
type named struct {
	names    []string
	quantity string
	to       Scale
}

const (
	// psi is a pound-force per square inch in bar: 6894.757 Pa. Source: NIST SP 811 (2008), appendix B.8.
	psi = 0.06894757
	// btuPerHour is a British thermal unit (international table) an hour in kW. Source: NIST SP 811, B.8: 0.2930711 W.
	btuPerHour = 0.2930711e-3
	// cubicFoot is in m³, exactly 0.3048³. Source: NIST SP 811, B.8.
	cubicFoot = 0.028316846592
	// usGallon and impGallon are in l. Source: NIST SP 811, B.8 (3.785412 l; 4.54609 l exactly).
	usGallon, impGallon = 3.785411784, 4.54609
	// metreOfWater is a conventional metre of water in bar. Source: NIST SP 811, B.8: 9806.65 Pa.
	metreOfWater = 0.0980665
)

// units are all that are known. The first name of the first unit of a quantity is the quantity's own.
var units = []named{
	{[]string{"°C", "degC", "deg C", "C", "celsius", "℃"}, "temperature", Scale{1, 0}},
	{[]string{"°F", "degF", "deg F", "F", "fahrenheit", "℉"}, "temperature", Scale{5.0 / 9, -160.0 / 9}},
	{[]string{"K", "kelvin"}, "temperature", Scale{1, -273.15}},
	{[]string{"bar", "barg", "bar(g)"}, "pressure", Scale{1, 0}},
	{[]string{"mbar", "hPa"}, "pressure", Scale{1e-3, 0}},
	{[]string{"kPa"}, "pressure", Scale{0.01, 0}},
	{[]string{"MPa"}, "pressure", Scale{10, 0}},
	{[]string{"Pa"}, "pressure", Scale{1e-5, 0}},
	{[]string{"psi", "psig"}, "pressure", Scale{psi, 0}},
	{[]string{"mH2O", "mWC"}, "pressure", Scale{metreOfWater, 0}},
	{[]string{"l/min", "L/min", "lpm", "LPM"}, "flow", Scale{1, 0}},
	{[]string{"l/h", "L/h", "lph"}, "flow", Scale{1.0 / 60, 0}},
	{[]string{"l/s", "L/s"}, "flow", Scale{60, 0}},
	{[]string{"m³/h", "m3/h"}, "flow", Scale{1000.0 / 60, 0}},
	{[]string{"m³/s", "m3/s"}, "flow", Scale{60000, 0}},
	{[]string{"US gal/min"}, "flow", Scale{usGallon, 0}},
	{[]string{"imp gal/min"}, "flow", Scale{impGallon, 0}},
	{[]string{"kW", "kilowatt"}, "power", Scale{1, 0}},
	{[]string{"W", "watt"}, "power", Scale{1e-3, 0}},
	{[]string{"MW"}, "power", Scale{1000, 0}},
	{[]string{"kJ/h"}, "power", Scale{1.0 / 3600, 0}},
	{[]string{"BTU/h", "Btu/h"}, "power", Scale{btuPerHour, 0}},
	{[]string{"kWh", "kilowatt-hours"}, "energy", Scale{1, 0}},
	{[]string{"Wh"}, "energy", Scale{1e-3, 0}},
	{[]string{"MWh"}, "energy", Scale{1000, 0}},
	{[]string{"GWh"}, "energy", Scale{1e6, 0}},
	{[]string{"J"}, "energy", Scale{1 / 3.6e6, 0}},
	{[]string{"kJ"}, "energy", Scale{1.0 / 3600, 0}},
	{[]string{"MJ"}, "energy", Scale{1 / 3.6, 0}},
	{[]string{"GJ"}, "energy", Scale{1000 / 3.6, 0}},
	{[]string{"m³", "m3"}, "volume", Scale{1, 0}},
	{[]string{"l", "L", "litre", "liter"}, "volume", Scale{1e-3, 0}},
	{[]string{"ft³", "ft3", "cu ft"}, "volume", Scale{cubicFoot, 0}},
	{[]string{"%", "percent"}, "share", Scale{1, 0}},
	{[]string{"h", "hours"}, "time", Scale{1, 0}},
	{[]string{"min", "minutes"}, "time", Scale{1.0 / 60, 0}},
	{[]string{"s", "seconds"}, "time", Scale{1.0 / 3600, 0}},
	{[]string{"µA", "μA", "uA"}, "current", Scale{1, 0}},
	{[]string{"nA"}, "current", Scale{1e-3, 0}},
	{[]string{"0/1", "on/off"}, "state", Scale{1, 0}},
	{[]string{"count", "1"}, "count", Scale{1, 0}},
	{[]string{"integer"}, "integer", Scale{1, 0}},
}

// find looks a unit up: as it is written, else without regard to case where only one is meant.
func find(name string) (named, bool) {
	name = strings.TrimSpace(name)
	var like []named
	for _, u := range units {
		if slices.Contains(u.names, name) {
			return u, true
		}
		if slices.ContainsFunc(u.names, func(n string) bool { return strings.EqualFold(n, name) }) {
			like = append(like, u)
		}
	}
	if len(like) == 1 {
		return like[0], true
	}
	return named{}, false
}

// Between gives the scale from a unit to another, both by name: "°F", "l/h", "psi". Names stand as the trade writes
// them; case matters only where it tells two units apart (MW and mW). The error names what is not known, or what
// cannot be turned into what.
func Between(from, to string) (Scale, error) {
	a, ok := find(from)
	if !ok {
		return Scale{}, fmt.Errorf("%q is no unit that is known; for %s these are: %s", from, to, strings.Join(Known(to), ", "))
	}
	b, ok := find(to)
	if !ok {
		return Scale{}, fmt.Errorf("%q is no unit that is known", to)
	}
	if a.quantity != b.quantity {
		return Scale{}, fmt.Errorf("%s is a unit of %s, %s one of %s", from, a.quantity, to, b.quantity)
	}
	return Scale{Factor: a.to.Factor / b.to.Factor, Offset: (a.to.Offset - b.to.Offset) / b.to.Factor}, nil
}

// Known lists the units that can be turned into a unit, by their first names.
func Known(to string) []string {
	b, ok := find(to)
	if !ok {
		return nil
	}
	var out []string
	for _, u := range units {
		if u.quantity == b.quantity {
			out = append(out, u.names[0])
		}
	}
	return out
}
