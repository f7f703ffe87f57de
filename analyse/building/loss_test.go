package building

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// garage is a room of 20 °C beside an unheated space with a balance of its own.
func garage() *House {
	wall := u("to the garage", 12, 2.0)
	wall.Neighbour = "garage"
	return &House{OutsideC: new(-5.0), Rooms: []Room{{Name: "kitchen", InsideC: new(20.0), VolumeM3: new(30.0), AirChangesPerH: new(1.0), Elements: []Element{wall}}},
		Unheated: []Space{{Name: "garage", VolumeM3: new(40.0), AirChangesPerH: new(1.5), Elements: []Element{u("walls", 25, 2.1), u("door", 5, 3.0)}}}}
}

// b_u = H_ue/(H_iu + H_ue), EN ISO 13789, written out.
func TestSpaceByBalance(t *testing.T) {
	r := compute(t, garage())
	hiu, hue := 12*2.0, 25*2.1+5*3.0+0.33*1.5*40
	bu := hue / (hiu + hue)
	near(t, "b_u", (20-r.Spaces[0].TempC)/25, bu, 1e-9)
	near(t, "loss", r.FabricW, hiu*bu*25, 1e-9)
	near(t, "W/K", r.WPerK, hiu*bu+0.33*30, 1e-9)
	h := garage()
	h.Unheated[0] = Space{Name: "garage", BU: &bu}
	near(t, "by stated b_u", compute(t, h).FabricW, hiu*bu*25, 1e-9)
	h.Unheated[0] = Space{Name: "garage", Kind: "three-outside-walls"}
	near(t, "by kind (EN 12831:2003 D.4.2: 0.8)", compute(t, h).FabricW, hiu*0.8*25, 1e-9)
}

// Thermal bridges are in both sides of a space's balance: what the room loses to it is what goes on to outside.
func TestSpaceWithBridges(t *testing.T) {
	h := garage()
	h.BridgeSurchargeWM2K = new(0.1)
	h.Unheated[0].Elements[0].BridgeSurchargeWM2K = new(0.3)
	r := compute(t, h)
	walls := h.Unheated[0].Elements[0]
	hue := 0.33 * 1.5 * 40
	hue += 25*2.1 + 0.3*walls.netM2()
	hue += 5*3.0 + 0.1*(25+5-walls.netM2())
	near(t, "loss", r.FabricW, hue*(r.Spaces[0].TempC+5), 1e-9)
	hiu := 12 * 2.1
	near(t, "b_u", (20-r.Spaces[0].TempC)/25, hue/(hiu+hue), 1e-9)
}

// Two spaces behind each other: heat goes in a row, so that the resistances add.
func TestSpacesInARow(t *testing.T) {
	h := garage()
	on := u("to the store", 10, 1.0)
	on.Neighbour = "store"
	h.Unheated = []Space{{Name: "garage", Elements: []Element{on}}, {Name: "store", Elements: []Element{u("walls", 30, 1.0)}}}
	row := 1 / (1/24.0 + 1/10.0 + 1/30.0)
	r := compute(t, h)
	near(t, "loss", r.FabricW, row*25, 1e-9)
	near(t, "store", r.Spaces[1].TempC, -5+row*25/30, 1e-9)
}

// The rule of EN 12831:2003 7.2.2 for the whole house: the larger of half the infiltration and the sum of the minimum.
func TestWholeHouse(t *testing.T) {
	to := func(e Element, n string) Element { e.Neighbour = n; return e }
	h := &House{OutsideC: new(0.0), Rooms: []Room{
		{Name: "living", InsideC: new(20.0), VolumeM3: new(50.0), AirChangesPerH: new(1.5), Elements: []Element{u("wall", 20, 1.5), to(u("partition", 10, 2), "hall")}},
		{Name: "hall", InsideC: new(15.0), VolumeM3: new(20.0), AirChangesPerH: new(1.5), Elements: []Element{u("wall", 5, 1.5), to(u("partition", 10, 2), "living")}},
	}}
	r := compute(t, h)
	infiltration := 0.33 * 1.5 * (50*20 + 20*15)
	near(t, "infiltration", r.Whole.InfiltrationW, infiltration, 1e-9)
	near(t, "minimum", r.Whole.MinimumW, 0.33*0.5*(50*20+20*15), 1e-9)
	near(t, "ventilation", r.Whole.VentilationW, infiltration/2, 1e-9)
	near(t, "within the house", r.Whole.InsideW, 0, 1e-9)
	near(t, "whole", r.Whole.TotalW, 20*1.5*20+5*1.5*15+infiltration/2, 1e-9)
	// Tight rooms: hygiene rules.
	h.Rooms[0].AirChangesPerH, h.Rooms[1].AirChangesPerH = new(0.6), new(0.6)
	near(t, "tight", compute(t, h).Whole.VentilationW, 0.33*0.5*(50*20+20*15), 1e-9)
	// What fans move counts in full.
	h.Rooms[0].AirChangesPerH, h.Rooms[0].FlowM3H = nil, new(40.0)
	r = compute(t, h)
	near(t, "fan", r.Whole.FlowW, 0.33*40*20, 1e-9)
	near(t, "fan and hall", r.Whole.VentilationW, 0.33*40*20+0.33*0.5*20*15, 1e-9)
}

