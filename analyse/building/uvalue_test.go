package building

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// near holds a value to a reference within half a unit of its last printed place.
func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > within*1.0001 {
		t.Errorf("%s is %.6g, want %v ± %v", what, got, want, within)
	}
}

func named(t *testing.T, name string) Build {
	t.Helper()
	c, ok := inLibrary(name)
	if !ok {
		t.Fatalf("the library has no %s", name)
	}
	return c.Build
}

// The resistances and U-values are calculated by hand from EN ISO 6946 (Rsi 0.13, Rse 0.04, cavity 0.18) and the
// conductivities of BR 443: each term stands in the second column.
func TestWallsByHand(t *testing.T) {
	for _, c := range []struct {
		name string
		sum  float64 // m²K/W
		u    float64
	}{
		{"solid-brick-220-bare", 0.13 + 0.2857 + 0.04, 2.19},
		{"solid-brick-220", 0.13 + 0.2857 + 0.0228 + 0.04, 2.09},
		{"cavity-unfilled-brick", 0.13 + 0.1331 + 0.18 + 0.1830 + 0.0228 + 0.04, 1.45},
		{"cavity-unfilled-dense-block", 0.5944, 1.68},
		{"cavity-unfilled-aerated-block", 1.0322, 0.97},
		{"cavity-filled-65", 0.5090 + 1.625, 0.47},
		{"cavity-filled-65-beads", 2.4207, 0.41},
		{"cavity-filled-50", 1.7590, 0.57},
		{"single-pane", 0.1740, 5.75},
		{"double-pane-6", 0.305, 3.28},
		{"double-pane-9", 0.332, 3.01},
		{"double-pane-12", 0.351, 2.85},
		{"double-pane-16", 0.358, 2.79},
	} {
		u := named(t, c.name).UValue()
		near(t, c.name+" R upper", u.UpperM2KW, c.sum, 0.0003)
		near(t, c.name+" R lower", u.LowerM2KW, c.sum, 0.0003)
		near(t, c.name+" U", u.UWM2K, c.u, 0.005)
	}
}

// Upper and lower limit of the resistance by EN ISO 6946, calculated: mineral wool 0.044, plasterboard 12.5 mm (0.21), joists
// 9 % softwood for the first 100 mm, loft space 0.2.
func TestLofts(t *testing.T) {
	for _, c := range []struct{ mm, upper, lower, u float64 }{
		{0, 0.400, 0.400, 2.50}, {25, 0.915, 0.883, 1.11}, {50, 1.414, 1.366, 0.72}, {75, 1.906, 1.849, 0.53},
		{100, 2.395, 2.332, 0.42}, {150, 3.597, 3.469, 0.28}, {200, 4.758, 4.605, 0.21}, {250, 5.907, 5.741, 0.17},
		{270, 6.365, 6.196, 0.16}, {300, 7.051, 6.878, 0.14}, {400, 9.332, 9.150, 0.11},
	} {
		u := Loft(c.mm).UValue()
		near(t, "R upper", u.UpperM2KW, c.upper, 0.0006)
		near(t, "R lower", u.LowerM2KW, c.lower, 0.0006)
		near(t, "U", u.UWM2K, c.u, 0.005)
	}
}

// EN ISO 10077-1 by hand: 0.7·2.8 + 0.3·1.7 + 0.06·4.0/1.8204, and the same with 1.2 and 1.4.
func TestWindows(t *testing.T) {
	near(t, "double", *named(t, "window-double").UWM2K, 2.60, 0.005)
	near(t, "coated", *named(t, "window-double-coated").UWM2K, 1.39, 0.005)
}

// EN ISO 13370 slab on ground, calculated by hand: soil 1.5 W/mK, wall 0.3 m.
func TestSlab(t *testing.T) {
	g := Ground{AreaM2: 45, PerimeterM: 19.5, WallM: 0.3, SoilWMK: 1.5}
	near(t, "B'", g.CharacteristicM(), 4.615, 0.0005)
	near(t, "dt", g.EquivalentM(0), 0.615, 0.0005)
	near(t, "U", g.UWM2K(0), 0.64, 0.005)
	g = Ground{AreaM2: 48, PerimeterM: 20}
	near(t, "dt insulated", g.EquivalentM(2.5), 4.365, 0.0005)
	near(t, "U insulated", g.UWM2K(2.5), 0.23, 0.005)
	// Well insulated (dt above B'): λ/(0.457·B' + dt), the same at a layer of 0.1 m of 0.025 W/mK.
	g = Ground{AreaM2: 20, PerimeterM: 20}
	b := Build{Ground: &g, Layers: []Layer{{ThicknessM: 0.1, ConductivityWMK: 0.025}}}
	near(t, "U well insulated", b.UValue().UWM2K, 1.5/(0.457*2+0.3+1.5*(0.21+4)), 1e-9)
}

// Air layers: rows of EN ISO 6946 table 8, and half way between two of them.
func TestAirLayers(t *testing.T) {
	for _, c := range []struct {
		m               float64
		up, level, down float64
	}{
		{0.005, 0.11, 0.11, 0.11}, {0.010, 0.15, 0.15, 0.15}, {0.015, 0.16, 0.17, 0.17}, {0.025, 0.16, 0.18, 0.19},
		{0.050, 0.16, 0.18, 0.21}, {0.100, 0.16, 0.18, 0.22}, {0.0375, 0.16, 0.18, 0.20}, {0, 0, 0, 0},
	} {
		near(t, "up", airResistance(c.m, up), c.up, 1e-9)
		near(t, "level", airResistance(c.m, level), c.level, 1e-9)
		near(t, "down", airResistance(c.m, down), c.down, 1e-9)
	}
}

