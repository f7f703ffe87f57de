package emitter

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"tundish/analyse/water"
)

// Where output goes straight with the logarithmic mean (n = 1), a radiator is a heat exchanger with one side of constant
// temperature: tr = ti + (tf − ti)·exp(−K/C) with K and C in W/K (handbooks of heat transfer, effectiveness and NTU).
func TestReturnIsThatOfAHeatExchanger(t *testing.T) {
	for _, c := range []struct{ flow, lph float64 }{{70, 100}, {70, 20}, {55, 100}, {45, 300}, {35, 60}} {
		r := Room{Name: "A", InsideC: 20, Radiators: []Radiator{{RatedW: 1500, Exponent: 1}}}
		ret, w, err := r.ReturnAt(c.flow, c.lph, water.Liquid{}, Logarithmic)
		if err != nil {
			t.Fatal(err)
		}
		k := 1500 / 49.833 // W/K
		// What the water carries for each kelvin, at its mean temperature.
		each, err := water.VolumeHeatKJLK((c.flow + ret) / 2)
		if err != nil {
			t.Fatal(err)
		}
		capacity := c.lph / 3600 * each * 1000
		near(t, fmt.Sprintf("return of %g °C at %g l/h", c.flow, c.lph), ret, 20+(c.flow-20)*math.Exp(-k/capacity), 0.01)
		near(t, "W", w, capacity*(c.flow-ret), 0.01)
	}
}

// house has a room that is well off, one that is just right at 70/50, one that is short, and a hall that has nothing.
func house() System {
	return System{OutsideC: -3, Rooms: []Room{
		{Name: "Kitchen", InsideC: 18, NeedW: 600, Radiators: []Radiator{{RatedW: 1500}}},
		{Name: "Living", InsideC: 21, NeedW: 2054, Radiators: []Radiator{{RatedW: 1500}, {RatedW: 1337}}},
		{Name: "Bedroom", InsideC: 18, NeedW: 1200, Radiators: []Radiator{{RatedW: 1000}}},
		{Name: "Hall", InsideC: 18, NeedW: 0},
	}, Pipes: []Pipe{
		{Name: "boiler", OutsideMM: 22, LengthM: 10},
		{Name: "upstairs", OutsideMM: 8, LengthM: 6, Rooms: []string{"Bedroom", "Living"}},
	}}
}

func TestRoomsByName(t *testing.T) {
	s := house()
	out := must[[]RoomOutput](t)(s.Outputs(70, 50, Arithmetic))
	// By hand: 1500·(42/50)^1.3 = 1195.8, 2837·(39/50)^1.3 = 2053.9, 1000·(42/50)^1.3 = 797.2 W.
	for i, want := range []float64{1195.8, 2053.9, 797.2, 0} {
		near(t, out[i].Name, out[i].OutputW, want, 0.1)
		near(t, out[i].Name+", surplus", out[i].SurplusW, want-s.Rooms[i].NeedW, 0.1)
	}
	if out[2].Reaches() || !out[0].Reaches() || !out[3].NoEmitter || !out[3].Reaches() {
		t.Errorf("%+v", out)
	}
	low := must[Lowest](t)(s.LowestFlow(1, Circulation{SpreadK: 20}, Arithmetic))
	if !low.Reached || !slices.Equal(low.Limiting, []string{"Bedroom"}) {
		t.Fatalf("%+v", low)
	}
	// By hand: mean 18 + 50·(1200/1000)^(1/1.3) = 75.53 °C.
	near(t, "lowest flow", low.FlowC, 18+50*math.Pow(1.2, 1/1.3)+10, 1e-6)
	near(t, "flow of the living room", low.Rooms[1].FlowC, 70, 0.01)

	// A quarter of the load: with the same water 5 K lie between, with the same spread 20.
	quarter := must[Lowest](t)(s.LowestFlow(0.25, Circulation{20, Water}, Arithmetic))
	near(t, "same water", quarter.FlowC-quarter.ReturnC, 5, 1e-9)
	kept := must[Lowest](t)(s.LowestFlow(0.25, Circulation{20, Spread}, Arithmetic))
	near(t, "same spread", kept.FlowC-kept.ReturnC, 20, 1e-9)

	s.Rooms[3].NeedW = 100
	low = must[Lowest](t)(s.LowestFlow(1, Circulation{SpreadK: 20}, Arithmetic))
	if low.Reached || low.FlowC != 0 || !slices.Equal(low.Limiting, []string{"Hall"}) || low.Rooms[3].Why != "it has no emitter" {
		t.Errorf("a room that nothing heats: %+v", low)
	}
	s.Rooms[3].Underfloor = []Underfloor{{AreaM2: 0.5, KH: 5}}
	low = must[Lowest](t)(s.LowestFlow(1, Circulation{SpreadK: 20}, Logarithmic))
	if low.Reached || !strings.Contains(low.Rooms[3].Why, "surface") {
		t.Errorf("a floor that would have to be too hot: %+v", low)
	}
	s.Rooms[3].Underfloor, s.Rooms[3].Radiators = nil, []Radiator{{RatedW: 20}}
	low = must[Lowest](t)(s.LowestFlow(1, Circulation{SpreadK: 20}, Logarithmic))
	if low.Reached || !strings.Contains(low.Rooms[3].Why, "95 °C") {
		t.Errorf("a radiator far too small: %+v", low)
	}
}

