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
	Pressure, WaterL           float64 // bar gauge; l in the system less that at filling, at filling temperature
	Flame, Demand, HotWater    bool    // HotWater: the hot-water mode, or water moves through the coil
	Pump, Powered, Locked      bool
	Blocked                    bool // held off by something other than a lockout
	Running                    bool // a flame, or a heat pump's compressor
}

// State is the house after the last step.
func (h *House) State() State {
	return State{
		At: h.now, Outside: h.outside, Air: h.building.air, Fabric: h.building.fabric,
		RoomSetpoint: h.room.target, FlowSetpoint: h.room.flowSP,
		Exchanger: h.circuit.hx.t, FlowPipe: h.circuit.spot.t, Return: h.circuit.ret.t,
		FlowSensor: h.boiler.flowSensor, ReturnSensor: h.boiler.retSensor, Cylinder: h.hot.t,
		OutputKW: h.boiler.outputKW, FuelKW: h.fuelW / 1000, EmittersKW: h.emitW / 1000, LoadKW: h.loadW / 1000,
		FlowLpm: h.flow.exchanger(), HeatingLpm: h.flow.heating(), Valves: h.circuit.valves.opening(),
		Pressure: h.pressure(), WaterL: h.sealed.extra,
		Flame: h.boiler.flame(), Running: h.boiler.running(), Demand: h.asked.heating,
		HotWater: h.boiler.mode == modeHotWater || h.motor.plan != Priority && h.flow.coil > creepLpm,
		Pump:     h.route != routeNone, Powered: h.powered, Locked: h.boiler.locked(), Blocked: h.boiler.blocked(),
	}
}
