package house

import (
	"math"
	"testing"
	"time"
)

// Factors of EN 442 for the usual exponents; the row of n = 1.3 is equal to three decimals with a published trade
// table, the others are (ΔT/50)^n worked out by themselves.
func TestEmitterFactorsEN442(t *testing.T) {
	excess := [...]float64{60, 55, 50, 45, 40, 35, 30, 25, 20, 15, 10}
	for n, row := range map[float64][11]float64{
		1.1:  {1.222, 1.111, 1, 0.891, 0.782, 0.675, 0.570, 0.467, 0.365, 0.266, 0.170},
		1.2:  {1.245, 1.121, 1, 0.881, 0.765, 0.652, 0.542, 0.435, 0.333, 0.236, 0.145},
		1.3:  {1.267, 1.132, 1, 0.872, 0.748, 0.629, 0.515, 0.406, 0.304, 0.209, 0.123},
		1.35: {1.279, 1.137, 1, 0.867, 0.740, 0.618, 0.502, 0.392, 0.290, 0.197, 0.114},
		1.4:  {1.291, 1.143, 1, 0.863, 0.732, 0.607, 0.489, 0.379, 0.277, 0.185, 0.105},
	} {
		for i, want := range row {
			near(t, "factor", EmitterOutput(1000, excess[i], n)/1000, want, 0.0005)
		}
	}
	if q := EmitterOutput(1000, -5, 1.3); q != 0 {
		t.Errorf("an emitter colder than the room gives %v W, want none", q)
	}
}

// steadyBank runs a bank with kgs kg/s of water of flow °C until it has settled.
func steadyBank(b *bank, kgs, flow, room float64) (ret, watt float64) {
	const dt = 0.5
	for range 2 * 8000 {
		b.settle(kgs, flow, room)
		_, q := b.sub(dt, kgs*dt, enthalpy(flow), flow, room)
		watt = q / dt
	}
	return b.nodes[emitterNodes-1].t, watt
}

func radiators(phi50W, share float64) bank {
	s := matched()
	s.Circuit.Phi50W = phi50W
	return newBank(&s.Circuit, share, 30, func(_, _, _ float64) node { return node{t: 30, water: 0.5} }) // little, to settle soon
}

// A bank gives what EN 442's logarithmic mean says (n = 1.3, factor to the rating at 75/65/20, whose logarithmic mean is
// 49.83 K), where one arithmetic mean would say up to 17.6 % more.
func TestEmitterBankFollowsLogMean(t *testing.T) {
	t.Parallel()
	const rating, room, n = 8000.0, 20.0, 1.3
	for _, c := range []struct{ flow, ret, arithmetic, log, tol float64 }{
		{80, 60, 1.000, 0.987, 0.01}, {70, 50, 0.748, 0.731, 0.01}, {65, 45, 0.629, 0.609, 0.01}, {60, 40, 0.515, 0.492, 0.01},
		{55, 45, 0.515, 0.511, 0.01}, {50, 30, 0.304, 0.270, 0.015}, {75, 35, 0.629, 0.535, 0.015}, {45, 40, 0.354, 0.354, 0.01},
	} {
		mean := (c.flow+c.ret)/2 - room
		near(t, "arithmetic", EmitterOutput(1, mean, n), c.arithmetic, 0.0006)
		b := radiators(rating, 1)
		kgs := c.log * rating / (enthalpy(c.flow) - enthalpy(c.ret))
		ret, watt := steadyBank(&b, kgs, c.flow, room)
		near(t, "output against the logarithmic mean", watt, c.log*rating, c.tol*c.log*rating)
		near(t, "return", ret, c.ret, 0.015*(c.flow-c.ret))
	}
}

// With next to no water a bank cools it to the room and gives all its heat, without swinging.
func TestEmitterBankAtTrickle(t *testing.T) {
	t.Parallel()
	for _, lpm := range []float64{0.02, 0.1, 0.3, 1} {
		b := radiators(8900, 1)
		kgs := lpm / 60
		ret, watt := steadyBank(&b, kgs, 65, 20)
		near(t, "heat in is heat out", watt, kgs*(enthalpy(65)-enthalpy(ret)), 0.5)
		high, low, n := 45.0, ret-20, 1.3
		exact := 8900 / math.Pow(50, n) * (n - 1) / (math.Pow(low, 1-n) - math.Pow(high, 1-n)) * (high - low)
		if lpm >= 0.3 { // below, a few hundredths of a kelvin above the room decide the formula
			near(t, "output against ∫dθ/θⁿ", watt, exact, 0.1*exact)
		}
		if ret < 20 || lpm <= 0.1 && ret > 22 {
			t.Errorf("%v l/min leave at %.2f °C", lpm, ret)
		}
	}
}

