package emitter

import (
	"math"
	"testing"

	"tundish/analyse/water"
)

func near(t *testing.T, what string, got, want, off float64) {
	t.Helper()
	if !(math.Abs(got-want) <= off) {
		t.Errorf("%s: %.6g, want %.6g ± %.2g", what, got, want, off)
	}
}

func must[T any](t *testing.T) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// Output by excess after EN 442-2, Φ = K·ΔTⁿ with 50 K as 1; the row of n = 1.3 is that of a published table of the trade
// (0.515 at 30 K, 0.209 at 15 K).
func TestFactorsOfEN442(t *testing.T) {
	excess := []float64{60, 55, 50, 45, 40, 35, 30, 25, 20, 15, 10}
	for n, row := range map[float64][]float64{
		1.1:  {1.222, 1.111, 1, 0.891, 0.782, 0.675, 0.570, 0.467, 0.365, 0.266, 0.170},
		1.2:  {1.245, 1.121, 1, 0.881, 0.765, 0.652, 0.542, 0.435, 0.333, 0.236, 0.145},
		1.3:  {1.267, 1.132, 1, 0.872, 0.748, 0.629, 0.515, 0.406, 0.304, 0.209, 0.123},
		1.35: {1.279, 1.137, 1, 0.867, 0.740, 0.618, 0.502, 0.392, 0.290, 0.197, 0.114},
		1.4:  {1.291, 1.143, 1, 0.863, 0.732, 0.607, 0.489, 0.379, 0.277, 0.185, 0.105},
	} {
		for i, k := range excess {
			got := must[float64](t)(Radiator{RatedW: 1000, Exponent: n}.OutputW(Condition{20 + k + 2, 20 + k - 2, 20}, Arithmetic))
			near(t, "factor", got/1000, row[i], 0.00051)
		}
	}
}

// A catalogue that rates at 60 K tells 1.267 times what EN 442 does (n = 1.3).
func TestCatalogueOf60K(t *testing.T) {
	for _, m := range []Mean{Arithmetic, Logarithmic} {
		old := must[float64](t)(Radiator{RatedW: 1267, RatedAt: RatedAtExcess(60)}.OutputW(EN442, m))
		near(t, "W at 75/65/20", old, 1000, 8) // 59.44 K by 49.83 K where the mean is logarithmic: 0.7 %
		at := must[float64](t)(Radiator{RatedW: 1267, RatedAt: Catalogue60K}.OutputW(Catalogue60K, m))
		near(t, "W at its own condition", at, 1267, 1e-9)
	}
	if RatedAtExcess(50) != EN442 || RatedAtExcess(30) != (Condition{55, 45, 20}) {
		t.Error(RatedAtExcess(50), RatedAtExcess(30))
	}
}

// Logarithmic means worked out by hand, (tf − tr)/ln((tf − ti)/(tr − ti)); at 75/65/20 it is 49.83 K.
func TestMeans(t *testing.T) {
	near(t, "75/65/20", must[float64](t)(EN442.ExcessK(Logarithmic)), 49.83, 0.0051)
	one := Radiator{RatedW: 1, Exponent: 1.3}
	for _, c := range []struct {
		at                                    Condition
		arith, log, byArith, byLog, overstate float64
		rule                                  Mean
	}{
		{Condition{80, 60, 20}, 50, 49.33, 1.000, 0.987, 1.3, Logarithmic},
		{Condition{70, 50, 20}, 40, 39.15, 0.748, 0.731, 2.4, Logarithmic},
		{Condition{65, 45, 20}, 35, 34.03, 0.629, 0.609, 3.3, Logarithmic},
		{Condition{60, 40, 20}, 30, 28.85, 0.515, 0.491, 4.7, Logarithmic},
		{Condition{55, 45, 20}, 30, 29.72, 0.515, 0.511, 0.8, Arithmetic},
		{Condition{50, 30, 20}, 20, 18.20, 0.304, 0.270, 12.5, Logarithmic},
		{Condition{75, 35, 20}, 35, 30.79, 0.629, 0.535, 17.6, Logarithmic},
		{Condition{45, 40, 20}, 22.5, 22.41, 0.354, 0.354, 0.1, Arithmetic},
	} {
		name := c.at.String()
		near(t, name+" arithmetic", must[float64](t)(c.at.ExcessK(Arithmetic)), c.arith, 1e-9)
		near(t, name+" logarithmic", must[float64](t)(c.at.ExcessK(Logarithmic)), c.log, 0.0051)
		a, l := must[float64](t)(one.OutputW(c.at, Arithmetic)), must[float64](t)(one.OutputW(c.at, Logarithmic))
		near(t, name+" factor, arithmetic", a, c.byArith, 0.00051)
		near(t, name+" factor, logarithmic", l, c.byLog, 0.00051)
		near(t, name+" overstatement", 100*(a/l-1), c.overstate, 0.051)
		if got, want := must[float64](t)(one.OutputW(c.at, ByRule)), map[Mean]float64{Arithmetic: a, Logarithmic: l}[c.rule]; got != want {
			t.Errorf("%s by the rule: %g, want %g", name, got, want)
		}
	}
}

