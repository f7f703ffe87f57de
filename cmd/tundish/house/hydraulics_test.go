package house

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// pumped is a pump of 50 kPa and 30 l/min on a circuit that takes 15 l/min. By hand: its head at 15 l/min is
// 50·(1 − (15/30)²) = 37.5 kPa, so the circuit has 37.5/15² = 0.16667 kPa/(l/min)², 0.06667 of it in common and 0.1 in
// the emitters; the pump's own slope is 50/30² = 0.05556.
func pumped(change func(*Scenario)) hydraulics {
	s := matched()
	s.HotWater = HotWaterSpec{}
	s.Circuit.FlowLpm, s.Circuit.Pump = 15, PumpSpec{HeadKPa: 50, FreeLpm: 30}
	if change != nil {
		change(&s)
	}
	return newHydraulics(&s)
}

var (
	toHeating = ways{pump: true, heating: 1}
	healthy   = ailing{speed: 1}
)

func TestPumpOnItsCircuit(t *testing.T) {
	half := func(s *Scenario) { s.Circuit.Valves.Share = 0.5 }
	hold := func(s *Scenario) { s.Circuit.Pump.Hold = true }
	for _, c := range []struct {
		name   string
		change []func(*Scenario)
		lift   float64
		a      ailing
		want   flows
	}{
		{"as wished", nil, 1, healthy, flows{plain: 15}},
		// Affinity: half the speed, half the flow, a quarter of the head.
		{"half speed", nil, 1, ailing{speed: 0.5}, flows{plain: 7.5}},
		// Half of the emitters shut: 0.1·4 + 0.06667 = 0.46667; q = √(50/(0.05556 + 0.46667)) = 9.785.
		{"valves shut", []func(*Scenario){half}, 0, healthy, flows{plain: 9.785}},
		// The same on a pump that holds 37.5 kPa: √(37.5/0.46667) = 8.964.
		{"valves shut, held", []func(*Scenario){half, hold}, 0, healthy, flows{plain: 8.964}},
		{"held, as wished", []func(*Scenario){hold}, 1, healthy, flows{plain: 15}},
		// A bypass that opens at 25 kPa and passes 15 l/min 10 kPa above: at 28.28 kPa the emitters take √(28.28/0.4) =
		// 8.41 and the bypass 1.5·3.28 = 4.92; the pump gives √((50 − 28.28)/0.12222) = 13.33.
		{"valves shut, bypass", []func(*Scenario){half, func(s *Scenario) { s.Circuit.BypassOpensKPa = 25 }}, 0, healthy,
			flows{plain: 8.41, bypass: 4.92}},
		{"bypass stays shut", []func(*Scenario){half, func(s *Scenario) { s.Circuit.BypassOpensKPa = 25 }}, 1, healthy,
			flows{valved: 7.5, plain: 7.5}},
		{"fixed bypass", []func(*Scenario){half, func(s *Scenario) { s.Circuit.BypassShare = 0.2 }}, 1, healthy,
			flows{valved: 6, plain: 6, bypass: 3}},
		{"sludge", nil, 1, ailing{speed: 1, sludge: 3}, flows{plain: 7.5}},
		{"sludge, held", []func(*Scenario){hold}, 1, ailing{speed: 1, sludge: 3}, flows{plain: 7.5}},
		{"air", []func(*Scenario){half}, 1, ailing{speed: 1, noFlow: true}, flows{valved: creepLpm / 2, plain: creepLpm / 2}},
		{"seized", nil, 1, ailing{}, flows{plain: creepLpm}},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := pumped(func(s *Scenario) {
				for _, f := range c.change {
					f(s)
				}
			})
			got := h.solve(toHeating, c.lift, c.a)
			near(t, "valved", got.valved, c.want.valved, 0.005)
			near(t, "plain", got.plain, c.want.plain, 0.005)
			near(t, "bypass", got.bypass, c.want.bypass, 0.01)
		})
	}
}

// Without a curve the flow is as wished, whatever the valves do, less what sludge and a slow pump take.
func TestPumpWithoutCurve(t *testing.T) {
	h := pumped(func(s *Scenario) { s.Circuit.Pump, s.Circuit.Valves.Share = PumpSpec{}, 0.5 })
	near(t, "valves half shut", h.solve(toHeating, 0.3, healthy).outside(), 15, 1e-9)
	near(t, "valves shut", h.solve(toHeating, 0, healthy).plain, 15, 1e-9)
	near(t, "slow", h.solve(toHeating, 1, ailing{speed: 0.6}).outside(), 9, 1e-9)
	near(t, "sludge", h.solve(toHeating, 1, ailing{speed: 1, sludge: 8}).outside(), 5, 1e-9)
	all := pumped(func(s *Scenario) { s.Circuit.Pump, s.Circuit.Valves.Share = PumpSpec{}, 1 })
	near(t, "all shut", all.solve(toHeating, 0, healthy).outside(), creepLpm, 1e-9)
}