// Two banks of which each has its share give together what one gives.
func TestBanksShareTheEmitters(t *testing.T) {
	t.Parallel()
	whole, part, rest := radiators(8900, 1), radiators(8900, 0.3), radiators(8900, 0.7)
	_, all := steadyBank(&whole, 0.09, 65, 20)
	_, a := steadyBank(&part, 0.3*0.09, 65, 20)
	_, b := steadyBank(&rest, 0.7*0.09, 65, 20)
	near(t, "sum", a+b, all, 1e-6*all)
}

// Whatever the node takes out of the water, it leaves between what came in and the room, and near e^−N of its excess.
func TestLean(t *testing.T) {
	for n := 0.01; n < 100; n *= 1.1 {
		w := lean(n) // in − out = N·(w·in + (1−w)·out) with in = 1
		out := (1 - n*w) / (1 + n*(1-w))
		near(t, "excess that is left", out, math.Exp(-n), 0.04)
		if out < 0 {
			t.Errorf("N %.3g: %.3g of the excess left", n, out)
		}
	}
}

// heatedFloor is the family house on an underfloor heating: 80 m² at 8.92 W/m² · K^1.1 (EN 1264-2, basic characteristic
// from memory), 65 mm of screed at 2 MJ/(m³·K).
func heatedFloor() Scenario {
	s := matched()
	c := &s.Circuit
	c.Emitters, c.Exponent, c.Phi50W = Underfloor, 1.1, 80*8.92*math.Pow(50, 1.1)
	c.SlabJK, c.SlabWK = 80*0.065*2e6, 800
	c.EmitterL, c.EmitterMetalJK, c.FlowLpm = 70, 10e3, 13
	s.DesignFlowC, s.DesignReturnC = 40, 34
	s.Room.MaxFlowC, s.Room.MinFlowC = 45, 25
	return s
}

// A floor with a surface 9 K above the room gives 100 W/m² (EN 1264-2: the limit for occupied areas, 29 °C at 20 °C,
// from memory); its slab cools by the exponential of its heat capacity where the exponent is 1.
func TestSlab(t *testing.T) {
	near(t, "W/m²", EmitterOutput(8.92*math.Pow(50, 1.1), 9, 1.1), 100, 0.5)
	s := slab{t: 30, c: 10e6, wk: 250}
	const wk = 600.0
	for range 3600 * 4 {
		s.sub(1, 0, wk*excessEN442, 1, 20)
	}
	near(t, "after 4 h", s.t, 20+10*math.Exp(-wk*4*3600/10e6), 0.01)
	s = slab{t: 18, c: 10e6, wk: 250}
	if q := s.sub(1, 0, wk*excessEN442, 1, 20); q != -2*wk {
		t.Errorf("a floor 2 K below the room takes %v W, want %v", -q, 2*wk)
	}
	// Water to slab in the steady state: what flows through gives what the floor gives, by NTU = UA/(m·c).
	h := heatedFloor()
	b := newBank(&h.Circuit, 1, 25, func(_, _, _ float64) node { return node{t: 25, water: 0.5} })
	const kgs, flow, room = 0.2, 38.0, 20.0
	var ret, watt float64
	for range 20 {
		ret, watt = steadyBank(&b, kgs, flow, room)
	}
	near(t, "floor against water", watt, kgs*(enthalpy(flow)-enthalpy(ret)), 2)
	near(t, "leaving", ret, b.slab.t+(flow-b.slab.t)*math.Exp(-800/(kgs*SpecificHeat(36))), 0.05)
}

// A heated floor warms up in hours, not minutes, and goes on heating after the water has stopped: the reason for early
// starts and small set-backs (common practice, no source).
func TestFloorIsSlow(t *testing.T) {
	t.Parallel()
	s := heatedFloor()
	s.Days, s.HotWater = 2, HotWaterSpec{}
	var onAt, fullAt, offAt time.Duration
	var peak, left float64
	demand := false
	walk(s, 4, func(st State) {
		if st.At < day {
			return
		}
		switch {
		case st.Demand && !demand && onAt == 0:
			onAt = st.At
		case !st.Demand && demand && st.At > onAt+6*time.Hour && offAt == 0:
			offAt, left = st.At, st.EmittersKW
		}
		demand = st.Demand
		if st.EmittersKW > peak {
			peak, fullAt = st.EmittersKW, st.At
		}
		if offAt > 0 && st.At == offAt+time.Hour && st.EmittersKW < 0.6*left {
			t.Errorf("an hour after the water stopped the floor gives %.2f kW of %.2f", st.EmittersKW, left)
		}
	})
	if onAt == 0 || offAt == 0 || fullAt-onAt < 90*time.Minute {
		t.Errorf("heat asked for at %v until %v, floor warmest at %v with %.1f kW", onAt, offAt, fullAt, peak)
	}
}
