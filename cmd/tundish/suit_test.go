package main

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode/unit"
)

// semiFile is an invented semi of 90 m² as one heated space: 77.7 m² of wall at 1.45 W/m²K, 16 m² of window at 2.8, 3.8 m²
// of door at 3.0, a roof of 45 m² at 0.42 and a floor of 45 m² at 0.64, 0.10 W/m²K for bridges, and 225 m³ with 0.8 air
// changes at 0.33 Wh/m³K. By hand: 216.57 + 18.75 + 59.40 = 294.72 W/K, 6779 W at 23 K.
const semiFile = `
name = "Invented semi"
outside_c = -3.0
bridge_surcharge_w_m2k = 0.10
design_flow_c = 70.0
design_return_c = 50.0

[[room]]
name = "All rooms"
inside_c = 20.0
volume_m3 = 225.0
air_changes_per_h = 0.8
minimum_per_h = 0.8
[[room.element]]
name = "outside wall"
area_m2 = 97.5
u_w_m2k = 1.45
[[room.element.opening]]
name = "windows"
area_m2 = 16.0
u_w_m2k = 2.8
[[room.element.opening]]
name = "doors"
area_m2 = 3.8
u_w_m2k = 3.0
[[room.element]]
name = "roof"
area_m2 = 45.0
u_w_m2k = 0.42
[[room.element]]
name = "floor"
area_m2 = 45.0
u_w_m2k = 0.64
[[room.radiator]]
rated_w = 10000

[outside_hours]
"-3" = 760
"5" = 3000
"12" = 3000
"18" = 2000
`