// Surfaces by direction of heat flow (EN ISO 6946 table 7); beside a room both count as inside; heat that comes in
// through a floor flows up.
func TestSurfaces(t *testing.T) {
	one := []Layer{{ResistanceM2KW: 1}}
	for _, c := range []struct {
		s      Surface
		beyond far
		inward bool
		r      float64
	}{
		{Wall, farOutside, false, 1.17}, {Roof, farOutside, false, 1.14}, {Floor, farOutside, false, 1.21},
		{Wall, farInside, false, 1.26}, {Roof, farInside, false, 1.20}, {Floor, farInside, false, 1.34},
		{Wall, farInside, true, 1.26}, {Roof, farInside, true, 1.34}, {Floor, farInside, true, 1.20},
	} {
		u := Build{Layers: one, Surface: c.s}.uValue(c.beyond, c.inward)
		near(t, string(c.s), 1/u.UWM2K, c.r, 1e-9)
	}
}

// A timber frame by both limits, written out: studs of 15 % through 140 mm of wool at 0.038, softwood 0.13, plasterboard
// 12.5 mm at 0.21, brick 102.5 mm at 0.77, cavity 0.18.
func TestTimberFrame(t *testing.T) {
	rest := 0.13 + 0.0125/0.21 + 0.18 + 0.1025/0.77 + 0.04
	upper := 1 / (0.85/(rest+0.14/0.038) + 0.15/(rest+0.14/0.13))
	lower := rest + 0.14/(0.85*0.038+0.15*0.13)
	u := named(t, "timber-frame-140").UValue()
	near(t, "upper", u.UpperM2KW, upper, 1e-9)
	near(t, "lower", u.LowerM2KW, lower, 1e-9)
	near(t, "U", u.UWM2K, 2/(upper+lower), 1e-9)
}

// Bridges of one name are one member; those without lie anywhere, so that all four ways through two layers count.
func TestMembers(t *testing.T) {
	layer := func(name string) Layer {
		return Layer{ThicknessM: 0.1, ConductivityWMK: 0.04, Bridge: &Bridge{Name: name, Share: 0.1, ConductivityWMK: 0.13}}
	}
	a, b, s := 0.1/0.04, 0.1/0.13, 0.17
	one := Build{Layers: []Layer{layer("stud"), layer("stud")}, Surface: Wall}.UValue()
	near(t, "one member", one.UpperM2KW, 1/(0.9/(s+2*a)+0.1/(s+2*b)), 1e-9)
	two := Build{Layers: []Layer{layer(""), layer("")}, Surface: Wall}.UValue()
	near(t, "anywhere", two.UpperM2KW, 1/(0.81/(s+2*a)+0.18/(s+a+b)+0.01/(s+2*b)), 1e-9)
}

func genLayers(t *rapid.T) []Layer {
	layers := make([]Layer, rapid.IntRange(1, 6).Draw(t, "layers"))
	for i := range layers {
		l := Layer{ThicknessM: rapid.Float64Range(0.005, 0.5).Draw(t, "thickness"), ConductivityWMK: rapid.Float64Range(0.02, 3).Draw(t, "conductivity")}
		if rapid.Bool().Draw(t, "bridged") {
			l.Bridge = &Bridge{Share: rapid.Float64Range(0.01, 0.5).Draw(t, "share"), ConductivityWMK: rapid.Float64Range(0.02, 3).Draw(t, "bridge")}
		}
		layers[i] = l
	}
	return layers
}

// Heat that may only go straight finds it harder than heat that spreads evenly: the upper limit is never the lower one.
func TestUpperIsNotBelowLower(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := Build{Layers: genLayers(t), Surface: Wall}.UValue()
		if u.UpperM2KW < u.LowerM2KW-1e-9 {
			t.Fatalf("upper %v below lower %v", u.UpperM2KW, u.LowerM2KW)
		}
	})
}

func TestInsulationNeverRaisesU(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		layers := genLayers(t)
		s := rapid.SampledFrom([]Surface{Wall, Roof, Floor}).Draw(t, "surface")
		before := Build{Layers: layers, Surface: s}.UValue().UWM2K
		more := append([]Layer{{ThicknessM: rapid.Float64Range(0.01, 0.3).Draw(t, "more"), ConductivityWMK: 0.035}}, layers...)
		if after := (Build{Layers: more, Surface: s}).UValue().UWM2K; after >= before {
			t.Fatalf("U rose from %v to %v", before, after)
		}
		g := Ground{AreaM2: rapid.Float64Range(4, 400).Draw(t, "area"), PerimeterM: rapid.Float64Range(2, 90).Draw(t, "perimeter")}
		r := rapid.Float64Range(0, 5).Draw(t, "floor")
		if g.UWM2K(r+0.5) >= g.UWM2K(r) {
			t.Fatalf("slab of R %v: U rose", r)
		}
	})
}

func TestLibraryIsSound(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range Library() {
		if seen[c.Name] {
			t.Errorf("%s stands twice", c.Name)
		}
		seen[c.Name] = true
		k := &checker{house: &House{}}
		at{c: k, name: c.Name}.build(c.Build, false)
		for _, p := range k.all {
			t.Error(p)
		}
		if c.Text == "" || c.Source == "" {
			t.Errorf("%s says nothing of itself", c.Name)
		}
	}
}
