package house

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/pelletier/go-toml/v2"
)

// The job sheet is TOML and says what is simulated.
func TestJobSheet(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range Scenarios() {
		if s.Name == "" || s.Doc == "" || seen[s.Name] || s.Days < 1 || s.Start.IsZero() {
			t.Errorf("scenario %q: incomplete or named twice", s.Name)
		}
		seen[s.Name] = true
		var sheet struct {
			Job  struct{ Name, Timezone string }
			Site struct {
				Outside float64 `toml:"outside_design_c"`
				Inside  float64 `toml:"inside_design_c"`
				Loss    float64 `toml:"design_heat_loss_kw"`
			}
			Plant struct {
				Kind, Fuel, Emitters, Supply string
				Max                          float64 `toml:"output_max_kw"`
				Min                          float64 `toml:"output_min_kw"`
				Water                        float64 `toml:"water_content_l"`
				Flow                         float64 `toml:"design_flow_c"`
				Return                       float64 `toml:"design_return_c"`
				Attempts                     int     `toml:"ignition_attempts"`
				HotWater                     string  `toml:"hot_water"`
				Pressure                     float64 `toml:"minimum_pressure_bar"`
			}
			Source []struct {
				Name, Kind, Scenario, Part, At string
				Seed                           uint64
				Points                         map[string]any
			}
		}
		if err := toml.Unmarshal(s.JobSheet(41), &sheet); err != nil {
			t.Fatalf("%s: %v", s.Name, err)
		}
		p := sheet.Plant
		if sheet.Job.Name != s.JobName || p.Max != s.Boiler.OutputMaxKW || p.Min != s.Boiler.OutputMinKW || p.Water != s.WaterL() ||
			p.Flow != s.DesignFlowC || p.Attempts != s.Boiler.Attempts || sheet.Site.Loss != 5.6 || sheet.Site.Outside != -3 {
			t.Errorf("%s: sheet %+v", s.Name, sheet)
		}
		if (p.Supply == "switched-live") != s.SwitchedLive || (p.HotWater == "cylinder") != (s.HotWater.Kind == Cylinder) {
			t.Errorf("%s: supply %q, hot water %q", s.Name, p.Supply, p.HotWater)
		}
		if len(sheet.Source) != 2 || sheet.Source[0].Part != PartBus || sheet.Source[1].Seed != 41 || len(sheet.Source[1].Points) != 2 ||
			sheet.Source[1].Points[s.Probes.FlowROM] != "flow" {
			t.Errorf("%s: sources %+v", s.Name, sheet.Source)
		}
		ret, _ := sheet.Source[1].Points[s.Probes.ReturnROM].(map[string]any)
		if ret["point"] != "return" || ret["offset_k"] != -s.Probes.RetOffK {
			t.Errorf("%s: return probe %v", s.Name, ret)
		}
	}
}

// The sheet names what is there: kinds, fuel, emitters, all probes; what belongs to an ignition only where there is one.
func TestJobSheetOfOtherPlants(t *testing.T) {
	type plant struct {
		Kind, Fuel, Emitters string
		Attempts             *int     `toml:"ignition_attempts"`
		Pressure             *float64 `toml:"minimum_pressure_bar"`
	}
	five, bar8, bar5 := 5, 0.8, 0.5
	pump, gas := matched(), matched()
	pump.Boiler.Kind, pump.Circuit.Emitters = HeatPump, Underfloor
	pump.Probes.OutsideROM, pump.Probes.CylinderROM = "28-0000b4d2000a", "28-0000b4d2000c"
	gas.Boiler.Kind, gas.Boiler.Fuel, gas.Boiler.MinPressureBar = OnOffBoiler, LPG, 0.5
	for _, c := range []struct {
		s      Scenario
		want   plant
		points map[string]string
	}{
		{matched(), plant{"boiler", "natural-gas", "radiators", &five, &bar8}, nil},
		{gas, plant{"boiler", "lpg", "radiators", &five, &bar5}, nil},
		{pump, plant{"heat-pump", "electricity", "underfloor", nil, nil}, map[string]string{"28-0000b4d2000a": "outside", "28-0000b4d2000c": "cylinder"}},
	} {
		for _, text := range [][]byte{c.s.JobSheet(1), c.s.fileSheet()} {
			var sheet struct {
				Plant  plant
				Source []struct {
					Name, Kind, At string
					Points         map[string]any
				}
			}
			if err := toml.Unmarshal(text, &sheet); err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(c.want, sheet.Plant); diff != "" {
				t.Errorf("plant: %s", diff)
			}
			if len(sheet.Source) != 2 || len(sheet.Source[1].Points) != 2+len(c.points) {
				t.Fatalf("sources %+v", sheet.Source)
			}
			for rom, point := range c.points {
				if sheet.Source[1].Points[rom] != point {
					t.Errorf("%s is %v, want %s", rom, sheet.Source[1].Points[rom], point)
				}
			}
		}
	}
}
