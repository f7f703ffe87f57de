package building

import "testing"

func u(name string, area, value float64) Element {
	return Element{Name: name, AreaM2: &area, Build: Build{UWM2K: &value}}
}

func compute(t *testing.T, h *House) *Result {
	t.Helper()
	r, err := Compute(h)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// MacKay, Sustainable Energy – Without the Hot Air (2009), appendix E: a semi of about 1940 before improvements, the party
// wall taken as free of loss.
func TestMacKay(t *testing.T) {
	h := &House{OutsideC: new(-1.0), AirWhM3K: new(1.0 / 3)}
	fabric := []struct{ area, u, wk float64 }{
		{48, 0.6, 28.8}, {1.6, 3, 4.8}, {50, 0.8, 40}, {24.1, 0.6, 14.46}, {50, 1, 50}, {2, 3, 6}, {7.35, 5, 36.75}, {17.8, 2.9, 51.62},
	}
	air := []struct{ v, n, wk float64 }{{80, 0.5, 13.3}, {36, 2, 24}, {27, 3, 27}, {77, 1, 25.7}}
	for i, g := range []string{"bedrooms", "kitchen", "hall", "other"} {
		h.Rooms = append(h.Rooms, Room{Name: g, InsideC: new(19.0), VolumeM3: &air[i].v, AirChangesPerH: &air[i].n})
	}
	for _, f := range fabric {
		h.Rooms[3].Elements = append(h.Rooms[3].Elements, u("fabric", f.area, f.u))
	}
	r := compute(t, h)
	for i, f := range fabric {
		near(t, "element, W/K", r.Rooms[3].Elements[i].LossW/20, f.wk, 0.005)
	}
	for i, a := range air {
		near(t, "air, W/K", r.Rooms[i].VentilationW/20, a.wk, 0.05)
	}
	near(t, "fabric, W/K (published 232.4)", r.FabricW/20, 232.4, 0.05)
	near(t, "ventilation, W/K (published 90.0)", r.VentilationW/20, 90.0, 0.05)
	near(t, "W/K (published 322)", r.WPerK, 322, 0.5)
	near(t, "kWh a day and K (published 7.7)", 24*r.WPerK/1000, 7.7, 0.05)
	near(t, "heat loss parameter (published 3.7)", r.WPerK/88, 3.7, 0.05)
	near(t, "6 h a day at 20 K (published 39 kWh)", r.TotalW*6/1000, 39, 0.5)
	near(t, "24 h at 20 K (published 155 kWh)", r.TotalW*24/1000, 155, 0.5)
	near(t, "2,866 degree-days (published 61 kWh a day; unrounded 60.8)", AnnualHeatKWh(r.WPerK, 2866, 1)/365, 61, 0.5)
	near(t, "design load at 20 K", r.TotalW, 6450, 5)
}

// A public homeowner guide to sizing by room (calculated again): 3.3 × 3.0 × 2.3 m, heated room above, 22 K. The guide does
// not take the glass off the wall.
func TestGuideRoom(t *testing.T) {
	room := func(wall Element) *House {
		return &House{OutsideC: new(-1.0), Rooms: []Room{{Name: "room", InsideC: new(21.0), LengthM: new(3.3), WidthM: new(3.0),
			HeightM: new(2.3), AirChangesPerH: new(2.0), Elements: []Element{wall, u("floor", 9.9, 1.0)}}}}
	}
	glass := u("glass", 6, 2.9)
	gross := u("outside wall", 13.8, 1.5)
	h := room(gross)
	h.Rooms[0].Elements = append(h.Rooms[0].Elements, glass)
	r := compute(t, h)
	near(t, "volume", r.Rooms[0].VolumeM3, 22.77, 0.005)
	near(t, "air, W/K", r.VentilationW/22, 15.03, 0.005)
	for i, wk := range []float64{20.70, 9.90, 17.40} {
		near(t, "element, W/K", r.Rooms[0].Elements[i].LossW/22, wk, 0.005)
	}
	near(t, "W/K", r.WPerK, 63.03, 0.005)
	near(t, "published total", r.TotalW, 1387, 0.5)

	netted := gross
	netted.Openings = []Element{glass}
	r = compute(t, room(netted))
	near(t, "net wall", r.Rooms[0].Elements[0].AreaM2, 7.8, 1e-9)
	near(t, "net W/K", r.WPerK, 54.03, 0.005)
	near(t, "net total", r.TotalW, 1189, 0.5)
}

// A computed semi: 90 m² on two floors, footprint 6.0 × 7.5 m, storey 2.5 m, one party wall. All values calculated by EN ISO
// 6946, EN ISO 13370 and EN 12831 as in the comments.
func TestSemi(t *testing.T) {
	house := func(outside float64) *House {
		wall := Element{Name: "walls", AreaM2: new(19.5 * 5.0), Build: Build{UWM2K: new(1.45), Surface: Wall},
			Openings: []Element{u("windows", 16.0, 2.8), u("doors", 3.8, 3.0)}}
		return &House{OutsideC: &outside, BridgeSurchargeWM2K: new(0.10), Reheat: &Reheat{Hours: 1, DropK: 1},
			Rooms: []Room{{Name: "house", InsideC: new(20.0), VolumeM3: new(225.0), FloorAreaM2: new(90.0), AirChangesPerH: new(0.8),
				Elements: []Element{wall, u("roof", 45, 0.42), u("floor", 45, 0.64)}}}}
	}
	r := compute(t, house(-3))
	e := r.Rooms[0].Elements
	near(t, "net wall", e[0].AreaM2, 77.7, 1e-9)
	for i, wk := range []float64{112.67, 44.80, 11.40, 18.90, 28.80} {
		near(t, e[i].Name+", W/K", (e[i].LossW-e[i].BridgesW)/23, wk, 0.006)
	}
	near(t, "fabric, W/K", (r.FabricW-r.BridgesW)/23, 216.57, 0.006)
	near(t, "bridges on 187.5 m², W/K", r.BridgesW/23, 18.75, 0.005)
	near(t, "ventilation, W/K", r.VentilationW/23, 59.40, 0.005)
	near(t, "W/K", r.WPerK, 294.72, 0.01)
	near(t, "heat loss parameter", r.WPerK/90, 3.27, 0.005)
	near(t, "design load", r.TotalW, 6779, 1)
	near(t, "at −1.8 °C", compute(t, house(-1.8)).TotalW, 6425, 1)
	near(t, "at −5 °C", compute(t, house(-5)).TotalW, 7368, 1)
	near(t, "reheat", r.ReheatW, 990, 1e-9)
	near(t, "with reheat", r.TotalW+r.ReheatW, 7769, 1)
}

// The living room of the same house, 5.0 × 4.0 × 2.5 m, two outside walls, 21 °C beside 18 °C.
func TestSemiRoom(t *testing.T) {
	at18 := func(e Element) Element { e.OtherSideC = new(18.0); return e }
	wall := u("outside wall", 22.5, 1.45)
	wall.Openings = []Element{u("window", 2.8, 2.8)}
	r := compute(t, &House{OutsideC: new(-3.0), BridgeSurchargeWM2K: new(0.10), Rooms: []Room{{Name: "living", InsideC: new(21.0),
		LengthM: new(5.0), WidthM: new(4.0), HeightM: new(2.5), AirChangesPerH: new(1.5), Elements: []Element{wall, u("floor", 20, 0.64),
			at18(u("partition", 10.9, 2.0)), at18(u("door", 1.6, 2.0)), at18(u("ceiling", 20, 1.7))}}}})
	e := r.Rooms[0].Elements
	for i, w := range []float64{685.6, 188.2, 307.2, 65.4, 9.6, 102.0} {
		near(t, e[i].Name, e[i].LossW-e[i].BridgesW, w, 0.051)
	}
	near(t, "bridges on 42.5 m²", r.BridgesW, 102.0, 0.05)
	near(t, "ventilation", r.VentilationW, 594.0, 0.05)
	near(t, "total", r.TotalW, 2054, 0.5)
	// To outside only: (19.7·1.45 + 2.8·2.8 + 20·0.64 + 42.5·0.10) + 0.33·1.5·50.
	near(t, "W/K", r.WPerK, 28.565+7.84+12.8+4.25+24.75, 1e-9)
}

// The semi by layers and constructions in place of told U-values: brick/brick, loft with 100 mm, slab of 45 m².
func TestSemiByLayers(t *testing.T) {
	r := compute(t, &House{OutsideC: new(-3.0), Rooms: []Room{{Name: "house", InsideC: new(20.0), VolumeM3: new(225.0), AirChangesPerH: new(0.8),
		Elements: []Element{
			{Name: "walls", AreaM2: new(77.7), Construction: "cavity-unfilled-brick"},
			{Name: "roof", AreaM2: new(45.0), Construction: "loft-100"},
			{Name: "floor", AreaM2: new(45.0), Build: Build{Ground: &Ground{AreaM2: 45, PerimeterM: 19.5, WallM: 0.3, SoilWMK: 1.5}}},
		}}}})
	e := r.Rooms[0].Elements
	near(t, "walls", e[0].UWM2K, 1/0.6890, 0.001)
	near(t, "roof", e[1].UWM2K, 2/(2.395+2.332), 0.001)
	near(t, "floor", e[2].UWM2K, 0.64, 0.005)
}
