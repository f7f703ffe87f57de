package mbus

import (
	"tundish/decode"
	"tundish/decode/unit"
)

// usual is the unit that stands for a quantity where the question is whether it can be a point at all.
var usual = map[Quantity]string{
	Energy: "kWh", Volume: "m³", Power: "kW", VolumeFlow: "m³/h", FlowTemperature: "°C", ReturnTemperature: "°C",
	ExternalTemperature: "°C", Pressure: "bar", OnTime: "h", OperatingTime: "h", DigitalInput: "0/1", DigitalOutput: "0/1",
}

// pointsOf lists the points that a quantity can be.
func pointsOf(q Quantity) (out []decode.Point) {
	u, ok := usual[q]
	if !ok {
		return nil
	}
	for _, p := range decode.Points() {
		if _, err := unit.Between(u, p.Unit()); err == nil {
			out = append(out, p)
		}
	}
	return out
}

// CanBe tells whether a quantity can be this point.
func CanBe(q Quantity, p decode.Point) bool {
	u, ok := usual[q]
	if !ok {
		return false
	}
	_, err := unit.Between(u, p.Unit())
	return err == nil
}

// byMedium is the point that a quantity is by itself, by what is metered: a heat meter's energy is heat, and its flow
// and return are the water's; the volume of a gas meter is gas. NoPoint: nothing can be said without the job sheet.
func byMedium(m Medium, q Quantity) decode.Point {
	switch {
	case m.heats():
		switch q {
		case Energy:
			return decode.HeatEnergy
		case Power:
			return decode.HeatPower
		case VolumeFlow:
			return decode.FlowRate
		case FlowTemperature:
			return decode.Flow
		case ReturnTemperature:
			return decode.Return
		}
	case m == MediumElectricity:
		switch q {
		case Energy:
			return decode.ElectricEnergy
		case Power:
			return decode.ElectricPower
		}
	case m == MediumGas && q == Volume:
		return decode.GasVolume
	}
	return decode.NoPoint
}

// conversion is from a unit of a meter to that of a point.
type conversion struct {
	unit  string
	point decode.Point
}

// to gives the scale of a conversion; false: one cannot be turned into the other.
func (d *Decoder) to(unitName string, p decode.Point) (unit.Scale, bool) {
	if p.Binary() {
		return unit.Scale{Factor: 1}, unitName == ""
	}
	c := conversion{unitName, p}
	if s, known := d.scales[c]; known {
		return s, s != unit.Scale{}
	}
	s, err := unit.Between(unitName, p.Unit())
	if err != nil {
		s = unit.Scale{}
	}
	d.scales[c] = s
	return s, err == nil
}
