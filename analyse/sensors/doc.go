// Package sensors judges the sensors themselves: values that water cannot have, and two sensors of the same water that
// differ by more than their errors allow.
package sensors

import (
	"slices"

	"tundish/analyse"
	"tundish/decode"
)

var water = []decode.Point{decode.Flow, decode.Return}

// isBus tells whether a series comes from an appliance's bus: then its sensor is the appliance's own.
func isBus(p *analyse.Pass, source string) bool { return slices.Contains(p.Buses, source) }

// called names a sensor for people: "the appliance's own flow sensor", "the flow probe of probes".
func called(p *analyse.Pass, s decode.Series) string {
	if isBus(p, s.Source) {
		return "the appliance's own " + pointName(s.Point) + " sensor (" + s.String() + ")"
	}
	return "the " + pointName(s.Point) + " sensor of " + s.Source
}

func pointName(p decode.Point) string {
	switch p {
	case decode.HotWater:
		return "hot-water"
	case decode.Cylinder:
		return "cylinder"
	}
	return p.String()
}

// isWater tells whether a point is water of the heating circuit.
func isWater(p decode.Point) bool { return slices.Contains(water, p) }
