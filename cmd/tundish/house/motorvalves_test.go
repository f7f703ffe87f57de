package house

import (
	"testing"
	"time"
)

// shared is the sound house with a valve plan of its own.
func shared(p ValvePlan) Scenario {
	s := matched()
	s.Days = 1
	s.HotWater.Plan = p
	s.Room.FixedFlowC, s.Room.Compensated = 72, false
	return s
}

// With two-port valves or a middle position the appliance hears one call, whoever calls, and its flow set-point is
// fixed; both can be served at once; the cylinder gets warm, the heat closes.
func TestSharedPlans(t *testing.T) {
	t.Parallel()
	for _, p := range []ValvePlan{TwoPort, MidPosition} {
		s := shared(p)
		h := New(s, 2)
		both, hotOnly, top := 0, 0, 0.0
		for h.Now() < day {
			h.Step()
			st := h.State()
			if h.boiler.mode == modeHotWater || h.boiler.mode == modeHeating && h.boiler.setpoint != 72 {
				t.Fatalf("plan %d at %v: mode %d, set-point %v", p, st.At, h.boiler.mode, h.boiler.setpoint)
			}
			if h.flow.coil > 1 && h.flow.heating() > 1 {
				both++
			}
			if h.flow.coil > 1 && h.flow.heating() < 0.05 {
				hotOnly++
				if !st.HotWater || !st.Demand && h.hot.calling && h.motor.cylinder > endSwitch {
					t.Fatalf("plan %d at %v: the coil alone is served, %+v", p, st.At, st)
				}
			}
			top = max(top, st.Cylinder)
		}
		tr := h.Truth()
		if both < 600 || hotOnly < 60 || top < 60 {
			t.Errorf("plan %d: both open for %d s, cylinder alone for %d s, cylinder %.1f °C", p, both, hotOnly, top)
		}
		near(t, "circuit", tr.Ledger.Circuit(), 0, 0.001)
		near(t, "house", tr.Ledger.House(), 0, 0.001)
	}
}

// On the bus no hot water shows where the appliance has no part in it.
func TestSharedPlanOnTheBus(t *testing.T) {
	t.Parallel()
	frames := framesOf(emitted(t, shared(TwoPort), 1, SourceBus, 10*time.Hour))
	heating := 0
	for _, f := range frames {
		switch {
		case f.id() == idStatus && f.value()&0x0204 != 0:
			t.Fatalf("%08X at %v shows hot water", f.frame, f.at)
		case f.id() == idStatus && f.value()&0x0100 != 0:
			heating++
		case f.id() == 26 && f.kind() == readAck, f.id() == idConfig && f.kind() == readAck && f.value()&0x0900 != 0:
			t.Fatalf("%08X at %v knows of a cylinder", f.frame, f.at)
		}
	}
	if heating < 1000 {
		t.Errorf("heat was asked for in %d frames", heating)
	}
}

// A motor valve needs its time, and the end switch calls only then.
func TestValveTravel(t *testing.T) {
	s := shared(TwoPort)
	v := newMotorValves(&s)
	for i := 1; i <= 20; i++ {
		a := asked{hotWater: true}
		v.want(time.Duration(i)*time.Second, &a, &s.Room)
		near(t, "opening", v.cylinder, min(1, float64(i)/15), 1e-9)
		if a.heating != (i >= 14) || a.hotWater {
			t.Errorf("after %d s the boiler is called: %v", i, a.heating)
		}
	}
	s = shared(MidPosition)
	v = newMotorValves(&s)
	for range 30 {
		a := asked{heating: true, hotWater: true}
		v.want(0, &a, &s.Room)
	}
	if v.heating != 1 || v.cylinder != 1 {
		t.Errorf("middle position: heating %v, cylinder %v", v.heating, v.cylinder)
	}
}

// A diverter that passes warms the heating while the cylinder is heated; one stuck shut to the cylinder leaves it cold;
// a cylinder valve stuck half shut slows the reheat.
func TestStuckValves(t *testing.T) {
	t.Parallel()
	always := Window{0, 10 * day}
	run := func(s Scenario) (heating, top float64, reheating time.Duration) {
		h := New(s, 1)
		for h.Now() < 12*time.Hour {
			h.Step()
			if h.boiler.mode == modeHotWater {
				heating += h.flow.heating() / 60
			}
			if h.Now() > 8*time.Hour {
				top = max(top, h.hot.t)
			}
			if h.flow.coil > 0.5 {
				reheating += time.Second
			}
		}
		return heating, top, reheating
	}
	sound, top, usual := run(matched())
	if sound > 1 || top < 60 {
		t.Errorf("sound: %.1f l through the heating during reheats, cylinder %.1f °C", sound, top)
	}
	s := matched()
	s.Faults.Stuck = []ValveFault{{Window: always, Where: HeatingValve, Open: 0.2}}
	if l, _, _ := run(s); l < 20 {
		t.Errorf("passing diverter: only %.1f l through the heating", l)
	}
	s.Faults.Stuck = []ValveFault{{Window: always, Where: CylinderValve, Open: 0}}
	if _, top, _ := run(s); top > 54 {
		t.Errorf("diverter stuck: cylinder %.1f °C", top)
	}
	s.Faults.Stuck = []ValveFault{{Window: always, Where: CylinderValve, Open: 0.05}}
	if _, top, slow := run(s); slow < usual*3/2 || top < 55 {
		t.Errorf("cylinder valve nearly shut: reheats take %v, else %v; %.1f °C", slow, usual, top)
	}
	s = shared(TwoPort)
	s.Days = 1
	s.Faults.Stuck = []ValveFault{{Window: always, Where: HeatingValve, Open: 0}}
	walk(s, 1, func(st State) {
		if st.HeatingLpm > 0.02 || st.At > 18*time.Hour && st.Air > 17 {
			t.Fatalf("heating valve stuck shut: %.2f l/min at %v, room %.1f °C", st.HeatingLpm, st.At, st.Air)
		}
	})
}