func semiSide(t *testing.T, text string) *houseSide {
	t.Helper()
	file := filepath.Join(t.TempDir(), "semi.toml")
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	h, err := houseSideOf(file)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// semiWinter are days of a house that takes 235 W for each kelvin below 15.8 °C, by a heat counter, and whose water is at
// 60 °C whatever the weather.
func semiWinter(days int) *episode.Facts {
	from := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	f := &episode.Facts{From: from, To: from.AddDate(0, 0, days)}
	for i := range days {
		te := math.Round(5 + 7*math.Sin(float64(i)*0.9))
		kw := 0.235 * max(0, 15.8-te) * (1 + 0.02*math.Sin(float64(i)*3.1))
		d := episode.Day{From: from.AddDate(0, 0, i), To: from.AddDate(0, 0, i+1)}
		d.Heat = episode.HeatDay{Outside: te, OutsideFor: 24 * time.Hour, Energy: episode.HeatSum{Heating: 24 * kw, For: 24 * time.Hour}}
		d.Weather = episode.WeatherDay{Outside: []episode.OutsideFor{{C: int(te), Seconds: 86400}},
			Flow: []episode.FlowBy{{Source: "boiler", Bins: []episode.FlowFor{{C: int(te), Seconds: 3600, FlowS: 3600 * 61}}},
				{Source: "probes", Bins: []episode.FlowFor{{C: int(te), Seconds: 7200, FlowS: 7200 * 60}}}}}
		f.Days = append(f.Days, d)
	}
	return f
}

func semiPlant() analyse.Plant {
	return analyse.Plant{Kind: "boiler", Fuel: "natural-gas", HotWater: analyse.NoHotWater, OutputMax: analyse.Some(unit.KW(24)), OutputMin: analyse.Some(unit.KW(6))}
}

func TestSuitFromHouseFileAndRecord(t *testing.T) {
	near := func(what string, got, want, within float64) {
		t.Helper()
		if !(math.Abs(got-want) <= within) {
			t.Errorf("%s = %.5g, want %.5g ± %g", what, got, want, within)
		}
	}
	s := suitOf(&analyse.Result{Facts: semiWinter(60)}, semiPlant(), semiSide(t, semiFile))
	c, m := s.Answer.Computed, s.Answer.Measured
	near("computed W/K", c.WPerK.Value.Value, 294.72, 0.01)
	near("computed load, W", c.LossW.Value.Value, 6779, 1)
	near("plant size ratio", c.GreatestRatio.Value.Value, 3.54, 0.005)
	near("steady below, °C", c.SteadyBelowC.Value.Value, -0.4, 0.05)
	near("measured W/K", m.WPerK.Value.Value, 235, 8)
	near("measured in use, W", m.InUseW.Value.Value, 235*18.8, 150)
	if e := m.WPerK.Value; !(e.Low < 235 && 235 < e.High) {
		t.Errorf("%+v", e)
	}
	// 6 kW are taken at 15.8 − 6000/235 = −9.7 °C: it must cycle in all hours below the balance, 6760 of 8760.
	near("must cycle, h a year", m.Hours.Value.CycleH, 6760, 0)
	near("no heat, h a year", m.Hours.Value.NoHeatH, 2000, 0)
	in := s.Answer.Input
	if !in.Hours.Year || in.DeliveredFrom != "probes" || len(in.Delivered) == 0 || in.Delivered[0].FlowC != 60 || in.NeededBy != "the measured load in use" {
		t.Errorf("%+v", in)
	}
	// A radiator of 10 kW at 50 K that gives 4.42 kW needs a mean excess of 50 · 0.442^(1/1.3) = 26.7 K; with water for 20 K
	// at the room's full 6.78 kW it cools by 13.0 K, so that flow is 20 + 26.7 + 6.5 = 53.2 °C, a little more by the
	// logarithmic mean.
	near("flow needed at design, °C", in.Needed[0].FlowC, 53.4, 0.6)
	if x := s.Answer.Curve.Value; x.Missing != "" || x.ExcessK < 10 {
		t.Errorf("%+v", x)
	}
	var elements, rooms float64
	for _, e := range s.Elements {
		elements += e.LossW
	}
	for _, r := range s.Rooms {
		rooms += r.FabricW + r.VentilationW
	}
	near("elements together, W", elements, rooms, 1e-6)
}

func TestSuitWithoutHouseFile(t *testing.T) {
	s := suitOf(&analyse.Result{Facts: semiWinter(60)}, semiPlant(), nil)
	a := s.Answer
	if a.Computed.WPerK.Known() || !a.Measured.WPerK.Known() || a.Measured.LossW.Known() || !strings.Contains(a.Measured.LossW.Missing, "outside design temperature") {
		t.Errorf("%+v %+v", a.Computed, a.Measured)
	}
	if h := a.Input.Hours; h.Year || math.Abs(h.TotalH()-60*24) > 1e-6 {
		t.Errorf("%+v", h)
	}
	p := semiPlant()
	p.OutsideDesign, p.DesignHeatLoss = analyse.Some(unit.Celsius(-3)), analyse.Some(unit.KW(6.9))
	a = suitOf(&analyse.Result{Facts: semiWinter(5)}, p, nil).Answer
	if got := a.Computed.WPerK.Value.Value; math.Abs(got-300) > 1e-9 || a.Measured.WPerK.Known() || !strings.Contains(a.Measured.WPerK.Missing, "15 more heating days") {
		t.Errorf("%v, %q", got, a.Measured.WPerK.Missing)
	}
	if suitOf(&analyse.Result{Facts: &episode.Facts{}}, semiPlant(), nil) != nil {
		t.Error("a chapter on nothing")
	}
}

// A file of part of a year is told, and its hours are not taken for a year.
func TestSuitPartOfAYear(t *testing.T) {
	s := suitOf(&analyse.Result{Facts: semiWinter(60)}, semiPlant(), semiSide(t, strings.Replace(semiFile, `"18" = 2000`, "", 1)))
	if s.Answer.Input.Hours.Year || len(s.Warnings) == 0 || !strings.Contains(s.Warnings[len(s.Warnings)-1], "add up to 6760") {
		t.Errorf("%+v, %v", s.Answer.Input.Hours.Source, s.Warnings)
	}
}
