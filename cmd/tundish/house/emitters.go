package house

import "math"

const (
	// emitterNodes is into how many nodes in series a bank of emitters is cut. Own assumption.
	emitterNodes = 3
	// excessEN442 is the excess temperature at which EN 442 rates emitters (75/65/20 °C), K.
	excessEN442 = 50.0
	// leastExcessK bounds the excess from which a node's W/K is worked out: below, its heat goes straight with the excess.
	// Own assumption.
	leastExcessK = 0.1
	// leastSlabJK keeps a slab that was given no heat capacity from dividing by it: 1 m³ of screed has some 2 MJ/K. Own
	// assumption.
	leastSlabJK = 1e5
)

// EmitterOutput is the heat in W that an emitter gives at an excess of water over room in K: Φ = Φ50·(ΔT/50)^n
// (EN 442; n is 1.3 for panel radiators). At no excess, or a negative one, it gives none.
func EmitterOutput(phi50W, excessK, n float64) float64 {
	if excessK <= 0 {
		return 0
	}
	return phi50W * math.Pow(excessK/excessEN442, n)
}

// bank is a part of the emitters that share one branch. Its nodes stand in series.
type bank struct {
	nodes            [emitterNodes]node
	lean             [emitterNodes]float64 // weight of the entering water, see [lean]
	wk               [emitterNodes]float64 // W/K in this second
	phi50W, exponent float64               // of each node; of a floor: of the whole slab
	slab             slab
}

// newBank is a share of the circuit's emitters.
func newBank(c *CircuitSpec, share, t0 float64, mk func(litre, metal, loss float64) node) bank {
	b := bank{phi50W: share * c.Phi50W / emitterNodes, exponent: c.Exponent}
	if share == 0 {
		return b
	}
	if c.Emitters == Underfloor {
		b.phi50W = share * c.Phi50W
		b.slab = slab{t: t0, c: share * max(c.SlabJK, leastSlabJK), wk: share * c.SlabWK / emitterNodes}
	}
	for i := range b.nodes {
		b.nodes[i] = mk(share*c.EmitterL/emitterNodes, share*c.EmitterMetalJK/emitterNodes, 0)
	}
	return b
}

// none tells that nothing belongs to the bank.
func (b *bank) none() bool { return b.nodes[0].water == 0 }

// lean is the weight that the entering water has in the temperature by which a mixed node gives heat. transfer is the
// node's W/K over the water's. One half, the arithmetic mean, brings three nodes in series within 1 % of the logarithmic
// mean while they cool the water little; where there is so little water that it cools to the room, the weight must fall
// with it, or the node would give more than the water brings.
func lean(transfer float64) float64 { return 1 / (1 + max(1, transfer)) }

// settle works out W/K and weights for a second with kgs kg/s of water of inT °C through the bank, from the
// temperatures by which the nodes gave heat until now: once a second, for a power is dear.
func (b *bank) settle(kgs, inT, roomT float64) {
	for i := range b.nodes {
		ownT := b.nodes[i].t
		at := b.lean[i]*inT + (1-b.lean[i])*ownT
		inT, b.lean[i], b.wk[i] = ownT, 0, b.transferWK(at-roomT)
		if kgs > 0 {
			b.lean[i] = lean(b.wk[i] / (kgs * SpecificHeat(ownT)))
		}
	}
}

// transferWK is what a node gives for each K, W/K, by its excess over the room.
func (b *bank) transferWK(excessK float64) float64 {
	if b.slab.is() {
		return b.slab.wk
	}
	excessK = max(excessK, leastExcessK)
	return EmitterOutput(b.phi50W, excessK, b.exponent) / excessK
}

// sub is a sub-step of dt s with kg of water of inT °C. It returns the enthalpy of what leaves, J/kg, and the heat to
// the room, J.
func (b *bank) sub(dt, kg, in, inT, roomT float64) (out, room float64) {
	var toSlab float64
	for i := range b.nodes {
		n := &b.nodes[i]
		own, ownT := enthalpy(n.t), n.t
		at := b.lean[i]*inT + (1-b.lean[i])*ownT
		var q float64
		switch {
		case b.slab.is():
			q = b.wk[i] * (at - b.slab.t) * dt
			toSlab += q
		case ownT > roomT: // water never leaves colder than the room
			q = b.wk[i] * max(0, at-roomT) * dt
			room += q
		}
		n.add(kg*(in-own) - q)
		in, inT = own, ownT
	}
	if b.slab.is() {
		room = b.slab.sub(dt, toSlab, b.phi50W, b.exponent, roomT)
	}
	return in, room
}

// heat is what is stored in water, metal and slab, J above 0 °C.
func (b *bank) heat() float64 {
	sum := b.slab.c * b.slab.t
	for i := range b.nodes {
		sum += b.nodes[i].heat()
	}
	return sum
}