// EN 1264-2: 8.92·(θF − θi)^1.1 is 100 W/m² at 9 K and 175 W/m² at 15 K (from memory).
func TestFloors(t *testing.T) {
	near(t, "occupied floor", surfaceHeat(9), 100, 0.5)
	near(t, "edge zone", surfaceHeat(15), 175, 0.6)
	rated := Underfloor{AreaM2: 20, RatedW: 1000, RatedExcessK: 20}
	near(t, "rated, at its excess", must[float64](t)(rated.OutputW(Condition{42.5, 37.5, 20}, Arithmetic)), 1000, 1e-9)
	near(t, "half the excess, 0.467 to 0.365 by n 1.1", must[float64](t)(rated.OutputW(Condition{32.5, 27.5, 20}, Arithmetic)), 1000*math.Pow(0.5, 1.1), 1e-9)
	byKH := Underfloor{AreaM2: 20, KH: 5, Exponent: 1}
	near(t, "K_H 5, 12 K", must[float64](t)(byKH.OutputW(Condition{34.5, 29.5, 20}, Arithmetic)), 5*20*12, 1e-9)
	near(t, "no more than the surface gives", must[float64](t)(byKH.OutputW(Condition{60, 50, 20}, Logarithmic)), 20*surfaceHeat(9), 1e-9)
}

// A room of 5.0 × 4.0 × 2.5 m at 21 °C that needs 2,054 W: at 70/50 (39 K) a rating of 2054/(39/50)^1.3 = 2,837 W, at 55/45
// (29 K) one of 4,170 W; 89.9 l/h at 20 K, 179 l/h at 10 K (1.1424 and 1.1471 kWh/(m³·K), IAPWS-IF97).
func TestRoomWorkedByHand(t *testing.T) {
	const need = 2054
	for _, c := range []struct{ flow, ret, rating, lph float64 }{{70, 50, 2837, 89.9}, {55, 45, 4170, 179}} {
		at := Condition{c.flow, c.ret, 21}
		rating := must[float64](t)(RatingForW(need, at, 1.3, Arithmetic))
		near(t, "rating", rating, c.rating, 0.51)
		s := System{OutsideC: -3, Rooms: []Room{{Name: "Living", InsideC: 21, NeedW: need, Radiators: []Radiator{{RatedW: rating}}}}}
		out := must[[]RoomOutput](t)(s.Outputs(c.flow, c.ret, Arithmetic))
		near(t, "surplus", out[0].SurplusW, 0, 1e-9)
		near(t, "l/h", out[0].WaterLPH, c.lph, 0.51)
		if !out[0].Reaches() {
			t.Errorf("%+v", out[0])
		}
		low := must[Lowest](t)(s.LowestFlow(1, Circulation{SpreadK: c.flow - c.ret}, Arithmetic))
		near(t, "lowest flow", low.FlowC, c.flow, 1e-6)
		near(t, "its return", low.ReturnC, c.ret, 1e-6)
	}
	at20 := must[[]RoomOutput](t)(System{Rooms: []Room{{Name: "Living", InsideC: 21, NeedW: need}}}.Outputs(70, 50, ByRule))
	near(t, "l/h at 20 K", at20[0].WaterLPH, 2054/(1.1424*20), 0.05)
}

// Mean water 20 + ΔT·x^(1/1.3) and spread by x, x = (20 − te)/23, worked out by hand.
func TestWeatherCurveTable(t *testing.T) {
	outside := []float64{-3, 0, 5, 10, 15}
	share := []float64{1.000, 0.870, 0.652, 0.435, 0.217}
	for _, c := range []struct {
		flow, ret float64
		want      [][2]float64
	}{
		{80, 60, [][2]float64{{80.0, 60.0}, {73.6, 56.2}, {62.5, 49.5}, {50.7, 42.0}, {37.6, 33.3}}},
		{70, 50, [][2]float64{{70.0, 50.0}, {64.6, 47.2}, {55.3, 42.3}, {45.4, 36.7}, {34.5, 30.2}}},
		{55, 45, [][2]float64{{55.0, 45.0}, {51.3, 42.6}, {44.9, 38.3}, {38.0, 33.6}, {30.4, 28.2}}},
	} {
		design := Condition{c.flow, c.ret, 20}
		need := must[float64](t)(Radiator{RatedW: 1500}.OutputW(design, Arithmetic))
		s := System{OutsideC: -3, Rooms: []Room{{Name: "all", InsideC: 20, NeedW: need, Radiators: []Radiator{{RatedW: 1500}}}}}
		curve := must[[]CurvePoint](t)(s.WeatherCurve(Load{NeutralC: 20}, Circulation{SpreadK: c.flow - c.ret}, Arithmetic, outside))
		for i, p := range curve {
			near(t, "share", p.Share, share[i], 0.00051)
			near(t, "flow", p.FlowC, c.want[i][0], 0.051)
			near(t, "return", p.ReturnC, c.want[i][1], 0.051)
			flow, ret, err := AtLoad(design, 0, p.Share)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "flow, closed form", flow, p.FlowC, 1e-6)
			near(t, "return, closed form", ret, p.ReturnC, 1e-6)
		}
	}
}

