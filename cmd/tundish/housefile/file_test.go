package housefile

import (
	"errors"
	"math"
	"strings"
	"testing"

	"tundish/analyse/building"
	"tundish/analyse/emitter"
	"tundish/cmd/tundish/jobsheet"
)

const sound = `outside_c = -3.0
[[construction]]
name = "wall"
surface = "wall"
layers = [ { thickness_m = 0.22, conductivity_w_mk = 0.77 }, { resistance_m2k_w = 0.1 } ]
[[unheated]]
name = "garage"
b_u = 0.5
[[unheated]]
name = "store"
[[unheated.element]]
name = "wall"
area_m2 = 10
u_w_m2k = 2
[[room]]
name = "Living"
inside_c = 21.0
volume_m3 = 50.0
air_changes_per_h = 1.5
[[room.element]]
name = "outside wall"
area_m2 = 12.0
construction = "wall"
[[room.element.opening]]
name = "window"
area_m2 = 2.0
u_w_m2k = 2.8
[[room.element]]
name = "floor"
area_m2 = 20
u_w_m2k = 0.6
[[room]]
name = "Hall"
inside_c = 18
length_m = 3.0
width_m = 2.0
height_m = 2.5
flow_m3_h = 20
[[room.element]]
name = "to Living"
area_m2 = 10
u_w_m2k = 2
neighbour = "Living"
[[room.radiator]]
name = "hall radiator"
rated_w = 500
`

func TestRead(t *testing.T) {
	f, err := Parse("house.toml", []byte(sound))
	if err != nil {
		t.Fatal(err)
	}
	r, err := building.Compute(&f.House)
	if err != nil {
		t.Fatal(err)
	}
	// EN ISO 6946 by hand: 0.13 + 0.22/0.77 + 0.1 + 0.04.
	wall := 10 / (0.13 + 0.22/0.77 + 0.1 + 0.04) * 24
	if got := r.Rooms[0].Elements[0].LossW; math.Abs(got-wall) > 1e-9 {
		t.Errorf("the wall loses %v W, want %v", got, wall)
	}
	if got := r.Rooms[1].VentilationW; math.Abs(got-0.33*20*21) > 1e-9 {
		t.Errorf("the hall's air takes %v W", got)
	}
	s := f.System(r)
	if len(s.Rooms) != 2 || len(s.Rooms[1].Radiators) != 1 || s.Rooms[1].Radiators[0].RatedW != 500 || s.Rooms[0].NeedW != r.Rooms[0].TotalW {
		t.Errorf("emitters: %+v", s)
	}
}

func TestStartPasses(t *testing.T) {
	f, err := Parse("start.toml", Start)
	if err != nil {
		t.Fatal(err)
	}
	r, err := building.Compute(&f.House)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Warnings) > 0 {
		t.Errorf("warnings: %v", r.Warnings)
	}
}

// Everything that the starting file shows behind a "#" is a key that exists.
func TestStartWithEverything(t *testing.T) {
	var lines []string
	for l := range strings.SplitSeq(string(Start), "\n") {
		for range 2 {
			rest, hidden := strings.CutPrefix(strings.TrimSpace(l), "# ")
			if hidden && (strings.Contains(rest, " = ") || strings.HasPrefix(rest, "[") || strings.HasPrefix(rest, "# ") || strings.HasPrefix(rest, `"-`)) {
				l = rest
			}
		}
		if strings.HasPrefix(l, "{ ") && !strings.HasSuffix(l, ",") || strings.Contains(l, "is a layer too") {
			continue
		}
		lines = append(lines, l)
	}
	text := strings.Join(lines, "\n")
	// What belongs to the top of the file stands there already; the rooms' own go to the first room.
	f, err := Parse("start.toml", []byte(text))
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	if f.House.Built == nil || f.House.Reheat == nil || len(f.Rooms) != 2 || f.Mean != emitter.Arithmetic || f.Liquid.HeatKJKgK != 3.875 || len(f.Rooms[0].Radiators) != 1 || len(f.Rooms[0].Underfloor) != 1 ||
		len(f.Pipes) != 1 || len(f.Year) != 2 || f.DesignFlowC == nil {
		t.Errorf("not all was read: %+v", f)
	}
}

