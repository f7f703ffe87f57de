package findings

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"

	"tundish/analyse/building"
)

func cottage(t *testing.T) *building.Result {
	t.Helper()
	r, err := building.Compute(&building.House{Name: "Cottage", OutsideC: new(-3.0), Built: new(1880.0), Reheat: &building.Reheat{Hours: 2, DropK: 1},
		Unheated: []building.Space{{Name: "a lean-to with a very long name that leaves no room", BU: new(0.6)},
			{Name: "garage", Elements: []building.Element{{Name: "walls", AreaM2: new(20.0), Build: building.Build{UWM2K: new(2.0)}}}}},
		Rooms: []building.Room{{Name: "Living room with a name that is longer than a narrow line", Use: "living", LengthM: new(5.0), WidthM: new(4.0), HeightM: new(2.4), Elements: []building.Element{
			{Name: "outside wall", AreaM2: new(20.0), Construction: "solid-brick-220", BridgeWMK: new(0.1), BridgeM: new(10.0),
				Openings: []building.Element{{Name: "window", AreaM2: new(3.0), Construction: "window-double"}}},
			{Name: "wall to the garage", AreaM2: new(8.0), Construction: "partition-brick", Neighbour: "garage"},
		}}}})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// No line is longer than asked for, and none is lost at any width.
func TestHeatLossWidths(t *testing.T) {
	r := cottage(t)
	for width := 32; width <= 76; width++ {
		var b strings.Builder
		if err := HeatLossText(&b, r, width, HeatLossOptions{Warnings: []string{"house.toml:4: look here"}}); err != nil {
			t.Fatal(err)
		}
		for line := range strings.SplitSeq(b.String(), "\n") {
			if ansi.StringWidth(line) > width {
				t.Errorf("width %d: %q", width, line)
			}
		}
		flat := strings.Join(strings.Fields(b.String()), " ")
		for _, want := range []string{"Cottage", "outside wall", "window", "look here", "b_u 0.6", "by balance", "reheat", "±"} {
			if !strings.Contains(flat, want) {
				t.Errorf("width %d lacks %q:\n%s", width, want, b.String())
			}
		}
	}
}

// What JSON tells adds up as printed.
func TestHeatLossJSONAddsUp(t *testing.T) {
	var b strings.Builder
	if err := HeatLossJSON(&b, cottage(t), HeatLossOptions{}); err != nil {
		t.Fatal(err)
	}
	var j struct {
		TotalW       float64 `json:"total_w"`
		FabricW      float64 `json:"fabric_w"`
		VentilationW float64 `json:"ventilation_w"`
		ReheatW      float64 `json:"reheat_w"`
		Uncertainty  struct {
			TotalW float64 `json:"total_w"`
		}
		Rooms []struct {
			FabricW  float64 `json:"fabric_w"`
			TotalW   float64 `json:"total_w"`
			Elements []struct {
				LossW float64 `json:"loss_w"`
			}
		}
	}
	if err := json.Unmarshal([]byte(b.String()), &j); err != nil {
		t.Fatal(err)
	}
	elements := 0.0
	for _, e := range j.Rooms[0].Elements {
		elements += e.LossW
	}
	for what, d := range map[string]float64{"elements": elements - j.Rooms[0].FabricW, "rooms": j.Rooms[0].TotalW - j.TotalW, "parts": j.FabricW + j.VentilationW - j.TotalW} {
		if math.Abs(d) > 1e-5 {
			t.Errorf("%s: %v W apart", what, d)
		}
	}
	// EN 12831:2003 annex D.6: 6 W/m² on 20 m²; ±30 % of (20 − 3) m² of solid brick.
	if j.ReheatW != 120 || math.Abs(j.Uncertainty.TotalW-0.3*17*24/(0.13+0.22/0.77+0.013/0.57+0.04)) > 1e-3 {
		t.Errorf("reheat %v W, ± %v W", j.ReheatW, j.Uncertainty.TotalW)
	}
}
