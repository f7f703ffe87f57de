package house

import "math"

const (
	// subStepS is the circuit's longest time step, s. It is cut further so that no step moves more than half of the
	// smallest node's water: an explicit step would swing.
	subStepS = 0.5
	// mostSubSteps bounds how finely a second is cut.
	mostSubSteps = 40
	// spotL is the water in the stretch of flow pipe that carries the probe, just below the casing, l: about 1.2 m of
	// 22 mm copper (EN 1057, 0.32 l/m). Own assumption.
	spotL = 0.4
	// outletKg is the water between exchanger and the boiler's own flow sensor, kg, and stagnantS how slowly the sensor's
	// place follows the exchanger while nothing moves: why a boiler without circulation overheats before its control
	// sees it. Own assumptions.
	outletKg, stagnantS = 0.05, 30.0
	// fillTemperature is the water's temperature at filling, °C: sets the mass of water in each node. Own assumption.
	fillTemperature = 15.0
)

// node is a well-mixed stretch of water with the metal around it.
type node struct {
	t     float64 // °C
	water float64 // kg
	metal float64 // J/K
	loss  float64 // W/K to the room: casing, pipes
}

func (n *node) add(joule float64) { n.t += joule / (n.water*SpecificHeat(n.t) + n.metal) }
func (n *node) heat() float64     { return n.water*enthalpy(n.t) + n.metal*n.t }

// route is where the pump sends the water.
type route uint8

const (
	routeNone route = iota // pump off
	routeHeating
	routeCoil  // through the cylinder's coil
	routePlate // through the plate exchanger of an instantaneous appliance; the pipes outside see nothing
)

// circuit is the water side: exchanger, flow pipe, emitters or coil, return pipe, and back.
type circuit struct {
	hx, spot, flow, ret, coil node
	valved, plain             bank    // emitters with thermostatic valves, and without
	outlet                    float64 // water where the boiler's own flow sensor sits, °C
	coilUA                    float64 // W/K
	hydraulics                hydraulics
	valves                    thermostatic
}

// heats is what one step moved, J.
type heats struct{ burner, emitters, losses, hotWater float64 }

func newCircuit(s *Scenario, t0 float64) circuit {
	kg := func(litre float64) float64 { return litre / 1000 * Density(fillTemperature) }
	c := &s.Circuit
	mk := func(litre, metal, loss float64) node { return node{t: t0, water: kg(litre), metal: metal, loss: loss} }
	atSpot := spotL / c.FlowPipeL
	return circuit{
		hx:   mk(s.Boiler.WaterL, s.Boiler.MetalJK, s.Boiler.CasingWK),
		spot: mk(spotL, atSpot*c.PipeMetalJK/2, atSpot*c.PipeLossWK/2),
		flow: mk(c.FlowPipeL-spotL, (1-atSpot)*c.PipeMetalJK/2, (1-atSpot)*c.PipeLossWK/2),
		ret:  mk(c.ReturnPipeL, c.PipeMetalJK/2, c.PipeLossWK/2),
		coil: mk(s.HotWater.CoilL, 0, 0), coilUA: s.HotWater.CoilUA, outlet: t0,

		valved: newBank(c, c.Valves.Share, t0, mk), plain: newBank(c, 1-c.Valves.Share, t0, mk),
		hydraulics: newHydraulics(s), valves: newThermostatic(c.Valves, roomStart),
	}
}

// stored is the heat in water, metal and slab, J above 0 °C.
func (c *circuit) stored() float64 {
	return c.hx.heat() + c.spot.heat() + c.flow.heat() + c.ret.heat() + c.coil.heat() + c.valved.heat() + c.plain.heat()
}

// mean is the mean temperature of the water, °C, and its mass, kg.
func (c *circuit) mean() (t, kg float64) {
	add := func(n *node) { t += n.t * n.water; kg += n.water }
	add(&c.hx)
	add(&c.spot)
	add(&c.flow)
	add(&c.ret)
	add(&c.coil)
	for i := range emitterNodes {
		add(&c.valved.nodes[i])
		add(&c.plain.nodes[i])
	}
	return t / kg, kg
}

// moves is the water moved in one sub-step of dt s, kg.
type moves struct{ dt, all, valved, plain, bypass, coil float64 }

// branch is a bank of emitters and the water moved through it.
type branch struct {
	b  *bank
	kg float64
}

