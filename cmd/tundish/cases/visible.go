package cases

import (
	"slices"

	"tundish/cmd/tundish/house"
)

// Data ids of the points that kinds need (OpenTherm Protocol Specification v2.2, 5.3).
const (
	idPressure, idFlow, idHotWater, idReturn = 18, 25, 26, 28
)

// visible tells whether the points that would show a kind are in the home's capture. It says nothing of whether an
// analysis can be sure by them.
func visible(kind string, s *house.Scenario) bool {
	answered := func(ids ...uint8) bool {
		return !s.NoBus && !slices.ContainsFunc(ids, func(id uint8) bool { return slices.Contains(s.Bus.Unsupported, id) })
	}
	pipes := !s.NoProbes || answered(idFlow, idReturn)
	switch kind {
	case "no-circulation":
		return answered(idFlow) // a pipe in which no water moves shows a probe nothing of the boiler
	case "short-cycling", "low-delta-t", "high-delta-t", "not-condensing":
		return pipes
	case "oversized":
		return true // by the job sheet's figures
	case "lockout", "ignition-retries", "demand-not-met", "bus-silence":
		return !s.NoBus
	case "flow-overshoot":
		return answered(idFlow)
	case "pressure-loss", "pressure-swing":
		return answered(idPressure)
	case "probe-disagreement":
		return !s.NoProbes && answered(idFlow) && answered(idReturn)
	case "sensor-fault":
		own, probes := len(s.Faults.OwnSensor) > 0, len(s.Faults.Probe) > 0
		return own && !s.NoBus || probes && !s.NoProbes || !own && !probes && pipes
	case "cylinder-too-cool":
		// an appliance beside which valves share the heat knows nothing of the store
		return s.HotWater.Kind == house.Cylinder && (answered(idHotWater) && s.HotWater.Plan == house.Priority || !s.NoProbes && s.Probes.CylinderROM != "")
	}
	return false
}

// misled tells whether a store that is too cool cannot be told by anyone from its record: its only sensor reads high, and by
// that sensor it reaches the temperature of the row. Beside it the coil's heat alone tells of the store, and only as
// conductance times flow over store: a quicker coil in a store as hot as the sensor says leaves the same record.
func misled(s *house.Scenario, row Criterion, hottest float64) bool {
	lone := s.NoProbes || s.Probes.CylinderROM == ""
	return lone && s.HotWater.SensorOffK > 0 && hottest+s.HotWater.SensorOffK >= row.Absent
}
