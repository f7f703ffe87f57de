package main

import (
	"math"
	"slices"
	"strings"
	"testing"

	"tundish/cmd/tundish/housefile"
	"tundish/dashboards/findings"
)

func emittersOf(t *testing.T, text string) *findings.HeatEmitters {
	t.Helper()
	f, err := housefile.Parse("house.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	loss, _, err := lossOf(f)
	if err != nil {
		t.Fatal(err)
	}
	e, err := heatEmitters(f, loss)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// livingRoom is reckoned by hand: 685.56 (wall) + 188.16 (window) + 307.2 (floor) + 102 (bridges) + 65.4 + 9.6 + 102
// (to rooms of 18 °C) + 594 W (air) are 2053.9 W.
const livingRoom = `
[[room]]
name = "Living"
inside_c = 21
volume_m3 = 50
air_changes_per_h = 1.5
[[room.element]]
name = "outside wall"
area_m2 = 22.5
u_w_m2k = 1.45
opening = [ { name = "window", area_m2 = 2.8, u_w_m2k = 2.8 } ]
[[room.element]]
name = "floor"
area_m2 = 20
u_w_m2k = 0.64
[[room.element]]
name = "to the hall"
area_m2 = 10.9
u_w_m2k = 2.0
other_side_c = 18
[[room.element]]
name = "door"
area_m2 = 1.6
u_w_m2k = 2.0
other_side_c = 18
[[room.element]]
name = "ceiling"
area_m2 = 20
u_w_m2k = 1.7
other_side_c = 18
`

const at7050 = "outside_c = -3\nbridge_surcharge_w_m2k = 0.1\ndesign_flow_c = 70\ndesign_return_c = 50\n"

// By hand, EN 442: 2,837 W at 75/65/20 give 2837·(39/50)^1.3 = 2,054 W at 70/50/21 by the arithmetic mean; 2,054 W at 20 K
// of water at 60 °C (1.1424 Wh/(l·K), IAPWS-IF97) are 89.9 l/h.
func TestEmitterOfOneRoom(t *testing.T) {
	const radiator = "[[room.radiator]]\nrated_w = 2837\n"
	e := emittersOf(t, "excess_mean = \"arithmetic\"\n"+at7050+livingRoom+radiator)
	r := e.Rooms[0]
	for what, x := range map[string]struct{ got, want, off float64 }{
		"need": {r.NeedW, 2053.92, 0.01}, "output": {r.OutputW, 2054, 0.5}, "water": {r.WaterLPH, 89.9, 0.05},
		"lowest flow": {e.Lowest.FlowC, 70, 0.02}, "ends at": {e.Load.NeutralC, 21, 1e-9}, "output at 10 °C": {e.Curve[3].FlowC, 21 + 39*math.Pow(11.0/24, 1/1.3) + 10*11.0/24, 0.02},
	} {
		if !(math.Abs(x.got-x.want) <= x.off) {
			t.Errorf("%s: %v, want %v", what, x.got, x.want)
		}
	}
	// Left out, the mean goes by the rule: (50 − 21) ÷ (70 − 21) is below 0.7. By hand 20/ln(49/29) = 38.13 K, of 49.83 K.
	e = emittersOf(t, at7050+livingRoom+radiator)
	if r = e.Rooms[0]; math.Abs(r.OutputW-2837*math.Pow(38.13/49.83, 1.3)) > 1 || math.Abs(r.ArithmeticW-2054) > 0.5 {
		t.Errorf("%+v", r)
	}
}

// room loses exactly so many W to −3 °C, with an inside of 21 °C, a radiator, and no air.
func roomOf(name, w, rated string) string {
	out := "[[room]]\nname = \"" + name + "\"\ninside_c = 21\nvolume_m3 = 30\nair_changes_per_h = 0\n[[room.element]]\nname = \"wall\"\narea_m2 = " + w + "\nu_w_m2k = 1\nbridge_surcharge_w_m2k = 0\n"
	if rated != "" {
		out += "[[room.radiator]]\nrated_w = " + rated + "\n"
	}
	return out
}

// 1000 W each: the study has the smallest radiator and limits. By hand 21 + 50·(1000/1100)^(1/1.3) + 10 °C.
func TestLimitingRoomOfAHouse(t *testing.T) {
	text := "excess_mean = \"arithmetic\"\n" + at7050 + roomOf("Living", "41.6666667", "2500") + roomOf("Study", "41.6666667", "1100") + roomOf("Bedroom", "41.6666667", "1600")
	e := emittersOf(t, text)
	if !slices.Equal(e.Lowest.Limiting, []string{"Study"}) || math.Abs(e.Lowest.FlowC-(31+50*math.Pow(1/1.1, 1/1.3))) > 1e-3 {
		t.Errorf("%+v", e.Lowest)
	}
	if e = emittersOf(t, text+roomOf("Hall", "20", "")); !slices.Equal(e.Without, []string{"Hall"}) || !slices.Equal(e.Lowest.Limiting, []string{"Study"}) {
		t.Errorf("a hall without: %+v", e.Lowest)
	}
}

func TestWaterAtDesign(t *testing.T) {
	room := roomOf("Living", "40", "2500")
	e := emittersOf(t, "outside_c = -3\n"+room)
	if e.FlowC != 70 || e.ReturnC != 50 || e.Assumptions[0].Source == "" || len(e.Warnings) != 0 {
		t.Errorf("nothing told: %v/%v, %+v", e.FlowC, e.ReturnC, e.Assumptions)
	}
	e = emittersOf(t, "outside_c = -3\ndesign_flow_c = 55\n"+room)
	if e.FlowC != 70 || len(e.Warnings) != 1 || !strings.Contains(e.Warnings[0], "belong together") {
		t.Errorf("half told: %v/%v, %q", e.FlowC, e.ReturnC, e.Warnings)
	}
	e = emittersOf(t, "outside_c = -3\n"+roomOf("Bath", "10", "")+"[[room.underfloor]]\narea_m2 = 6\nkh_w_m2k = 5\n")
	if e.FlowC != 40 || e.ReturnC != 35 {
		t.Errorf("floors alone: %v/%v", e.FlowC, e.ReturnC)
	}
	if e = emittersOf(t, "outside_c = -3\n"+roomOf("Bath", "10", "")); e != nil {
		t.Errorf("no emitters: %+v", e)
	}
}

func TestSpreadThatCannotBe(t *testing.T) {
	_, err := housefile.Parse("house.toml", []byte("outside_c = -3\ndesign_flow_c = 80\ndesign_return_c = 30\n"+roomOf("Living", "40", "2500")))
	if err == nil || !strings.Contains(err.Error(), "house.toml:3: design_return_c: flow − return at design is 50 K") {
		t.Error(err)
	}
}
