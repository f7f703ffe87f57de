package house

import "math"

const (
	// commonShare is the share of the circuit's pressure drop, all valves open, that lies in exchanger and main pipes,
	// which cylinder and emitters have in common; the rest is in the emitters' branches. Own assumption.
	commonShare = 0.4
	// coilCommon bounds what lies in common by the same share of the cylinder's way, so that its coil is left something.
	// Own assumption.
	coilCommon = 0.8
	// forcedKPa is the drop that counts as the circuit's, all valves open, where no pump is specified; only the automatic
	// bypass looks at it. Own assumption.
	forcedKPa = 20.0
	// forcedRise is how many times that drop a pump without a curve makes before its flow gives way: even it moves
	// nothing through a shut valve. Own assumption.
	forcedRise = 400.0
	// bypassRiseKPa is how far above its opening pressure an automatic bypass passes as much as FlowLpm; it rises in a
	// straight line. Own assumption.
	bypassRiseKPa = 10.0
	// creepLpm is what still moves by its own weight while the pump runs against an air lock or shut valves, l/min. Own
	// assumption.
	creepLpm = 0.01
	// shut is the conductance below which a way counts as shut, l/min at 1 kPa: far below what creeps.
	shut = 1e-6
	// leastHeadShare is the share of its shut-off head that a pump is taken to have left at the wished flow, where its
	// curve has less: then less than the wished flow goes. Own assumption.
	leastHeadShare = 0.05
	// halvings of the interval in which the pressure is sought: to a millionth of it.
	halvings = 20
)

// flows is how the water divides, l/min.
type flows struct {
	valved, plain float64 // emitters with thermostatic valves and without
	bypass        float64 // past the emitters
	coil          float64
	plate         float64 // within the appliance
}

func (f flows) heating() float64   { return f.valved + f.plain }
func (f flows) outside() float64   { return f.heating() + f.bypass + f.coil } // the appliance
func (f flows) exchanger() float64 { return f.outside() + f.plate }

// hydraulics is what drives the water and what resists it. Turbulent throughout: pressure goes with the square of flow.
// Resistances k are in kPa/(l/min)², conductances 1/√k.
type hydraulics struct {
	pump                  PumpSpec
	lpm, hotLpm           float64 // wished, all valves open: heating alone; coil or plate alone
	common                float64 // k
	valved, plain, bypass float64 // conductances, all open
	hot                   float64
	opensKPa              float64 // of the automatic bypass; 0: none
}

func newHydraulics(s *Scenario) hydraulics {
	c := &s.Circuit
	h := hydraulics{pump: c.Pump, lpm: max(c.FlowLpm, creepLpm), hotLpm: s.HotWater.FlowLpm, opensKPa: c.BypassOpensKPa}
	k := h.headAt(h.lpm) / (h.lpm * h.lpm)
	h.common = commonShare * k
	if h.hotLpm > 0 {
		hot := h.headAt(h.hotLpm) / (h.hotLpm * h.hotLpm)
		h.common = min(h.common, coilCommon*hot)
		h.hot = 1 / math.Sqrt(hot-h.common)
	}
	emitters := 1 / math.Sqrt(k-h.common)
	h.bypass = c.BypassShare * emitters
	h.valved = (1 - c.BypassShare) * c.Valves.Share * emitters
	h.plain = (1 - c.BypassShare) * (1 - c.Valves.Share) * emitters
	return h
}

// curved tells that the pump has a curve.
func (h *hydraulics) curved() bool { return h.pump.HeadKPa > 0 && h.pump.FreeLpm > 0 }

// headAt is the pump's head at a wished flow and full speed, kPa.
func (h *hydraulics) headAt(lpm float64) float64 {
	if !h.curved() {
		return forcedKPa
	}
	q := lpm / h.pump.FreeLpm
	return h.pump.HeadKPa * max(1-q*q, leastHeadShare)
}

// ailing is what hinders the water beside its valves.
type ailing struct {
	speed  float64 // of the pump, share of its own
	sludge float64 // see [Sludge]: flow at full valves falls to 1/√(1 + sludge)
	noFlow bool
}

