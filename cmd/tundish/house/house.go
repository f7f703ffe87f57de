package house

import (
	"time"

	"tundish/analyse/episode"
)

const (
	// busyShare and quietShare shape the gains over the day: more from 6 to 9 and 17 to 23 h;
	// their mean over the day is 1. Own assumption.
	busyShare, quietShare = 1.6, 0.64
	// roomStart, fabricStart, waterStart are where a scenario begins at midnight, °C. Own assumptions.
	roomStart, fabricStart, waterStart = 19.5, 19.3, 24.0
	// commandLead is how long before a reset over the bus takes effect the room unit decides on it: it waits for
	// its next turn to speak. Own assumption.
	commandLead = 3 * time.Second
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
	room     roomUnit
	faults   *faults
	story    chronicle
	powered  bool
	outside  float64
	route    route
	emitW    float64 // from the emitters in the last second, W
	command  bool    // the room unit is to send a reset command

	stored0, fabric0, cylinder0 float64
}

// New builds a house at midnight of its first day.
func New(s Scenario, seed uint64) *House {
	h := &House{s: s, powered: true}
	h.weather = newWeather(s.Weather, seed)
	h.outside = h.weather.outside(0)
	h.building = newBuilding(s.Building, roomStart, fabricStart)
	h.circuit = newCircuit(&h.s, waterStart)
	h.boiler = newBoiler(&h.s.Boiler, waterStart)
	h.hot = newHotWater(&h.s.HotWater, seed)
	h.room = newRoomUnit(&h.s, roomStart, h.outside)
	h.room.flowSP = h.room.curve()
	h.faults = newFaults(&h.s.Faults)
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
	h.room.step(now, h.building.air, h.outside)
	call, hotSP := h.hot.calls(now)
	h.powered = !h.s.SwitchedLive || h.room.enable || call
	h.resets(now)

	a := asked{powered: h.powered, heating: h.room.enable, hotWater: call, heatingSP: h.room.flowSP, hotWaterSP: hotSP,
		outside: h.outside}
	did := h.boiler.step(now, a, h.faults)
	h.story.note(now, &h.boiler, did, h.room.enable, h.powered, h.faults.silent(now))

	h.route = h.boiler.pump(now, h.powered, h.s.HotWater.Kind)
	lpm := h.s.Circuit.FlowLpm
	if h.route == routeCoil {
		lpm = h.s.HotWater.FlowLpm
	}
	moved := h.circuit.step(h.route, lpm, 1000*h.boiler.outputKW, h.building.air, h.hot.t, h.hot.plateW)
	h.emitW = moved.emitters
	h.boiler.sense(h.circuit.hx.t, h.returnAtBoiler())
	h.hot.step(moved.hotWater, h.building.air)
	h.balance(now, moved)
	h.now += time.Second
}

// returnAtBoiler is the water that enters the exchanger, °C; in instantaneous hot water it comes from the plate, not
// from the pipe outside.
func (h *House) returnAtBoiler() float64 {
	if h.route != routePlate {
		return h.circuit.ret.t
	}
	kgs := h.s.HotWater.FlowLpm / 60e3 * Density(h.circuit.hx.t)
	return h.circuit.hx.t - h.hot.plateW(h.circuit.hx.t)/(kgs*SpecificHeat(h.circuit.hx.t))
}

// resets lets the person reset a lockout when the time has come.
func (h *House) resets(now time.Duration) {
	if !h.boiler.locked() {
		return
	}
	if h.boiler.resetHow == episode.ResetCommand && now == h.boiler.resetAt-commandLead {
		h.command = true
	}
	if now >= h.boiler.resetAt {
		h.boiler.reset(now)
		h.story.unlock(now)
	}
}

// balance moves the building and keeps the ledger.
func (h *House) balance(now time.Duration, m heats) {
	hour := (now % day).Hours()
	share := quietShare
	if hour >= 6 && hour < 9 || hour >= 17 && hour < 23 {
		share = busyShare
	}
	people, sun := share*h.s.Building.GainsW, h.weather.sun(now, h.s.Building.SolarW)
	radiant := radiantShare*m.emitters + sun // the sun falls on floors and walls
	convective := (1-radiantShare)*m.emitters + m.losses + people + h.hot.lost

	l := &h.story.Ledger
	l.Burner += m.burner
	l.Emitters += m.emitters
	l.CasingPipes += m.losses
	l.HotWater += m.hotWater
	l.Gains += people + sun
	l.CylinderLoss += h.hot.lost
	l.Drawn += h.hot.drawn
	l.Outside += h.building.step(convective, radiant, h.outside)
}

// Truth is what has happened so far.
func (h *House) Truth() Truth {
	c := h.story
	c.Firings = append([]Firing(nil), c.Firings...)
	c.Demands = append([]Span(nil), c.Demands...)
	c.Draws = append([]Span(nil), c.Draws...)
	c.Lockouts = append([]Lockout(nil), c.Lockouts...)
	c.Silences = append([]Silence(nil), c.Silences...)
	c.Attempts = append([]Attempt(nil), c.Attempts...)
	c.Ledger.WaterMetal = h.circuit.stored() - h.stored0
	c.Ledger.Fabric = h.building.stored() - h.fabric0
	c.Ledger.Cylinder = h.hot.stored() - h.cylinder0
	return c.close(h.now)
}

// pressure is the system's, bar gauge.
func (h *House) pressure() float64 {
	t, kg := h.circuit.mean()
	return h.s.Vessel.Pressure(kg/Density(fillTemperature)*1000, fillTemperature, t)
}