// Stated temperatures that are another room's lie within the house; others do not.
func TestStatedTemperatures(t *testing.T) {
	at := func(c float64) Element { e := u("partition", 10, 2); e.OtherSideC = &c; return e }
	h := &House{OutsideC: new(0.0), Rooms: []Room{
		{Name: "living", InsideC: new(21.0), VolumeM3: new(50.0), AirChangesPerH: new(1.0), Elements: []Element{at(18), at(10), at(0)}},
		{Name: "hall", InsideC: new(18.0), VolumeM3: new(20.0), AirChangesPerH: new(1.0)}}}
	r := compute(t, h)
	near(t, "within", r.Whole.InsideW, 60, 1e-9)
	near(t, "whole fabric", r.Whole.FabricW, 220+420, 1e-9)
	near(t, "W/K: only what goes to outside", r.Rooms[0].WPerK, 20+0.33*50, 1e-9)
}

// EN 12831:2003 6.1.3: f_g1·f_g2 with the yearly mean.
func TestGroundByYearlyMean(t *testing.T) {
	h := &House{OutsideC: new(-3.0), AnnualMeanC: new(10.0), Rooms: []Room{{Name: "r", InsideC: new(20.0), VolumeM3: new(50.0), AirChangesPerH: new(1.0),
		Elements: []Element{{Name: "floor", AreaM2: new(20.0), Build: Build{Ground: &Ground{AreaM2: 45, PerimeterM: 19.5}}}}}}}
	uf := Ground{AreaM2: 45, PerimeterM: 19.5}.UWM2K(0)
	near(t, "floor", compute(t, h).FabricW, 20*uf*1.45*(20-10), 1e-9)
	h.AnnualMeanC = nil
	near(t, "by full difference", compute(t, h).FabricW, 20*uf*23, 1e-9)
}

func TestUncertainty(t *testing.T) {
	wall := u("outside wall", 20, 2.1)
	wall.Surface = Wall
	wall.Openings = []Element{u("window", 5, 5)}
	h := &House{OutsideC: new(0.0), Built: new(1895.0), Rooms: []Room{{Name: "r", InsideC: new(20.0), VolumeM3: new(50.0), AirChangesPerH: new(1.0), Elements: []Element{wall}}}}
	near(t, "wall of 1895, without its window", compute(t, h).UncertaintyW, 0.3*15*2.1*20, 1e-9)
	h.Built = new(1950.0)
	near(t, "wall of 1950", compute(t, h).UncertaintyW, 0, 0)
	h.Rooms[0].Elements[0].UncertaintyPercent = new(10.0)
	near(t, "as told", compute(t, h).UncertaintyW, 0.1*15*2.1*20, 1e-9)
	h.Rooms[0].Elements[0] = Element{Name: "brick", AreaM2: new(10.0), Construction: "solid-brick-220"}
	r := compute(t, h)
	near(t, "solid brick of any age", r.UncertaintyW, 0.3*r.FabricW, 1e-9)
	if len(r.UncertainU) != 1 || !slices.ContainsFunc(r.Assumptions, func(a Assumption) bool { return a.Unit == "%" && a.Value == 30 }) {
		t.Errorf("%v, %v: the ± is not told with its source", r.UncertainU, r.Assumptions)
	}
}

func TestDefaultsByUse(t *testing.T) {
	h := &House{OutsideC: new(-1.0), Rooms: []Room{{Name: "bath", Use: "bathroom", VolumeM3: new(15.0), Elements: []Element{u("wall", 5, 1)}}}}
	r := compute(t, h)
	near(t, "inside (NHBC Standards 8.1.10)", r.Rooms[0].InsideC, 22, 0)
	near(t, "air (NHBC Standards 8.1.10)", r.Rooms[0].AirM3H, 30, 0)
	for _, want := range []string{"inside temperature of a bathroom", "air changes of a bathroom", "heat of air", "thermal bridges", "least air changes"} {
		if !slices.ContainsFunc(r.Assumptions, func(a Assumption) bool { return strings.HasPrefix(a.What, want) && a.Source != "" }) {
			t.Errorf("%q is not told: %v", want, r.Assumptions)
		}
	}
}