// Copper tubes to EN 1057: contents, velocities, and what 300 Pa/m lets through by Darcy, Weisbach, Swamee and Jain with
// water of 60 °C, worked out apart from this package.
func TestPipeTable(t *testing.T) {
	var w water.Liquid
	for _, c := range []struct {
		outside, bore, lPerM, m3hAt09 float64
		at09                          [3]float64 // kW at 11, 20, 5 K
		m3hAt300, msAt300             float64
		at300                         [3]float64 // kW at 20, 11, 5 K
	}{
		{8, 6.8, 0.036, 0.118, [3]float64{1.5, 2.7, 0.7}, 0.043, 0.33, [3]float64{1.0, 0.5, 0.2}},
		{10, 8.8, 0.061, 0.197, [3]float64{2.5, 4.5, 1.1}, 0.087, 0.40, [3]float64{2.0, 1.1, 0.5}},
		{15, 13.6, 0.145, 0.471, [3]float64{5.9, 10.8, 2.7}, 0.286, 0.55, [3]float64{6.5, 3.6, 1.6}},
		{22, 20.2, 0.320, 1.04, [3]float64{13.0, 23.7, 5.9}, 0.837, 0.73, [3]float64{19.1, 10.5, 4.8}},
		{28, 26.2, 0.539, 1.75, [3]float64{21.9, 39.9, 10.0}, 1.69, 0.87, [3]float64{38.5, 21.2, 9.6}},
		{35, 32.6, 0.835, 2.70, [3]float64{34.0, 61.8, 15.4}, 3.03, 1.01, [3]float64{69, 38, 17}},
	} {
		bore := must[float64](t)(CopperBoreMM(c.outside))
		near(t, "bore", bore, c.bore, 0)
		near(t, "l/m", math.Pi/4*bore*bore/1000, c.lPerM, 0.00051)
		p := Pipe{OutsideMM: c.outside}
		by09 := must[float64](t)(p.CarriesLPH(0.9, 0, 60, w))
		near(t, "m³/h at 0.9 m/s", by09/1000, c.m3hAt09, 0.0051*max(1, c.m3hAt09))
		for i, k := range []float64{11, 20, 5} {
			near(t, "kW at 0.9 m/s", must[float64](t)(w.PowerKW(by09/1000, 60+k/2, 60-k/2, water.NotKnown)), c.at09[i], 0.051)
		}
		by300 := must[float64](t)(p.CarriesLPH(0, 300, 60, w))
		near(t, "m³/h at 300 Pa/m", by300/1000, c.m3hAt300, 0.0051*max(0.2, c.m3hAt300))
		x := must[PipeFlow](t)(p.Flow(by300, 60, w))
		near(t, "m/s at 300 Pa/m", x.VelocityMS, c.msAt300, 0.0051)
		near(t, "Pa/m", x.PaPerM, 300, 1e-6)
		for i, k := range []float64{20, 11, 5} {
			off := 0.051
			if c.outside == 35 {
				off = 0.51
			}
			near(t, "kW at 300 Pa/m", must[float64](t)(w.PowerKW(by300/1000, 60+k/2, 60-k/2, water.NotKnown)), c.at300[i], off)
		}
		both := must[float64](t)(p.CarriesLPH(0.9, 300, 60, w))
		near(t, "both ceilings", both, min(by09, by300), 1e-6)
	}
}

// Friction by Colebrook and White, solved by repetition: what Swamee and Jain come near to, 1 % from Reynolds 5,000 up
// (their paper, 1976).
func TestFrictionByColebrook(t *testing.T) {
	for _, rough := range []float64{1e-6, 5e-5, 1e-4, 1e-3, 1e-2} {
		for re := 5e3; re < 1e7; re *= 1.7 {
			f := 0.02
			for range 100 {
				x := -2 * math.Log10(rough/3.7+2.51/(re*math.Sqrt(f)))
				f = 1 / (x * x)
			}
			if got := friction(re, rough); math.Abs(got/f-1) > 0.035 || re > 2e4 && rough >= 5e-5 && math.Abs(got/f-1) > 0.02 {
				t.Errorf("Re %.0f, roughness %g: %.5f, Colebrook has %.5f", re, rough, got, f)
			}
		}
	}
	// Laminar: 64/Re, here 10 l/h in 13.6 mm.
	x := must[PipeFlow](t)(Pipe{OutsideMM: 15}.Flow(10, 60, water.Liquid{}))
	if x.Reynolds > laminarTo {
		t.Fatalf("%+v", x)
	}
	near(t, "laminar", x.PaPerM, 64/x.Reynolds/0.0136*983.21*x.VelocityMS*x.VelocityMS/2, 1e-6*x.PaPerM)
	near(t, "where laminar flow ends", friction(laminarTo, 1e-4), 64/laminarTo, 1e-12)
}
