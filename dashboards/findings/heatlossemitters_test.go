package findings

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"

	"tundish/analyse/emitter"
	"tundish/analyse/water"
)

// heatedCottage has a room that is well off, one that is short and limits, one without an emitter, and two pipes.
func heatedCottage(t *testing.T, change func(*emitter.System)) *HeatEmitters {
	t.Helper()
	s := emitter.System{OutsideC: -3, Rooms: []emitter.Room{
		{Name: "Living room with a name that is longer than a narrow line", InsideC: 21, NeedW: 2054, Radiators: []emitter.Radiator{{Name: "bay", RatedW: 2500}, {RatedW: 2000}}},
		{Name: "Bedroom", InsideC: 18, NeedW: 1200, Radiators: []emitter.Radiator{{RatedW: 1000}}},
		{Name: "Hall", InsideC: 18, NeedW: 400},
	}, Pipes: []emitter.Pipe{{Name: "riser", OutsideMM: 22, LengthM: 10}, {OutsideMM: 8, LengthM: 6}}}
	if change != nil {
		change(&s)
	}
	d, err := s.Design(70, 50, emitter.ByRule, emitter.Load{NeutralC: 20})
	if err != nil {
		t.Fatal(err)
	}
	return &HeatEmitters{Design: d, Liquid: s.Liquid.Name, NeutralFrom: "as told", ReheatW: []RoomReheat{{"Bedroom", 100}}}
}

// No line is longer than asked for, and none is lost at any width.
func TestEmitterWidths(t *testing.T) {
	r := cottage(t)
	for name, c := range map[string]struct {
		change func(*emitter.System)
		want   []string
	}{
		"as it is": {nil, []string{"lowest flow for all rooms not known", "Limited by Bedroom", "riser", "pipe 2", "usual ceiling of velocity in small pipes 0.9 m/s [1]", "[2] Copper Development",
			"EN 442-2", "With reheat on top these fall short: Bedroom by", "room Hall: needs heat and has no emitter", "as told", "flow/return that covers every room with an emitter", "Legionella", "20 °C off", "logarithmic"}},
		"never":       {func(s *emitter.System) { s.Rooms[1].Radiators[0].RatedW = 50 }, []string{"Bedroom stays short", "The others would do with", "None: no flow temperature covers Bedroom"}},
		"glycol":      {func(s *emitter.System) { s.Liquid = water.PropyleneGlycol30 }, []string{"not known", "30 % propylene glycol"}},
		"pipes alone": {func(s *emitter.System) { s.Rooms[0].Radiators, s.Rooms[1].Radiators = nil, nil }, []string{"riser", "Pipes and radiators can burn"}},
	} {
		e := heatedCottage(t, c.change)
		for width := 32; width <= 76; width++ {
			var b strings.Builder
			if err := HeatLossText(&b, r, width, HeatLossOptions{Emitters: e}); err != nil {
				t.Fatal(err)
			}
			for line := range strings.SplitSeq(b.String(), "\n") {
				if ansi.StringWidth(line) > width {
					t.Errorf("%s, width %d: %q", name, width, line)
				}
			}
			flat := strings.Join(strings.Fields(b.String()), " ")
			for _, want := range c.want {
				if !strings.Contains(flat, want) {
					t.Errorf("%s, width %d lacks %q:\n%s", name, width, want, b.String())
				}
			}
			if t.Failed() {
				t.FailNow()
			}
		}
	}
}

// By hand, EN 442 with the logarithmic mean: 20/ln(52/32) K of excess in the bedroom, rated at 49.83 K; 1000 W.
func TestEmittersJSON(t *testing.T) {
	var b strings.Builder
	if err := HeatLossJSON(&b, cottage(t), HeatLossOptions{Emitters: heatedCottage(t, nil)}); err != nil {
		t.Fatal(err)
	}
	var j struct {
		TotalW   float64 `json:"total_w"`
		Warnings []string
		Emitters struct {
			FlowC   float64  `json:"flow_c"`
			Without []string `json:"rooms_without_emitter"`
			Rooms   []map[string]any
			Lowest  struct {
				FlowC    float64 `json:"flow_c"`
				SpreadK  float64 `json:"spread_k"`
				Limiting []string
			} `json:"lowest_flow"`
			Curve struct {
				NeutralC    float64 `json:"neutral_c"`
				NeutralFrom string  `json:"neutral_from"`
				Fixed       string
				Points      []map[string]any
			} `json:"weather_curve"`
			Pipes    []map[string]any
			Ceilings []jsonAssumption `json:"pipe_ceilings"`
		}
	}
	if err := json.Unmarshal([]byte(b.String()), &j); err != nil {
		t.Fatal(err)
	}
	e := j.Emitters
	bed := e.Rooms[1]
	output := 1000 * math.Pow(20/math.Log(52.0/32)/(10/math.Log(55.0/45)), 1.3)
	if got := bed["output_w"].(float64); math.Abs(got-output) > 0.01 || bed["mean"] != "logarithmic" || bed["reaches"] != false {
		t.Errorf("bedroom: %v, want %v W", bed, output)
	}
	if got := bed["surplus_percent"].(float64); math.Abs(got-100*(output-1200)/1200) > 0.01 {
		t.Errorf("surplus %v %%", got)
	}
	if got := bed["surplus_with_reheat_w"].(float64); math.Abs(got-(output-1300)) > 0.01 {
		t.Errorf("with reheat %v W", got)
	}
	if hall := e.Rooms[2]; hall["no_emitter"] != true || hall["water_l_h"] != 0.0 || hall["lowest_flow_c"] != nil {
		t.Errorf("hall: %v", hall)
	}
	if len(e.Without) != 1 || e.Lowest.SpreadK != 20 || len(e.Lowest.Limiting) != 1 || e.Curve.NeutralC != 20 || e.Curve.NeutralFrom == "" || e.Curve.Fixed != "water" {
		t.Errorf("%+v", e)
	}
	if p := e.Curve.Points; len(p) != 6 || math.Abs(p[0]["flow_c"].(float64)-e.Lowest.FlowC) > 1e-6 || p[5]["heating"] != false || p[5]["flow_c"] != nil {
		t.Errorf("curve: %v", p)
	}
	if len(e.Pipes) != 2 || e.Pipes[0]["slow"] != true || len(e.Pipes[1]["over"].([]any)) < 2 || len(e.Ceilings) != 5 || len(j.Warnings) < 3 {
		t.Errorf("pipes: %v, warnings %q", e.Pipes, j.Warnings)
	}
}