// What is wrong names file, line, room, element and key.
func TestWrong(t *testing.T) {
	for _, c := range []struct{ what, old, new, want string }{
		{"negative area", "area_m2 = 12.0", "area_m2 = -12.0", "house.toml:22: room Living, outside wall: area_m2: -12 m² is below 0"},
		{"no area", "area_m2 = 12.0", "", "house.toml:20: room Living, outside wall: area_m2: is missing"},
		{"opening larger than its wall", "area_m2 = 2.0", "area_m2 = 13.0", "house.toml:24: room Living, outside wall: opening: openings of 13.00 m² are larger than the 12.00 m²"},
		{"U of 0", "u_w_m2k = 0.6", "u_w_m2k = 0", "house.toml:31: room Living, floor: u_w_m2k: is 0"},
		{"negative U", "u_w_m2k = 0.6", "u_w_m2k = -1", "house.toml:31: room Living, floor: u_w_m2k: -1 W/m²K is below 0"},
		{"U above 10", "u_w_m2k = 0.6", "u_w_m2k = 12", "house.toml:31: room Living, floor: u_w_m2k: 12 is outside 0.001 to 10 W/m²K"},
		{"U of 1700", "u_w_m2k = 0.6", "u_w_m2k = 1700", "house.toml:31: room Living, floor: u_w_m2k: 1700 is outside 0.001 to 10 W/m²K; in milliwatts? 1700 mW/m²K are 1.7 W/m²K"},
		{"U of an opening", "u_w_m2k = 2.8", "u_w_m2k = 28", "house.toml:27: room Living, outside wall, window: u_w_m2k: 28 is outside"},
		{"unknown construction", `construction = "wall"`, `construction = "wal"`, `house.toml:23: room Living, outside wall: construction: "wal" is no construction of this house or of the library; did you mean wall?`},
		{"hot room", "inside_c = 21.0", "inside_c = 60", "house.toml:17: room Living: inside_c: 60 is outside 0 to 40 °C"},
		{"layer without conductivity", "{ thickness_m = 0.22, conductivity_w_mk = 0.77 }", "{ thickness_m = 0.22 }", "house.toml:5: construction wall, layer 1: conductivity_w_mk: is missing"},
		{"layer of conductivity 0", "conductivity_w_mk = 0.77", "conductivity_w_mk = 0", "house.toml:5: construction wall, layer 1: conductivity_w_mk: 0 is not above 0"},
		{"layer in millimetres", "thickness_m = 0.22", "thickness_m = 220", "house.toml:5: construction wall, layer 1: thickness_m: 220 is outside 0.0001 to 3 m; millimetres?"},
		{"empty layer", "{ resistance_m2k_w = 0.1 }", "{}", "construction wall, layer 2: give one of"},
		{"unknown material", "{ resistance_m2k_w = 0.1 }", `{ material = "softwod", thickness_m = 0.1 }`, `layer 2: material: "softwod" is no material of the library; did you mean softwood?`},
		{"no surface", `surface = "wall"`, "", "house.toml:2: construction wall: surface: is missing: wall, roof or floor"},
		{"unknown surface", `surface = "wall"`, `surface = "walls"`, `house.toml:4: construction wall: surface: "walls" is no surface; did you mean wall?`},
		{"own neighbour", `neighbour = "Living"`, `neighbour = "Hall"`, `house.toml:43: room Hall, to Living: neighbour: "Hall" is the neighbour of itself`},
		{"unknown neighbour", `neighbour = "Living"`, `neighbour = "Livin"`, `house.toml:43: room Hall, to Living: neighbour: "Livin" is no room or unheated space of this house; did you mean Living?`},
		{"two other sides", `neighbour = "Living"`, "neighbour = \"Living\"\nother_side_c = 5", "room Hall, to Living: has more than one other side"},
		{"unknown key", "volume_m3 = 50.0", "volume_m = 50.0", "house.toml:18: room Living: volume_m: unknown key; did you mean volume_m3?"},
		{"unknown table", "[[room]]\nname = \"Hall\"", "[[rom]]\nname = \"Hall\"", "house.toml:32: rom: unknown key; did you mean room?"},
		{"text for a number", "volume_m3 = 50.0", `volume_m3 = "50 m3"`, `house.toml:18: room Living: volume_m3: must be a bare number, not the text "50 m3"`},
		{"nan", "volume_m3 = 50.0", "volume_m3 = nan", "house.toml:18: room Living: volume_m3: NaN is no number"},
		{"no air", "air_changes_per_h = 1.5", "", "room Living: air_changes_per_h: is missing"},
		{"two airs", "flow_m3_h = 20", "flow_m3_h = 20\nair_changes_per_h = 1", "room Hall: flow_m3_h: give either air_changes_per_h or flow_m3_h"},
		{"no outside", "outside_c = -3.0", "", "house.toml: outside_c: is missing"},
		{"outside in Fahrenheit", "outside_c = -3.0", "outside_c = 27", "house.toml:1: outside_c: 27 is outside -60 to 25 °C"},
		{"same name twice", `name = "Hall"`, `name = "Living"`, `house.toml:33: room Living: name: "Living" is the name of a room already`},
		{"control character", `name = "Hall"`, `name = "Ha\u001bll"`, "holds the control character U+001B"},
		{"both areas", "area_m2 = 12.0", "area_m2 = 12.0\nwidth_m = 3\nheight_m = 4", "room Living, outside wall: area_m2: give either area_m2 or width_m and height_m"},
		{"U and layers", `construction = "wall"`, "construction = \"wall\"\nu_w_m2k = 1", "room Living, outside wall: construction: give one of"},
		{"volume and sizes", "height_m = 2.5", "height_m = 2.5\nvolume_m3 = 150", "room Hall: volume_m3: 150 m³, but length × width × height is 15.0 m³"},
		{"radiator without output", "rated_w = 500", "", "house.toml:44: room Hall, radiator hall radiator: rated_w: is missing"},
		{"exponent", "rated_w = 500", "rated_w = 500\nexponent = 13", "room Hall, radiator hall radiator: exponent: 13 is outside 1.0 to 1.6"},
		{"space without anything", "b_u = 0.5", "", "house.toml:6: unheated garage: how cold it gets is missing"},
		{"b_u in percent", "b_u = 0.5", "b_u = 50", "house.toml:8: unheated garage: b_u: 50 is outside 0 to 1; a share of 1"},
		{"share in percent", "{ resistance_m2k_w = 0.1 }", `{ thickness_m = 0.1, conductivity_w_mk = 1, bridge = { material = "steel", share = 15 } }`, "layer 2, bridge: share: 15 is above 1; a share of 1"},
		{"name of an unheated space", `name = "Hall"`, `name = "garage"`, `room garage: name: "garage" is the name of an unheated space already`},
		{"element without a name", "name = \"floor\"\n", "", "room Living, element 2: name: is missing"},
		{"rated at too much", "rated_w = 500", "rated_w = 500\nrated_at = \"75/65/20/9\"", `room Hall, radiator hall radiator: rated_at: "75/65/20/9" is not flow/return/room`},
		{"rated above steam", "rated_w = 500", "rated_w = 500\nrated_at = \"128/125/20\"", "house.toml:44: room Hall, radiator hall radiator: rated at 128/125/20: flow temperature is 128 °C"},
		{"a floor's surface", "rated_w = 500", "rated_w = 500\n[[room.underfloor]]\narea_m2 = 5\nkh_w_m2k = 4\nsurface_excess_k = 0.5", "house.toml:47: room Hall, underfloor 1: surface's excess is 0.5 K"},
		{"pipe too long", "rated_w = 500", "rated_w = 500\n[[pipe]]\nname = \"riser\"\nbore_mm = 10\nlength_m = 3000", "house.toml:47: pipe riser: length is 3000 m"},
		{"flow and return far apart", "outside_c = -3.0", "outside_c = -3.0\ndesign_flow_c = 90\ndesign_return_c = 30", "house.toml:3: design_return_c: flow − return at design is 60 K: it is 0.5 to 40"},
		{"hours twice", "rated_w = 500", "rated_w = 500\n[outside_hours]\n\"-3\" = 10\n\"-3.0\" = 10", `house.toml:49: outside_hours: -3.0: is the temperature of "-3" again`},
		{"hours of no temperature", "rated_w = 500", "rated_w = 500\n[outside_hours]\ncold = 10", "house.toml:48: outside_hours: cold: is no outside temperature"},
		{"reheat", "outside_c = -3.0", "outside_c = -3.0\n[reheat]\nhours = 9\ndrop_k = 1", "house.toml:2: reheat: hours is 1, 2, 3 or 4"},
		{"no rooms", sound[strings.Index(sound, "[[room]]"):], "", "house.toml: room: is missing"},
		{"key twice", "inside_c = 18", "inside_c = 18\ninside_c = 19", "house.toml:35: room[1].inside_c: stands here a second time; the first is in line 34"},
	} {
		text := strings.Replace(sound, c.old, c.new, 1)
		if text == sound {
			t.Fatalf("%s: nothing to replace", c.what)
		}
		_, err := Parse("house.toml", []byte(text))
		var errs jobsheet.Errors
		if !errors.As(err, &errs) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s:\n got %v\nwant %s", c.what, err, c.want)
		}
	}
}