// solve is the flow in each branch for the motor valves' and the thermostatic valves' openings. What is sought is the
// pressure across the branches at which they take what the pump gives.
func (h *hydraulics) solve(w ways, thermostatic float64, a ailing) (f flows) {
	if !w.pump {
		return f
	}
	coil, plate := h.hot*w.coil, 0.0
	if w.plate {
		coil, plate = 0, h.hot
	}
	valved, heating := h.valved*thermostatic, 0.0
	fixed := valved + h.plain + h.bypass
	if fixed > shut && w.heating > 0 { // sludge sits in series with the emitters
		heating = w.heating / math.Sqrt(1/(fixed*fixed)+h.sludge(a.sludge))
	}
	if a.noFlow {
		heating, coil = 0, 0
	}
	auto := 0.0
	if h.opensKPa > 0 && w.heating > shut && !a.noFlow {
		auto = w.heating * h.lpm / bypassRiseKPa
	}
	dp := h.pressure(h.gives(w, a), heating+coil+plate, auto)
	root := math.Sqrt(dp)
	f.coil, f.plate = root*coil, root*plate
	if heating > shut {
		through := root * heating / fixed
		f.valved, f.plain, f.bypass = through*valved, through*h.plain, through*h.bypass
	}
	f.bypass += auto * max(0, dp-h.opensKPa)
	if f.outside() < creepLpm && !w.plate {
		f.creep(w, h)
	}
	return f
}

// creep lets the little water move that finds its way where the pump moves none.
func (f *flows) creep(w ways, h *hydraulics) {
	switch all := h.valved + h.plain; {
	case all == 0:
		*f = flows{bypass: creepLpm}
	case w.heating > 0 || w.coil == 0:
		*f = flows{valved: creepLpm * h.valved / all, plain: creepLpm * h.plain / all}
	default:
		*f = flows{coil: creepLpm}
	}
}

// sludge is the resistance that takes FlowLpm down to FlowLpm/√(1+a): a times what circuit and pump have together, or
// the circuit alone where the pump holds its pressure.
func (h *hydraulics) sludge(a float64) float64 {
	head := forcedKPa
	if h.curved() {
		head = h.pump.HeadKPa
		if h.pump.Hold {
			head = h.headAt(h.lpm)
		}
	}
	return a * head / (h.lpm * h.lpm)
}

// pressure is that across the branches, kPa: of conductance c, and an automatic bypass that passes auto l/min for each
// kPa above its opening.
func (h *hydraulics) pressure(give supply, c, auto float64) float64 {
	high := min(give.shutKPa, give.holdKPa)
	if c > shut {
		q := give.into(c)
		high = q * q / (c * c)
	}
	if auto == 0 || high <= h.opensKPa {
		return high
	}
	low := h.opensKPa
	for range halvings {
		dp := (low + high) / 2
		if math.Sqrt(dp)*c+auto*(dp-h.opensKPa) < give.at(dp) {
			low = dp
		} else {
			high = dp
		}
	}
	return (low + high) / 2
}

// supply is what pump and common way can do for the branches: head shutKPa at no flow, falling by slope·q², kPa, and
// never above holdKPa − common·q² (hold) or more than mostLpm.
type supply struct{ shutKPa, slope, holdKPa, common, mostLpm float64 }

// gives is the pump at its speed: by the affinity laws its head goes with the square of the speed and its flow with the
// speed, so the curve moves down and keeps its slope. A pump without a curve gives what is wished, less what sludge and
// a lower speed take from it.
func (h *hydraulics) gives(w ways, a ailing) supply {
	speed := a.speed
	if !h.curved() {
		var lpm float64
		if w.heating > 0 {
			lpm = h.lpm / math.Sqrt(1+a.sludge)
		}
		if w.coil > 0 || w.plate {
			lpm = max(lpm, h.hotLpm)
		}
		return supply{shutKPa: forcedRise * forcedKPa * speed * speed, holdKPa: math.Inf(1), mostLpm: lpm * speed}
	}
	s := supply{shutKPa: h.pump.HeadKPa * speed * speed, holdKPa: math.Inf(1), common: h.common, mostLpm: math.Inf(1)}
	s.slope = h.pump.HeadKPa/(h.pump.FreeLpm*h.pump.FreeLpm) + h.common
	if h.pump.Hold {
		s.holdKPa = h.headAt(h.lpm)
	}
	return s
}

// into is the flow into branches of conductance c, l/min.
func (s supply) into(c float64) float64 {
	k := 1 / (c * c)
	return min(math.Sqrt(s.shutKPa/(s.slope+k)), math.Sqrt(s.holdKPa/(s.common+k)), s.mostLpm)
}

// at is the flow at a pressure across the branches, l/min.
func (s supply) at(dp float64) float64 {
	q := s.mostLpm
	if s.slope > 0 {
		q = min(q, math.Sqrt(max(0, s.shutKPa-dp)/s.slope))
	}
	if s.common > 0 && s.holdKPa < math.Inf(1) {
		q = min(q, math.Sqrt(max(0, s.holdKPa-dp)/s.common))
	}
	return q
}
