package house

import (
	"math"
	"slices"
	"testing"
	"time"
)

func TestThermostaticValve(t *testing.T) {
	v := newThermostatic(ValveSpec{Share: 1, SetC: 20}, 19)
	near(t, "K from open to shut", v.spec.BandK, 2, 0)
	for _, c := range []struct{ head, lift float64 }{{18, 1}, {19, 1}, {19.5, 0.75}, {20, 0.5}, {20.8, 0.1}, {21, 0}, {25, 0}} {
		v.head = c.head
		near(t, "lift", v.opening(), c.lift, 1e-9)
	}
	if none := newThermostatic(ValveSpec{}, 30); none.opening() != 1 {
		t.Error("no valves, and yet not open")
	}
	// After one time constant the head has followed 63 % of a step.
	v.head = 19
	for range int(thermostaticTau) {
		v.sense(21)
	}
	near(t, "head", v.head, 21-2*math.Exp(-1), 0.002)
	// Authority 0.4: at half lift the branch has 0.6 + 0.4/0.25 = 2.2 times its resistance.
	near(t, "half open", passes(0.5), 1/math.Sqrt(2.2), 1e-12)
	near(t, "open", passes(1), 1, 1e-12)
	near(t, "shut", passes(0), 0, 0)
}

// With water of 60 °C the room settles above the valves' setting by what it takes to throttle the emitters to the load:
// the offset of a proportional controller. By hand from the pump's curve, the valve's lift and ∫dθ/θⁿ along the emitter.
func TestThermostaticOffset(t *testing.T) {
	t.Parallel()
	s := matched()
	s.HotWater, s.Boiler.CasingWK = HotWaterSpec{}, 0
	s.Circuit.PipeLossWK, s.Circuit.FlowLpm = 0, 10
	s.Circuit.Pump, s.Circuit.Valves = PumpSpec{HeadKPa: 50, FreeLpm: 30}, ValveSpec{Share: 1, SetC: 20}
	const flow, htc = 60.0, 233.0
	for _, outside := range []float64{0, 8} {
		lift := func(room float64) float64 { return min(max(0.5+(20-room)/2, 0), 1) }
		heat := func(room float64) float64 {
			k := (50 - 50*100.0/900) / 100
			q := math.Sqrt(50 / (50.0/900 + 0.4*k + 0.6*k*(0.6+0.4/(lift(room)*lift(room)))))
			mc := q / 60 * 0.985 * 4183
			left := math.Pow(math.Pow(flow-room, -0.3)+s.Circuit.Phi50W/math.Pow(50, 1.3)*0.3/mc, -1/0.3)
			return mc * (flow - room - left)
		}
		low, high := 18.0, 20.999
		for range 50 {
			if mid := (low + high) / 2; heat(mid) > htc*(mid-outside) {
				low = mid
			} else {
				high = mid
			}
		}
		c, room := newCircuit(&s, 50), 20.0
		for range 20 * 3600 {
			f := c.hydraulics.solve(toHeating, passes(c.valves.opening()), healthy)
			c.hx.t = flow
			need := f.outside() / 60e3 * Density(c.ret.t) * (enthalpy(flow) - enthalpy(c.ret.t))
			room += (c.step(f, need, room, room, nil).emitters - htc*(room-outside)) / 10e6
		}
		near(t, "room", room, low, 0.05)
		near(t, "lift", c.valves.opening(), lift(low), 0.025)
		if low < 20 {
			t.Errorf("at %v °C outside the offset is %.2f K", outside, low-20)
		}
	}
}

// effective are the litres that circulate, by V = (Q − load)·t/(ρ·c·Δθ), and the rise in K/min, of each firing in the
// window: from the flame's start until it goes out.
func effective(s Scenario, from, to time.Duration) (litres, rise []float64) {
	var was bool
	var begin State
	var burner, emitters, seconds float64
	walk(s, 1, func(st State) {
		switch {
		case st.Flame && !was:
			begin, burner, emitters, seconds = st, 0, 0, 0
		case !st.Flame && was && begin.At > from && st.At < to:
			k := st.FlowSensor - begin.FlowSensor
			litres = append(litres, (burner-emitters)/(4.11*k))
			rise = append(rise, k/seconds*60)
		}
		burner, emitters, seconds = burner+st.OutputKW, emitters+st.EmittersKW, seconds+1
		was = st.Flame
	})
	slices.Sort(litres)
	slices.Sort(rise)
	return litres, rise
}