func (c *circuit) branches(m *moves) [2]branch {
	return [...]branch{{&c.valved, m.valved}, {&c.plain, m.plain}}
}

// divide cuts a second into sub-steps and the flows into what each of them moves.
func (c *circuit) divide(f flows) (m moves, n int) {
	kg := Density(c.ret.t) / 60e3
	m = moves{1, f.outside() * kg, f.valved * kg, f.plain * kg, f.bypass * kg, f.coil * kg}
	quick := m.all / min(c.spot.water, c.flow.water, c.ret.water, c.hx.water) // 1/s
	for _, branch := range []struct{ kgs, water float64 }{{m.valved, c.valved.nodes[0].water}, {m.plain, c.plain.nodes[0].water}, {m.coil, c.coil.water}} {
		if branch.kgs > 0 && branch.water > 0 {
			quick = max(quick, branch.kgs/branch.water)
		}
	}
	// Beyond mostSubSteps the flow is cut: no house has a pump that renews its smallest node as often in a second.
	share := min(1, mostSubSteps/(2*quick))
	n = int(min(max(1/subStepS, math.Ceil(2*quick)), mostSubSteps))
	f1 := share / float64(n)
	return moves{1 / float64(n), m.all * f1, m.valved * f1, m.plain * f1, m.bypass * f1, m.coil * f1}, n
}

// step moves the water by one second. plateW(t) is the heat that the plate exchanger takes out of water at t °C.
func (c *circuit) step(f flows, burnerW, roomT, cylinderT float64, plateW func(float64) float64) (sum heats) {
	m, n := c.divide(f)
	for _, e := range c.branches(&m) {
		if !e.b.none() {
			e.b.settle(e.kg/m.dt, c.flow.t, roomT)
		}
	}
	if f.plate == 0 {
		plateW = nil
	}
	for range n {
		h := c.sub(&m, burnerW*m.dt, roomT, cylinderT, plateW)
		sum.burner += h.burner
		sum.emitters += h.emitters
		sum.losses += h.losses
		sum.hotWater += h.hotWater
	}
	c.valves.sense(roomT)
	c.outlet += (c.hx.t - c.outlet) * min(1, max((m.all/m.dt+f.plate*Density(c.ret.t)/60e3)/outletKg, 1/stagnantS))
	return sum
}

// sub is one explicit sub-step. burner is the heat given, J. All gains are worked out from the state before, then
// applied: what one node loses another gains, to the last joule.
func (c *circuit) sub(m *moves, burner, roomT, cylinderT float64, plateW func(float64) float64) (h heats) {
	h.burner = burner
	dHX, dSpot, dFlow, dRet, dCoil := burner, 0.0, 0.0, 0.0, 0.0
	flowT, in := c.flow.t, 0.0
	if m.all > 0 {
		hHX, hSpot, hRet := enthalpy(c.hx.t), enthalpy(c.spot.t), enthalpy(c.ret.t)
		in = enthalpy(flowT)
		dHX += m.all * (hRet - hHX)
		dSpot = m.all * (hHX - hSpot)
		dFlow = m.all * (hSpot - in)
		dRet = m.bypass*in - m.all*hRet
		if m.coil > 0 {
			own := enthalpy(c.coil.t)
			dCoil = m.coil * (in - own)
			dRet += m.coil * own
		}
	}
	if plateW != nil {
		h.hotWater = plateW(c.hx.t) * m.dt
		dHX -= h.hotWater
	}
	if c.coil.water > 0 && c.coil.t > cylinderT { // no way back: a non-return valve stops circulation from the store
		q := c.coilUA * (c.coil.t - cylinderT) * m.dt
		dCoil -= q
		h.hotWater += q
	}
	for _, e := range c.branches(m) {
		if e.b.none() {
			continue
		}
		out, room := e.b.sub(m.dt, e.kg, in, flowT, roomT)
		dRet += e.kg * out
		h.emitters += room
	}
	h.losses = c.hx.lose(m.dt, dHX, roomT) + c.spot.lose(m.dt, dSpot, roomT) + c.flow.lose(m.dt, dFlow, roomT) +
		c.ret.lose(m.dt, dRet, roomT)
	if c.coil.water > 0 {
		c.coil.add(dCoil)
	}
	return h
}

// lose applies a node's gain and its loss to the room over dt s; it returns the loss, J.
func (n *node) lose(dt, gain, roomT float64) float64 {
	q := n.loss * (n.t - roomT) * dt
	n.add(gain - q)
	return q
}
