package decode

import "fmt"

// Point says what a value is of. The names and units are the vocabulary of every file, table and page.
// The zero Point is no point.
type Point uint8

// The points. Temperatures are in °C, see [Point.Unit].
const (
	NoPoint           Point = iota
	Flow                    // water leaving the heat source
	Return                  // water coming back to it
	FlowSetpoint            // what the controller wants the flow to be
	RoomSetpoint            // what the room unit wants the room to be
	Outside                 // outside air
	Room                    // room air
	Cylinder                // stored hot water
	HotWater                // at the outlet of an instantaneous appliance
	Flue                    // flue gas
	Pressure                // heating water, gauge
	HotWaterSetpoint        //
	Modulation              // 0 lowest, 100 highest modulating output, as the bus gives it
	FlowRate                // primary circuit
	HotWaterRate            //
	HeatPower               //
	HeatEnergy              // counter
	ElectricEnergy          // counter
	ElectricPower           //
	GasVolume               // counter
	Flame                   // burner lit
	HeatDemand              // somebody asks for heat
	HeatActive              // the appliance is in heating mode
	HotWaterActive          // the appliance is in hot-water mode
	Pump                    //
	Supply                  // the appliance has mains
	OutputMax               // greatest output, as the appliance states it
	ModulationMin           // least output as a share of the greatest
	ModulationCeiling       // the ceiling the controller sets
	BurnerStarts            // the appliance's own counter; wraps, can be reset
	FailedStarts            // likewise
	FlameLosses             // likewise
	BurnerHours             // likewise
	FlameCurrent            //
	Fault                   // the appliance says that it is in fault
	FaultFlags              // bits as the bus gives them
	FaultCode               // maker's number
	DiagnosticCode          // maker's number
	Light                   // an indicator light seen by a light sensor
	ResetRequest            // 1 at the moment somebody asked over the bus for a lockout to be reset
	LightSign               // what the light shows, see tundish/decode/light: 0 off, 1–20 flashes, 30 steady, 31 flashing, 32 rapid
	pointCount
)

// pointInfo is the vocabulary's one table. Low and high bound what a value can be at all, not what is usual:
// a reading outside is not a reading of this point. The bounds of temperatures are the widest of the buses and
// probes read here (OpenTherm f8.8 and s16 ranges, DS18B20 −55…125 °C).
var pointInfo = [pointCount]struct {
	name, unit string
	low, high  float64
}{
	NoPoint:           {"", "", 0, 0},
	Flow:              {"flow", "°C", -55, 150},
	Return:            {"return", "°C", -55, 150},
	FlowSetpoint:      {"flow-setpoint", "°C", -40, 150},
	RoomSetpoint:      {"room-setpoint", "°C", -40, 127},
	Outside:           {"outside", "°C", -60, 127},
	Room:              {"room", "°C", -55, 127},
	Cylinder:          {"cylinder", "°C", -55, 150},
	HotWater:          {"hot-water", "°C", -55, 150},
	Flue:              {"flue", "°C", -55, 500},
	Pressure:          {"pressure", "bar", -1, 25},
	HotWaterSetpoint:  {"hot-water-setpoint", "°C", -40, 127},
	Modulation:        {"modulation", "%", 0, 100},
	FlowRate:          {"flow-rate", "l/min", -1000, 1000},
	HotWaterRate:      {"hot-water-rate", "l/min", 0, 1000},
	HeatPower:         {"heat-power", "kW", -10000, 10000},
	HeatEnergy:        {"heat-energy", "kWh", -1e12, 1e12},
	ElectricEnergy:    {"electric-energy", "kWh", -1e12, 1e12},
	ElectricPower:     {"electric-power", "kW", -10000, 10000},
	GasVolume:         {"gas-volume", "m³", 0, 1e12},
	Flame:             {"flame", "0/1", 0, 1},
	HeatDemand:        {"heat-demand", "0/1", 0, 1},
	HeatActive:        {"heat-active", "0/1", 0, 1},
	HotWaterActive:    {"hot-water-active", "0/1", 0, 1},
	Pump:              {"pump", "0/1", 0, 1},
	Supply:            {"supply", "0/1", 0, 1},
	OutputMax:         {"output-max", "kW", 0, 10000},
	ModulationMin:     {"modulation-min", "%", 0, 100},
	ModulationCeiling: {"modulation-ceiling", "%", 0, 100},
	BurnerStarts:      {"burner-starts", "count", 0, 1e12},
	FailedStarts:      {"failed-starts", "count", 0, 1e12},
	FlameLosses:       {"flame-losses", "count", 0, 1e12},
	BurnerHours:       {"burner-hours", "h", 0, 1e12},
	FlameCurrent:      {"flame-current", "µA", -128, 1000},
	Fault:             {"fault", "0/1", 0, 1},
	FaultFlags:        {"fault-flags", "integer", 0, 255},
	FaultCode:         {"fault-code", "integer", 0, 65535},
	DiagnosticCode:    {"diagnostic-code", "integer", 0, 65535},
	Light:             {"light", "0/1", 0, 1},
	ResetRequest:      {"reset-request", "0/1", 0, 1},
	LightSign:         {"light-sign", "integer", 0, 32},
}

// Points lists all points in the order of the vocabulary.
func Points() []Point {
	all := make([]Point, 0, pointCount-1)
	for p := NoPoint + 1; p < pointCount; p++ {
		all = append(all, p)
	}
	return all
}

// ParsePoint finds a point by its name.
func ParsePoint(name string) (Point, error) {
	for p := NoPoint + 1; p < pointCount; p++ {
		if pointInfo[p].name == name {
			return p, nil
		}
	}
	return NoPoint, fmt.Errorf("%q is not a point", name)
}

func (p Point) String() string {
	if p >= pointCount {
		return fmt.Sprintf("point-%d", uint8(p))
	}
	return pointInfo[p].name
}

// Unit is the unit of the point's values, as printed: "°C", "bar", "0/1".
func (p Point) Unit() string {
	if p >= pointCount {
		return ""
	}
	return pointInfo[p].unit
}

// kind is how a point's values can be, by its unit.
type kind uint8

const (
	number kind = iota
	binary
	whole
	temperature
)

var kinds = func() (all [256]kind) {
	for p, i := range pointInfo {
		switch i.unit {
		case "0/1":
			all[p] = binary
		case "integer":
			all[p] = whole
		case "°C":
			all[p] = temperature
		}
	}
	return all
}()

// Binary tells whether the point can only be 0 or 1.
func (p Point) Binary() bool { return kinds[p] == binary }

// Temperature tells whether the point is a temperature in °C.
func (p Point) Temperature() bool { return kinds[p] == temperature }

// Holds tells whether a value of this point can exist at all: finite, inside the point's bounds, 0 or 1 for a
// binary point, whole for codes and flags.
func (p Point) Holds(v float64) bool {
	if p == NoPoint || p >= pointCount {
		return false
	}
	i := &pointInfo[p]
	if !(v >= i.low && v <= i.high) { // false for NaN
		return false
	}
	switch kinds[p] {
	case binary:
		return v == 0 || v == 1
	case whole:
		return v == float64(int64(v))
	}
	return true
}