// The signature of cycling by closed valves: late in the heating period the flow rises by more than 10 K a minute and
// under 10 l circulate (own proposal); with all valves open the same boiler
// moves most of its 38 l.
func TestCyclingByClosedValves(t *testing.T) {
	t.Parallel()
	s := oversized()
	s.Days, s.HotWater, s.Weather.MeanC = 1, HotWaterSpec{}, 6
	s.Circuit.FlowLpm, s.Circuit.Pump = 12, PumpSpec{HeadKPa: 50, FreeLpm: 25}
	s.Circuit.Valves, s.Circuit.BypassOpensKPa = ValveSpec{Share: 0.9, SetC: 20}, 42
	s.Room.Compensated, s.Room.FixedFlowC, s.Room.ComfortC = false, 65, 22
	litres, rise := effective(s, 12*time.Hour, 22*time.Hour)
	if len(litres) < 60 {
		t.Fatalf("%d firings with closed valves", len(litres))
	}
	if v, r := litres[len(litres)/2], rise[len(rise)/2]; v > 10 || r < 10 {
		t.Errorf("closed valves: %.1f l circulate, rise %.1f K/min", v, r)
	}
	s.Circuit.Valves, s.Circuit.BypassOpensKPa, s.Room.ComfortC = ValveSpec{}, 0, 20.5
	litres, rise = effective(s, 6*time.Hour, 22*time.Hour)
	if len(litres) < 4 {
		t.Fatalf("%d firings with open valves", len(litres))
	}
	if v, r := litres[len(litres)/2], rise[len(rise)/2]; v < 20 || r > 5 {
		t.Errorf("open valves: %.1f l circulate, rise %.1f K/min", v, r)
	}
}

// A heating valve that passes lets a reheat of the cylinder warm the radiators in summer; a sound one does not.
func TestPassingValve(t *testing.T) {
	t.Parallel()
	s := matched()
	s.Start, s.Days = time.Date(2026, time.July, 6, 0, 0, 0, 0, time.UTC), 1
	s.Weather = WeatherSpec{MeanC: 19, DailyK: 4}
	s.Room.ComfortC, s.Room.SetbackC = 15, 12
	heat := func(s Scenario) float64 { return walk(s, 1, nil).Ledger.Emitters / 3.6e6 }
	sound := heat(s)
	s.Faults.Stuck = []ValveFault{{Window: Window{0, day}, Where: HeatingValve, Open: 0.15}}
	// What the sound house's emitters give is the warmth that they began with.
	if passing := heat(s); passing < sound+1 || sound > 0.6 {
		t.Errorf("the radiators give %.2f kWh with a passing valve, %.2f with a sound one", passing, sound)
	}
}

// Air in the circuit, or a valve stuck shut: the exchanger heats as fast as its own water and metal say, the boiler's
// return sees nothing of it, the emitters go cold.
func TestNoCirculation(t *testing.T) {
	t.Parallel()
	w := Window{8 * time.Hour, 13 * time.Hour}
	for name, f := range map[string]FaultSpec{
		"air":   {NoFlow: []Window{w}},
		"valve": {Stuck: []ValveFault{{Window: w, Where: HeatingValve}}},
		"pump":  {Pump: []PumpFault{{Window: w}}},
	} {
		t.Run(name, func(t *testing.T) {
			s := oversized()
			s.Days, s.HotWater, s.Faults = 1, HotWaterSpec{}, f
			var before State
			burns, hottest := 0, 0.0
			walk(s, 1, func(st State) {
				if w.contains(st.At-time.Second) && st.Pump {
					if st.FlowLpm > 0.1 {
						t.Fatalf("%v l/min at %v", st.FlowLpm, st.At)
					}
					if st.OutputKW > 0 {
						burns++
						perK := 1.6/1000*Density(15)*SpecificHeat(st.Exchanger) + s.Boiler.MetalJK
						near(t, "K/s", st.Exchanger-before.Exchanger, 1000*st.OutputKW/perK, 0.03)
					}
					hottest = max(hottest, st.Exchanger-st.FlowSetpoint)
				}
				before = st
				if st.At == w.To && (st.EmittersKW > 0.5 || st.Return > 40) {
					t.Errorf("after five hours the emitters give %.2f kW, return %.1f °C", st.EmittersKW, st.Return)
				}
			})
			if burns < 60 || hottest < 15 {
				t.Errorf("%d s of flame, exchanger at most %.1f K above the set-point", burns, hottest)
			}
		})
	}
}
