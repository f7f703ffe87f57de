package house

import (
	"testing"

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