func TestPipesOfAHouse(t *testing.T) {
	flows := must[[]PipeFlow](t)(house().PipeFlows(70, 50))
	// By hand: 3,854 W ÷ (1.1424 Wh/(l·K) · 20 K) = 168.7 l/h; 3,254 W → 142.4 l/h, in 6.8 mm 1.09 m/s.
	near(t, "at the boiler", flows[0].WaterLPH, 168.7, 0.1)
	near(t, "upstairs", flows[1].WaterLPH, 142.4, 0.1)
	near(t, "its velocity", flows[1].VelocityMS, 1.09, 0.005)
	if !flows[0].Slow || len(flows[0].Over) != 0 {
		t.Errorf("%+v", flows[0])
	}
	if o := flows[1].Over; len(o) != 2 || o[0] != SmallPipeMS || o[1] != UsualPaM {
		t.Errorf("%+v", flows[1])
	}
	near(t, "all of it", flows[1].PaAll, 6*flows[1].PaPerM, 1e-9)

	mixed := house()
	mixed.Liquid = water.PropyleneGlycol30
	with := must[[]PipeFlow](t)(mixed.PipeFlows(70, 50))
	if with[1].DropKnown || with[1].PaPerM != 0 {
		t.Errorf("the pressure drop of a mixture without viscosity: %+v", with[1])
	}
	if more := with[1].WaterLPH / flows[1].WaterLPH; more < 1.04 || more > 1.07 {
		t.Errorf("glycol needs %.3f times the water", more)
	}
	if _, err := mixed.Pipes[0].CarriesLPH(0, 300, 60, mixed.Liquid); err == nil {
		t.Error("what a mixture without viscosity is carried by 300 Pa/m")
	}
}

func TestAssumptionsAreTold(t *testing.T) {
	s := house()
	s.Rooms[0].Radiators[0].Exponent = 1.25
	s.Rooms[3].Underfloor = []Underfloor{{AreaM2: 3, KH: 5}}
	s.Liquid = water.PropyleneGlycol30
	told := ""
	for _, a := range s.Assumptions(ByRule) {
		if a.What == "" || a.Source == "" {
			t.Errorf("%+v", a)
		}
		told += fmt.Sprintf("%s: %g %s\n", a.What, a.Value, a.Unit)
	}
	for _, want := range []string{
		"exponent of radiators (Living, Bedroom): 1.3", "an excess of (Kitchen, Living, Bedroom): 50 K", "exponent of heated floors (Hall): 1.1",
		"at most (Hall): 9 K", `(pipe "boiler", pipe "upstairs"): 0.0015 mm`, "is below: 0.7", "propylene",
	} {
		if !strings.Contains(told, want) {
			t.Errorf("not told: %s\n%s", want, told)
		}
	}
	given := System{Rooms: []Room{{Name: "A", InsideC: 20, Radiators: []Radiator{{RatedW: 1, Exponent: 1.3, RatedAt: EN442}}}}}
	if a := given.Assumptions(Logarithmic); len(a) != 0 {
		t.Errorf("nothing was assumed, and told is %+v", a)
	}
}

func TestLoadsThatCannotBe(t *testing.T) {
	s := house()
	for name, c := range map[string]struct {
		l    Load
		out  float64
		says string
	}{
		"no neutral temperature": {Load{}, 5, "nothing needs heating"},
		"far colder than design": {Load{NeutralC: 5}, -40, "look at both"},
		"load below 0":           {Load{NeutralC: 20, DesignW: -5}, 5, "load at design"},
		"twice the rooms":        {Load{NeutralC: 20, DesignW: 2 * s.NeedW()}, -3, "look at both"},
		"no outside":             {Load{NeutralC: 20}, math.NaN(), "outside temperature"},
	} {
		if _, err := s.WeatherCurve(c.l, Circulation{SpreadK: 10}, Arithmetic, []float64{c.out}); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := s.LowestFlow(1, Circulation{}, Arithmetic); err == nil || !strings.Contains(err.Error(), "flow − return") {
		t.Errorf("no spread: %v", err)
	}
}

func ExampleSystem_LowestFlow() {
	s := System{OutsideC: -3, Rooms: []Room{
		{Name: "Living", InsideC: 21, NeedW: 2054, Radiators: []Radiator{{RatedW: 4170}}},
		{Name: "Bedroom", InsideC: 18, NeedW: 700, Radiators: []Radiator{{Name: "old", RatedW: 1267, RatedAt: Catalogue60K}}},
	}}
	low, err := s.LowestFlow(1, Circulation{SpreadK: 10}, Logarithmic)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f/%.1f °C, for %v\n", low.FlowC, low.ReturnC, low.Limiting)
	// Output: 60.9/50.9 °C, for [Bedroom]
}