func TestCircles(t *testing.T) {
	text := sound + `[[unheated]]
name = "shed"
[[unheated.element]]
name = "to the barn"
area_m2 = 10
u_w_m2k = 2
neighbour = "barn"
[[unheated]]
name = "barn"
[[unheated.element]]
name = "to the shed"
area_m2 = 10
u_w_m2k = 2
neighbour = "shed"
`
	_, err := Parse("house.toml", []byte(text))
	if want := "house.toml:60: unheated barn, to the shed: neighbour: a circle of neighbours: shed → barn → shed"; err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("got %v, want %s", err, want)
	}
}

// All errors come at once, in order of line.
func TestAllAtOnce(t *testing.T) {
	text := strings.NewReplacer("area_m2 = 12.0", "area_m2 = -1", "u_w_m2k = 0.6", "u_w_m2k = 99", "inside_c = 21.0", "inside_c = 90").Replace(sound)
	_, err := Parse("house.toml", []byte(text))
	var errs jobsheet.Errors
	if !errors.As(err, &errs) || len(errs) != 3 || errs[0].Line != 17 || errs[1].Line != 22 || errs[2].Line != 31 {
		t.Errorf("got %v", err)
	}
}

// What is only doubtful is computed, and told with its place.
func TestDoubtful(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{"inside_c = 21.0", "inside_c = 32", "house.toml:17: room Living: inside_c: 32 °C is unusual"},
		{"u_w_m2k = 0.6", "u_w_m2k = 8", "house.toml:31: room Living, floor: u_w_m2k: 8 W/m²K is unusual"},
		{"air_changes_per_h = 1.5", "air_changes_per_h = 0", "house.toml:19: room Living: air_changes_per_h: 0 1/h is unusual"},
		{"inside_c = 21.0", "inside_c = 21", "house.toml:43: room Hall, to Living: neighbour: Living does not tell of this wall"},
	} {
		f, err := Parse("house.toml", []byte(strings.Replace(sound, c.old, c.new, 1)))
		if err != nil {
			t.Fatal(err)
		}
		r, err := building.Compute(&f.House)
		if err != nil {
			t.Fatal(err)
		}
		all := ""
		for _, w := range r.Warnings {
			all += f.Place(w).Error() + "\n"
		}
		if !strings.Contains(all, c.want) {
			t.Errorf("got %s, want %s", all, c.want)
		}
	}
}

