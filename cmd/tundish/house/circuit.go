package house

import "math"

const (
	// subStepS is the circuit's longest time step, s. It is cut further so that no step moves more than half of the
	// smallest node's water: an explicit step would swing.
	subStepS = 0.5
	// spotL is the water in the stretch of flow pipe that carries the probe, just below the casing, l: about 1.2 m of
	// 22 mm copper (EN 1057, 0.32 l/m). Own assumption.
	spotL = 0.4
	// emitterNodes is into how many nodes in series the emitters are cut. Each gives heat by the mean of the water that
	// enters and leaves it, which brings the bank within 1 % of the logarithmic mean. Own assumption.
	emitterNodes = 3
	// excessEN442 is the excess temperature at which EN 442 rates emitters (75/65/20 °C), K.
	excessEN442 = 50.0
	// fillTemperature is the water's temperature at filling, °C: sets the mass of water in each node. Own assumption.
	fillTemperature = 15.0
)

// EmitterOutput is the heat in W that an emitter gives at an excess of water over room in K: Φ = Φ50·(ΔT/50)^n
// (EN 442; n is 1.3 for panel radiators). At no excess, or a negative one, it gives none.
func EmitterOutput(phi50W, excessK, n float64) float64 {
	if excessK <= 0 {
		return 0
	}
	return phi50W * math.Pow(excessK/excessEN442, n)
}

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
	emit                      [emitterNodes]node
	phi50W, exponent          float64
	bypass                    float64 // share of the flow rate that goes from flow to return past the emitters
	coilUA                    float64 // W/K
}

// heats is what one step moved, J.
type heats struct{ burner, emitters, losses, hotWater float64 }

func newCircuit(s *Scenario, t0 float64) circuit {
	kg := func(litre float64) float64 { return litre / 1000 * Density(fillTemperature) }
	c := &s.Circuit
	mk := func(litre, metal, loss float64) node { return node{t: t0, water: kg(litre), metal: metal, loss: loss} }
	atSpot := spotL / c.FlowPipeL
	w := circuit{
		hx:   mk(s.Boiler.WaterL, s.Boiler.MetalJK, s.Boiler.CasingWK),
		spot: mk(spotL, atSpot*c.PipeMetalJK/2, atSpot*c.PipeLossWK/2),
		flow: mk(c.FlowPipeL-spotL, (1-atSpot)*c.PipeMetalJK/2, (1-atSpot)*c.PipeLossWK/2),
		ret:  mk(c.ReturnPipeL, c.PipeMetalJK/2, c.PipeLossWK/2),
		coil: mk(s.HotWater.CoilL, 0, 0),

		phi50W: c.Phi50W, exponent: c.Exponent, bypass: c.BypassShare, coilUA: s.HotWater.CoilUA,
	}
	for i := range w.emit {
		w.emit[i] = mk(c.EmitterL/emitterNodes, c.EmitterMetalJK/emitterNodes, 0)
	}
	return w
}

// stored is the heat in water and metal, J above 0 °C.
func (c *circuit) stored() float64 {
	sum := c.hx.heat() + c.spot.heat() + c.flow.heat() + c.ret.heat() + c.coil.heat()
	for i := range c.emit {
		sum += c.emit[i].heat()
	}
	return sum
}

// mean is the mean temperature of the water, °C, and its mass, kg.
func (c *circuit) mean() (t, kg float64) {
	add := func(n *node) { t += n.t * n.water; kg += n.water }
	add(&c.hx)
	add(&c.spot)
	add(&c.flow)
	add(&c.ret)
	add(&c.coil)
	for i := range c.emit {
		add(&c.emit[i])
	}
	return t / kg, kg
}

// step moves the water by one second. lpm is the pump's flow rate in l/min; plateW(t) is the heat that the plate
// exchanger takes out of water at t °C.
func (c *circuit) step(r route, lpm, burnerW, roomT, cylinderT float64, plateW func(float64) float64) (sum heats) {
	var kgs float64
	if r != routeNone {
		kgs = lpm / 60e3 * Density(c.ret.t)
	}
	n := max(1/subStepS, math.Ceil(2*kgs/c.spot.water))
	dt := 1 / n
	for range int(n) {
		h := c.sub(r, dt, kgs*dt, burnerW*dt, roomT, cylinderT, plateW)
		sum.burner += h.burner
		sum.emitters += h.emitters
		sum.losses += h.losses
		sum.hotWater += h.hotWater
	}
	return sum
}

// sub is one explicit sub-step of dt s. kg is the water moved, burner the heat given, J. All gains are worked out from the
// state before, then applied: what one node loses another gains, to the last joule.
func (c *circuit) sub(r route, dt, kg, burner, roomT, cylinderT float64, plateW func(float64) float64) (h heats) {
	h.burner = burner
	hHX, hSpot, hFlow, hRet := enthalpy(c.hx.t), enthalpy(c.spot.t), enthalpy(c.flow.t), enthalpy(c.ret.t)
	var dHX, dSpot, dFlow, dRet, dCoil float64
	var dEmit [emitterNodes]float64
	dHX = burner
	var mean [emitterNodes]float64 // °C
	for i := range c.emit {
		mean[i] = c.emit[i].t
	}

	switch r {
	case routeHeating:
		dHX += kg * (hRet - hHX)
		dSpot += kg * (hHX - hSpot)
		dFlow += kg * (hSpot - hFlow)
		in, inT, through := hFlow, c.flow.t, kg*(1-c.bypass)
		for i := range c.emit {
			own := enthalpy(c.emit[i].t)
			dEmit[i] += through * (in - own)
			mean[i] = (inT + c.emit[i].t) / 2
			in, inT = own, c.emit[i].t
		}
		dRet += through*(in-hRet) + kg*c.bypass*(hFlow-hRet)
	case routeCoil:
		own := enthalpy(c.coil.t)
		dHX += kg * (hRet - hHX)
		dSpot += kg * (hHX - hSpot)
		dFlow += kg * (hSpot - hFlow)
		dCoil += kg * (hFlow - own)
		dRet += kg * (own - hRet)
	case routePlate:
		h.hotWater = plateW(c.hx.t) * dt
		dHX -= h.hotWater
	}
	if c.coil.water > 0 && c.coil.t > cylinderT { // no way back: a non-return valve stops circulation from the store
		q := c.coilUA * (c.coil.t - cylinderT) * dt
		dCoil -= q
		h.hotWater += q
	}
	for i := range c.emit {
		var q float64
		if c.emit[i].t > roomT { // water never leaves colder than the room
			q = EmitterOutput(c.phi50W/emitterNodes, mean[i]-roomT, c.exponent) * dt
		}
		dEmit[i] -= q
		h.emitters += q
		c.emit[i].add(dEmit[i])
	}
	h.losses = c.hx.lose(dt, dHX, roomT) + c.spot.lose(dt, dSpot, roomT) + c.flow.lose(dt, dFlow, roomT) +
		c.ret.lose(dt, dRet, roomT)
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
