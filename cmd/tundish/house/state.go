package house

import "time"

// State is a moment of the house, for tests, plots and labels. Temperatures in °C. All is true, not as measured,
// unless it says sensor or probe.
type State struct {
	At                         time.Duration
	Outside, Air, Fabric       float64
	RoomSetpoint, FlowSetpoint float64
	Exchanger                  float64 // water in the heat exchanger
	FlowPipe, Return           float64 // pipe water where the probes are
	FlowSensor, ReturnSensor   float64 // the boiler's own, with their lag and ailments
	FlowProbe, ReturnProbe     float64 // the clip-on probes' chips, with lag and ailments
	Cylinder                   float64 // stored, or at the plate's outlet
	OutputKW, FuelKW           float64 // heat into the water; gas on the gross value or electricity
	EmittersKW, LoadKW         float64 // heat from the emitters; heat the building loses
	FlowLpm, HeatingLpm        float64 // through the exchanger; through heating emitters, bypass left out
	Valves                     float64 // mean opening of the thermostatic valves, 1: none or all open
	Pressure, WaterL           float64 // bar gauge; l in the system less that at filling
	Flame, Demand, HotWater    bool    // HotWater: the hot-water mode, or the cylinder's valve open
	Pump, Powered, Locked      bool
	Blocked                    bool
}

// State is the house after the last step.
func (h *House) State() State {
	return State{
		At: h.now, Outside: h.outside, Air: h.building.air, Fabric: h.building.fabric,
		RoomSetpoint: h.room.target, FlowSetpoint: h.room.flowSP,
		Exchanger: h.circuit.hx.t, FlowPipe: h.circuit.spot.t, Return: h.circuit.ret.t,
		FlowSensor: h.boiler.flowSensor, ReturnSensor: h.boiler.retSensor, Cylinder: h.hot.t,
		OutputKW: h.boiler.outputKW, EmittersKW: h.emitW / 1000, Pressure: h.pressure(),
		Flame: h.boiler.flame(), Demand: h.room.enable, HotWater: h.boiler.mode == modeHotWater,
		Pump: h.route != routeNone, Powered: h.powered, Locked: h.boiler.locked(),
	}
}