// Whatever a file holds, it is refused or computes to finite numbers that add up.
func FuzzParse(f *testing.F) {
	f.Add([]byte(sound))
	f.Add(Start)
	f.Fuzz(func(t *testing.T, text []byte) {
		h, err := Parse("x.toml", text)
		if err != nil {
			return
		}
		r, err := building.Compute(&h.House)
		if err != nil {
			t.Fatalf("read, but not computed: %v", err)
		}
		sum := 0.0
		for _, m := range r.Rooms {
			sum += m.TotalW
		}
		if math.IsNaN(r.TotalW) || math.IsInf(r.TotalW, 0) || math.IsNaN(r.WPerK) || math.IsNaN(r.Whole.TotalW) || math.Abs(sum-r.TotalW) > 1e-6*(1+math.Abs(sum)) {
			t.Fatalf("total %v, W/K %v, whole %v, sum of rooms %v", r.TotalW, r.WPerK, r.Whole.TotalW, sum)
		}
		d, err := h.System(r).Design(55, 45, h.Mean, emitter.Load{NeutralC: 20})
		if err != nil {
			return
		}
		for _, x := range d.Rooms {
			if math.IsNaN(x.OutputW) || math.IsInf(x.OutputW, 0) || math.IsNaN(x.WaterLPH) || x.OutputW < 0 || x.WaterLPH < 0 {
				t.Fatalf("%+v", x)
			}
		}
	})
}
