package emitter

import (
	"fmt"
	"math"
	"slices"
	"testing"
)

// The room that is short limits, by hand: mean 18 + 50·(1200/1000)^(1/1.3), and half the spread of 20 K.
func TestDesignLimits(t *testing.T) {
	d := must[Design](t)(house().Design(70, 50, Arithmetic, Load{NeutralC: 20}))
	if d.Lowest == nil || !slices.Equal(d.Lowest.Limiting, []string{"Bedroom"}) || len(d.Without) != 0 {
		t.Fatalf("%+v", d)
	}
	near(t, "lowest flow", d.Lowest.FlowC, 18+50*math.Pow(1.2, 1/1.3)+10, 1e-6)
	near(t, "each room's own", d.Rooms[1].Lowest.FlowC, 70, 0.01)
	living := d.Rooms[1]
	near(t, "living, by output", living.Emitters[0].WaterLPH/living.Emitters[1].WaterLPH, 1500.0/1337, 1e-9)
	near(t, "living, in all", living.Emitters[0].WaterLPH+living.Emitters[1].WaterLPH, 89.9, 0.05) // 2054 W ÷ (1.1424 · 20)
	near(t, "outputs in all", living.Emitters[0].OutputW+living.Emitters[1].OutputW, living.OutputW, 1e-9)
	if got := d.Rooms[3]; !got.NoEmitter || got.WaterLPH != 0 || !got.Lowest.Reached {
		t.Errorf("a hall that needs nothing: %+v", got)
	}
	var at []float64
	for _, p := range d.Curve {
		at = append(at, p.OutsideC)
	}
	if !slices.Equal(at, []float64{-3, 0, 5, 10, 15, 20}) || d.Curve[5].Heating {
		t.Errorf("curve at %v", at)
	}
	near(t, "curve at design", d.Curve[0].FlowC, d.Lowest.FlowC, 1e-9)
	// At 5 °C 15/23 of the load, and of the spread.
	near(t, "curve at 5 °C", d.Curve[2].FlowC, 18+50*math.Pow(1.2*15/23, 1/1.3)+10*15.0/23, 1e-6)
}

// A room that needs heat and has no emitter is told, and neither hides what the others need nor takes water.
func TestDesignWithout(t *testing.T) {
	s := house()
	before := must[Design](t)(s.Design(70, 50, ByRule, Load{NeutralC: 20}))
	s.Rooms[3].NeedW = 400
	d := must[Design](t)(s.Design(70, 50, ByRule, Load{NeutralC: 20}))
	if !slices.Equal(d.Without, []string{"Hall"}) || d.Rooms[3].Lowest.Why == "" || d.Rooms[3].Reaches() {
		t.Errorf("%+v", d.Rooms[3])
	}
	near(t, "lowest flow of the others", d.Lowest.FlowC, before.Lowest.FlowC, 1e-9)
	near(t, "water at the boiler", d.Pipes[0].WaterLPH, before.Pipes[0].WaterLPH, 1e-9)
	if d.Rooms[0].Mean != Logarithmic || d.Rooms[0].OutputW != d.Rooms[0].LogarithmicW {
		t.Errorf("70/50/18 by the rule: %+v", d.Rooms[0])
	}
	if s.Rooms[3].NeedW != 400 {
		t.Error("the system was changed")
	}

	// Pipes alone are told with the water of all needs.
	for i := range s.Rooms {
		s.Rooms[i].Radiators = nil
	}
	d = must[Design](t)(s.Design(70, 50, ByRule, Load{NeutralC: 20}))
	if d.Lowest != nil || len(d.Rooms) != 0 || d.Pipes[0].WaterLPH <= before.Pipes[0].WaterLPH {
		t.Errorf("%+v", d)
	}
}

func TestDesignRefuses(t *testing.T) {
	for name, c := range map[string]struct{ flow, ret, neutral float64 }{"no spread": {50, 50, 20}, "upside down": {50, 60, 20}, "nothing": {math.NaN(), 50, 20}} {
		if _, err := house().Design(c.flow, c.ret, ByRule, Load{NeutralC: c.neutral}); err == nil {
			t.Errorf("%s passes", name)
		}
	}
	for _, neutral := range []float64{math.NaN(), math.Inf(1), -3, 90} {
		d := must[Design](t)(house().Design(70, 50, ByRule, Load{NeutralC: neutral}))
		if len(d.Curve) != 0 || d.CurveMissing == "" || d.Lowest == nil {
			t.Errorf("neutral at %v: %+v", neutral, d)
		}
	}
}

func ExampleSystem_Design() {
	s := System{OutsideC: -3, Rooms: []Room{{Name: "Living", InsideC: 21, NeedW: 2054, Radiators: []Radiator{{RatedW: 2837}}}}}
	d, err := s.Design(70, 50, Arithmetic, Load{NeutralC: 21})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f W, %.1f l/h\n", d.Rooms[0].OutputW, d.Rooms[0].WaterLPH)
	// Output: 2054 W, 89.9 l/h
}
