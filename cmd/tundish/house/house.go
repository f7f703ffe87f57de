package house

import "time"

const (
	// roomStart, fabricStart, waterStart are where a scenario begins at midnight, °C. Own assumptions.
	roomStart, fabricStart, waterStart = 19.5, 19.3, 24.0
)

// House is a scenario in progress. Each [House.Step] is one second. One goroutine at a time.
type House struct {
	s        Scenario
	now      time.Duration
	weather  *weather
	building building
	circuit  circuit
	boiler   boiler
	hot      hotWater
	motor    motorValves
	sealed   sealed
	asked    asked // of the boiler in the last second
	room     roomUnit
	faults   *faults
	story    chronicle
	powered  bool
	outside  float64
	route    route
	flow     flows
	emitW    float64       // from the emitters in the last second, W
	loadW    float64       // what the building lost in the last second, W
	fuelW    float64       // burnt or drawn in the last second, W
	command  bool          // the room unit is to send a reset command
	dark     bool          // no mains in the last second
	spurTo   time.Duration // a person has the fused spur off until then

	stored0, fabric0, cylinder0 float64
}

// New builds a house at midnight of its first day.
func New(s Scenario, seed uint64) *House {
	h := &House{s: s, powered: true}
	h.weather = newWeather(s.Weather, s.Start, seed)
	h.outside = h.weather.outside(0)
	h.building = newBuilding(s.Building, roomStart, fabricStart)
	h.circuit = newCircuit(&h.s, waterStart)
	h.boiler = newBoiler(&h.s.Boiler, waterStart)
	h.hot = newHotWater(&h.s, seed)
	h.motor = newMotorValves(&h.s)
	h.room = newRoomUnit(&h.s, roomStart, h.outside)
	h.room.flowSP = h.room.curve()
	h.faults = newFaults(&h.s.Faults, seed)
	t, kg := h.circuit.mean()
	h.sealed = newSealed(&h.s, kg, t)
	h.stored0, h.fabric0, h.cylinder0 = h.circuit.stored(), h.building.stored(), h.hot.stored()
	return h
}

// Now is the time since the scenario's start.
func (h *House) Now() time.Duration { return h.now }

// Step moves the house by one second.
func (h *House) Step() {
	now := h.now
	h.outside = h.weather.outside(now)
	h.hot.people(now)
	h.faults.weather(now, h.outside)
	h.room.step(now, h.building.air, h.outside, within(h.s.People.Away, now))
	call, hotSP := h.hot.calls(now)
	h.powered = h.mains(now, call)
	h.resets(now)

	a := asked{powered: h.powered, heating: h.room.enable, hotWater: call, heatingSP: h.room.flowSP, hotWaterSP: hotSP,
		outside: h.outside}
	if h.s.Boiler.MinPressureBar > 0 {
		a.pressure = h.pressure()
	}
	h.motor.want(now, &a, &h.s.Room)
	h.asked = a
	did := h.boiler.step(now, a, h.faults)

	h.route = h.boiler.pump(now, h.powered, h.s.HotWater.Kind)
	h.flow = h.circuit.hydraulics.solve(h.motor.ways(now, h.route), passes(h.circuit.valves.opening()), h.ailing())
	h.story.note(now, &h.boiler, did, h.seen(now))
	plate := func(t float64) float64 { return h.hot.plateW(t, h.flow.plate/60e3*Density(t)) }
	moved := h.circuit.step(h.flow, 1000*h.boiler.outputKW, h.building.air, h.hot.t, plate)
	h.emitW = moved.emitters
	back := h.returnAtBoiler()
	h.burn(moved.burner, back)
	h.boiler.sense(now, h.circuit.hx.t, h.circuit.outlet, back, h.faults)
	h.story.watch(now, &h.boiler, h.circuit.hx.t, h.servesHeating())
	h.hot.step(moved.hotWater, h.building.air)
	h.balance(now, moved)
	t, _ := h.circuit.mean()
	if h.sealed.step(now, t, h.circuit.spot.t) {
		h.story.refilled(now)
	}
	h.now += time.Second
}

// returnAtBoiler is the water that enters the exchanger, °C; in instantaneous hot water it comes from the plate, mixed
// with what a passing valve lets come from the pipe outside.
func (h *House) returnAtBoiler() float64 {
	if h.flow.plate == 0 {
		return h.circuit.ret.t
	}
	kgs := h.flow.plate / 60e3 * Density(h.circuit.hx.t)
	plate := h.circuit.hx.t - h.hot.plateW(h.circuit.hx.t, kgs)/(kgs*SpecificHeat(h.circuit.hx.t))
	return plate + (h.circuit.ret.t-plate)*h.flow.outside()/h.flow.exchanger()
}

// balance moves the building and keeps the ledger.
func (h *House) balance(now time.Duration, m heats) {
	people, sun := h.gains(now)
	share := h.s.Circuit.Emitters.radiant()
	radiant := share*m.emitters + sun // the sun falls on floors and walls
	convective := (1-share)*m.emitters + m.losses + people + h.hot.lost

	l := &h.story.Ledger
	l.Burner += m.burner
	l.Emitters += m.emitters
	l.CasingPipes += m.losses
	l.HotWater += m.hotWater
	l.Gains += people + sun
	l.CylinderLoss += h.hot.lost
	l.Drawn += h.hot.drawn
	h.loadW = h.building.step(convective, radiant, h.outside)
	l.Outside += h.loadW
}

// Truth is what has happened so far.
func (h *House) Truth() Truth {
	t := h.story.close(h.now)
	t.Ledger.WaterMetal = h.circuit.stored() - h.stored0
	t.Ledger.Fabric = h.building.stored() - h.fabric0
	t.Ledger.Cylinder = h.hot.stored() - h.cylinder0
	return t
}

// pressure is the system's, bar gauge.
func (h *House) pressure() float64 { return h.sealed.bar }