// genHouse draws a house in which everything leads to outside, or inside between rooms that tell of each other.
func genHouse(t *rapid.T, outside float64, inside []float64) *House {
	f := func(name string, low, high float64) *float64 { return new(rapid.Float64Range(low, high).Draw(t, name)) }
	h := &House{OutsideC: &outside, BridgeSurchargeWM2K: f("surcharge", 0, 0.2)}
	h.Unheated = []Space{{Name: "loft", BU: f("b_u", 0.1, 1)},
		{Name: "garage", Elements: []Element{{Name: "walls", AreaM2: f("garage walls", 5, 50), Build: Build{UWM2K: f("garage u", 0.3, 3)}}}}}
	for i, ti := range inside {
		r := Room{Name: fmt.Sprint("room ", i), InsideC: &ti, VolumeM3: f("volume", 5, 100), AirChangesPerH: f("changes", 0.2, 3)}
		for j, n := range []string{"", "loft", "garage", fmt.Sprint("room ", (i+1)%len(inside))} {
			if n == r.Name {
				continue
			}
			e := Element{Name: fmt.Sprint("element ", j), AreaM2: f("area", 5, 40), Build: Build{UWM2K: f("u", 0.1, 4)}, Neighbour: n,
				BridgeWMK: f("psi", 0, 0.3), BridgeM: f("length", 0, 20)}
			e.Openings = []Element{{Name: "opening", AreaM2: f("opening", 0.5, 4), Build: Build{UWM2K: f("opening u", 1, 5)}}}
			r.Elements = append(r.Elements, e)
		}
		h.Rooms = append(h.Rooms, r)
	}
	return h
}

func TestTotalsAreSums(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := genHouse(t, rapid.Float64Range(-20, 5).Draw(t, "outside"), []float64{rapid.Float64Range(12, 27).Draw(t, "a"), rapid.Float64Range(12, 27).Draw(t, "b"), 18})
		r, err := Compute(h)
		if err != nil {
			t.Fatal(err)
		}
		var fabric, air, total, wk float64
		for _, m := range r.Rooms {
			of := 0.0
			for _, e := range m.Elements {
				of += e.LossW
			}
			same(t, "room's elements", of, m.FabricW)
			same(t, "room", m.FabricW+m.VentilationW, m.TotalW)
			fabric, air, total, wk = fabric+m.FabricW, air+m.VentilationW, total+m.TotalW, wk+m.WPerK
		}
		same(t, "fabric", fabric, r.FabricW)
		same(t, "ventilation", air, r.VentilationW)
		same(t, "total", total, r.TotalW)
		same(t, "total", r.FabricW+r.VentilationW, r.TotalW)
		same(t, "W/K", wk, r.WPerK)
		same(t, "whole", r.Whole.FabricW+r.Whole.InsideW, r.FabricW)
		if r.Whole.VentilationW > r.VentilationW+1e-9 {
			t.Fatalf("the whole takes %v W for air, its rooms %v W", r.Whole.VentilationW, r.VentilationW)
		}
	})
}

func same(t *rapid.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-9*(1+math.Abs(want)) {
		t.Fatalf("%s: %v is not %v", what, got, want)
	}
}

// With all differences to outside times k, every loss is times k.
func TestLossIsLinear(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		k := rapid.Float64Range(0.5, 1.5).Draw(rt, "k")
		seed := rapid.Uint64().Draw(rt, "house")
		of := func(scale float64) *Result {
			h := genHouseOf(seed, 0, []float64{20 * scale, 16 * scale, 18 * scale})
			r, err := Compute(h)
			if err != nil {
				rt.Fatal(err)
			}
			return r
		}
		one, more := of(1), of(k)
		same(rt, "total", more.TotalW, k*one.TotalW)
		same(rt, "whole", more.Whole.TotalW, k*one.Whole.TotalW)
		same(rt, "W/K", more.WPerK, one.WPerK)
		for i, m := range one.Rooms {
			for j, e := range m.Elements {
				same(rt, e.Name, more.Rooms[i].Elements[j].LossW, k*e.LossW)
			}
		}
	})
}

// genHouseOf gives the same house for the same seed.
func genHouseOf(seed uint64, outside float64, inside []float64) *House {
	return rapid.Custom(func(t *rapid.T) *House { return genHouse(t, outside, inside) }).Example(int(seed % 1000003))
}

// A room that is as warm as its neighbour loses nothing to it.
func TestNothingToAnEqualNeighbour(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ti := rapid.Float64Range(12, 27).Draw(t, "inside")
		r, err := Compute(genHouse(t, -3, []float64{ti, ti}))
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range r.Rooms {
			for _, e := range m.Elements {
				if e.Beyond == ToRoom && e.LossW != 0 {
					t.Fatalf("%s: %v W", e.Name, e.LossW)
				}
			}
		}
	})
}

// What one room loses to another, the other gains, also by layers of which the direction of heat decides.
func TestNeighboursAgree(t *testing.T) {
	upper := Element{Name: "floor", AreaM2: new(20.0), Construction: "ceiling-between-rooms", Build: Build{Surface: Floor}, Neighbour: "below"}
	lower := Element{Name: "ceiling", AreaM2: new(20.0), Construction: "ceiling-between-rooms", Neighbour: "above"}
	for _, c := range [][2]float64{{21, 18}, {18, 21}} {
		r := compute(t, &House{OutsideC: new(0.0), Rooms: []Room{
			{Name: "below", InsideC: &c[0], VolumeM3: new(50.0), AirChangesPerH: new(1.0), Elements: []Element{lower}},
			{Name: "above", InsideC: &c[1], VolumeM3: new(50.0), AirChangesPerH: new(1.0), Elements: []Element{upper}}}})
		near(t, "both", r.Rooms[0].FabricW+r.Rooms[1].FabricW, 0, 1e-9)
	}
}