// Cylinder and heating at once, by hand: 27.78 kPa at 20 l/min through the coil alone, 0.06944, of which 0.05556 in common
// leaves 0.01389 to the coil and 0.1111 to the emitters. Conductances 8.485 and 3: √(50/(0.1111 + 1/11.485²)) = 20.52.
func TestBranchesAtOnce(t *testing.T) {
	with := func(s *Scenario) { s.HotWater = HotWaterSpec{Kind: Cylinder, FlowLpm: 20} }
	h := pumped(with)
	f := h.solve(ways{pump: true, heating: 1, coil: 1}, 1, healthy)
	near(t, "heating", f.heating(), 5.361, 0.002)
	near(t, "coil", f.coil, 15.164, 0.005)
	near(t, "coil alone", h.solve(ways{pump: true, coil: 1}, 1, healthy).coil, 20, 1e-6)
	near(t, "heating alone", h.solve(toHeating, 1, healthy).heating(), 15, 1e-6)
	// Without a curve: the greater wish, in proportion: 20·15/(15 + 20) where both lose the same in their branches.
	h = pumped(func(s *Scenario) { with(s); s.Circuit.Pump = PumpSpec{} })
	f = h.solve(ways{pump: true, heating: 1, coil: 1}, 1, healthy)
	near(t, "wished in all", f.outside(), 20, 1e-6)
	near(t, "passing", h.solve(ways{pump: true, heating: 0.2, coil: 1}, 1, healthy).outside(), 20, 1e-6)
	if off := h.solve(ways{heating: 1}, 1, healthy); off != (flows{}) {
		t.Errorf("with the pump off %+v flows", off)
	}
}

// Whatever the circuit: no branch flows backwards, closing valves never gives more water, and what flows balances
// pump and resistance.
func TestFlowIsSane(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := func(name string) float64 { return rapid.Float64Range(0, 1).Draw(t, name) }
		h := pumped(func(s *Scenario) {
			s.Circuit.FlowLpm = 1 + 20*unit("flow")
			s.Circuit.Pump.FreeLpm = s.Circuit.FlowLpm * (1.05 + 2*unit("free"))
			s.Circuit.Pump.Hold = rapid.Bool().Draw(t, "hold")
			s.Circuit.Valves.Share, s.Circuit.BypassShare = unit("share"), unit("bypass")
			s.Circuit.BypassOpensKPa = 60 * unit("opens")
			s.HotWater = HotWaterSpec{Kind: Cylinder, FlowLpm: 20 * unit("hot")}
		})
		w := ways{pump: true, heating: unit("heating"), coil: unit("coil")}
		a := ailing{speed: unit("speed"), sludge: 20 * unit("sludge")}
		lift := unit("lift")
		f, more := h.solve(w, lift, a), h.solve(w, min(1, lift+0.1), a)
		for _, q := range []float64{f.valved, f.plain, f.bypass, f.coil} {
			if !(q >= 0) || q > 200 {
				t.Fatalf("%+v", f)
			}
		}
		if f.outside() > more.outside()+1e-3 {
			t.Errorf("%.4f l/min with valves at %.2f, %.4f with them wider", f.outside(), lift, more.outside())
		}
		if q := f.outside(); q > 2*creepLpm { // head is not above the curve's at that flow
			free := h.pump.FreeLpm
			if most := a.speed * free; q > most+1e-6 {
				t.Errorf("%.3f l/min, more than %.3f against nothing", q, most)
			}
			if f.coil > 1e-3 {
				drop := f.coil * f.coil / (h.hot * w.coil * h.hot * w.coil)
				head := h.pump.HeadKPa*(a.speed*a.speed-q*q/(free*free)) - h.common*q*q
				if h.pump.Hold {
					head = math.Min(head, h.headAt(h.lpm)-h.common*q*q)
				}
				if math.Abs(head-drop) > 0.01 {
					t.Errorf("the coil drops %.4f kPa, the pump has %.4f left", drop, head)
				}
			}
		}
	})
}
