package building

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Whatever stands in a house, it is refused or computes to finite numbers.
func TestAnyHouse(t *testing.T) {
	numbers := []float64{0, -1, 0.5, 1, 2, 20, 60, 1700, 1e-300, 1e300, math.Inf(1), math.Inf(-1), math.NaN()}
	names := []string{"", "a", "b", "solid-brick-220", "loft-100", "living", "crawl-space"}
	rapid.Check(t, func(t *rapid.T) {
		f := func(what string) *float64 {
			if rapid.IntRange(0, 2).Draw(t, what+"?") == 0 {
				return nil
			}
			return new(rapid.SampledFrom(numbers).Draw(t, what))
		}
		v := func(what string) float64 { return value(f(what), 0) }
		name := func(what string) string { return rapid.SampledFrom(names).Draw(t, what) }
		build := func() (b Build) {
			b.UWM2K, b.UncertaintyPercent = f("u"), f("±")
			b.Surface = rapid.SampledFrom([]Surface{"", Wall, Roof, Floor, "side"}).Draw(t, "surface")
			for range rapid.IntRange(0, 3).Draw(t, "layers") {
				l := Layer{ThicknessM: v("thickness"), ConductivityWMK: v("λ"), ResistanceM2KW: v("R"), AirM: v("air")}
				if rapid.Bool().Draw(t, "bridged") {
					l.Bridge = &Bridge{Name: name("member"), Share: v("share"), ConductivityWMK: v("bridge")}
				}
				b.Layers = append(b.Layers, l)
			}
			if rapid.IntRange(0, 4).Draw(t, "slab") == 0 {
				b.Ground = &Ground{v("area"), v("edge"), v("wall"), v("soil")}
			}
			return b
		}
		var element func(depth int) Element
		element = func(depth int) Element {
			e := Element{Name: name("element"), AreaM2: f("area"), Construction: name("construction"), Build: build(), OtherSideC: f("other"), Neighbour: name("neighbour"),
				BU: f("b_u"), BridgeWMK: f("ψ"), BridgeM: f("l"), BridgeSurchargeWM2K: f("ΔU")}
			if depth > 0 && rapid.Bool().Draw(t, "opening") {
				e.Openings = append(e.Openings, element(depth-1))
			}
			return e
		}
		h := &House{OutsideC: f("outside"), AnnualMeanC: f("mean"), Built: f("built"), AirWhM3K: f("c")}
		if rapid.Bool().Draw(t, "reheat") {
			h.Reheat = &Reheat{v("hours"), v("drop"), f("W/m²")}
		}
		h.Constructions = append(h.Constructions, Construction{Name: name("construction"), Build: build()})
		for range rapid.IntRange(0, 2).Draw(t, "spaces") {
			h.Unheated = append(h.Unheated, Space{Name: name("space"), BU: f("b_u"), Kind: name("kind"), Elements: []Element{element(1)}, VolumeM3: f("V"), AirChangesPerH: f("n")})
		}
		for range rapid.IntRange(0, 2).Draw(t, "rooms") {
			h.Rooms = append(h.Rooms, Room{Name: name("room"), Use: name("use"), InsideC: f("inside"), VolumeM3: f("V"), AirChangesPerH: f("n"), FlowM3H: f("q"),
				Elements: []Element{element(2)}})
		}
		r, err := Compute(h)
		var wrong Problems
		switch {
		case err != nil && (!errors.As(err, &wrong) || len(wrong) == 0):
			t.Fatalf("an error that names nothing: %v", err)
		case err == nil && (math.IsNaN(r.TotalW+r.Whole.TotalW+r.WPerK+r.UncertaintyW) || math.IsInf(r.TotalW, 0)):
			t.Fatalf("total %v, whole %v, W/K %v", r.TotalW, r.Whole.TotalW, r.WPerK)
		}
	})
}

// Where the method of EN ISO 6946 does not hold, that is said: limits more than 1.5 apart, and bridges of metal.
func TestMethodDoubted(t *testing.T) {
	for want, b := range map[string]Bridge{
		"is of metal":        {Share: 0.002, ConductivityWMK: 50},
		"differ by a factor": {Share: 0.05, ConductivityWMK: 2.0},
	} {
		h := &House{OutsideC: new(0.0), Rooms: []Room{{Name: "r", InsideC: new(20.0), VolumeM3: new(50.0), AirChangesPerH: new(1.0), Elements: []Element{{Name: "wall", AreaM2: new(10.0),
			Build: Build{Surface: Wall, Layers: []Layer{{ThicknessM: 0.2, ConductivityWMK: 0.03, Bridge: &b}}}}}}}}
		r := compute(t, h)
		all := ""
		for _, w := range r.Warnings {
			all += w.Error() + "\n"
		}
		if !strings.Contains(all, want) {
			t.Errorf("%q is not said: %s", want, all)
		}
	}
}

// What may be a slip is computed, and said: an element told twice, and a floor larger than the slab that it is a part of.
func TestSlipsAreDoubted(t *testing.T) {
	floor := Element{Name: "floor", AreaM2: new(30.0), Build: Build{Ground: &Ground{AreaM2: 20, PerimeterM: 18}}}
	h := &House{OutsideC: new(0.0), Rooms: []Room{{Name: "r", InsideC: new(20.0), VolumeM3: new(50.0), AirChangesPerH: new(1.0), Elements: []Element{u("wall", 10, 1), floor, u("wall", 12, 1)}}}}
	r := compute(t, h)
	all := ""
	for _, w := range r.Warnings {
		all += w.Error() + "\n"
	}
	for _, want := range []string{"room r, wall: name: element 1 has this name too", "room r, floor: area_m2: 30 m² are more than the whole slab, 20 m²"} {
		if !strings.Contains(all, want) {
			t.Errorf("%q is not said: %s", want, all)
		}
	}
	h.Rooms[0].Elements = []Element{u("wall", 10, 1), {Name: "floor", AreaM2: new(20.5), Build: floor.Build}}
	if r := compute(t, h); len(r.Warnings) > 0 {
		t.Errorf("a sound room is doubted: %v", r.Warnings)
	}
}

func BenchmarkCompute(b *testing.B) {
	h := garage()
	for range b.N {
		if _, err := Compute(h); err != nil {
			b.Fatal(err)
		}
	}
}
