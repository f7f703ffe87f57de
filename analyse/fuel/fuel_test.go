package fuel

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, off float64) {
	t.Helper()
	if !(math.Abs(got-want) <= off) {
		t.Errorf("%s: %.6g, want %.6g ± %.2g", what, got, want, off)
	}
}

func blend(t *testing.T) Fuel {
	t.Helper()
	f, err := Mix("80/20", Part{Methane, 0.8}, Part{Hydrogen, 0.2})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Stoichiometry with 3.774 mol of nitrogen for each of oxygen and the saturation line of IAPWS-IF97, region 4, worked out
// apart from this package; humid air has 10 °C and 80 %.
func TestDewPoints(t *testing.T) {
	type row struct{ ratio, co2, o2, dry, humid, c3co2, c3dry, c3humid, h2dry, h2humid, mixdry float64 }
	for _, w := range []row{
		{1.0, 11.7, 0, 59.2, 60.0, 13.7, 54.9, 55.9, 72.7, 73.1, 60.3},
		{1.1, 10.5, 2.1, 57.3, 58.2, 12.4, 53.0, 54.1, 70.9, 71.3, 58.5},
		{1.2, 9.6, 3.8, 55.7, 56.6, 11.3, 51.4, 52.6, 69.2, 69.6, 56.8},
		{1.3, 8.8, 5.3, 54.1, 55.2, 10.3, 49.9, 51.2, 67.6, 68.1, 55.2},
		{1.4, 8.1, 6.5, 52.7, 53.8, 9.5, 48.5, 49.9, 66.2, 66.7, 53.8},
		{1.5, 7.5, 7.5, 51.4, 52.6, 8.9, 47.2, 48.7, 64.8, 65.4, 52.5},
		{2.0, 5.5, 11.1, 46.0, 47.6, 6.6, 41.9, 43.8, 59.2, 60.0, 47.0},
	} {
		dew := func(what string, f Fuel, a Air, want float64) {
			t.Helper()
			got, err := f.DewPointC(w.ratio, a)
			if err != nil {
				t.Fatal(err)
			}
			near(t, what, got, want, 0.051)
		}
		dew("methane, dry air", Methane, Air{}, w.dry)
		dew("methane, humid air", Methane, Winter, w.humid)
		dew("propane, dry air", Propane, Air{}, w.c3dry)
		dew("propane, humid air", Propane, Winter, w.c3humid)
		dew("hydrogen, dry air", Hydrogen, Air{}, w.h2dry)
		dew("hydrogen, humid air", Hydrogen, Winter, w.h2humid)
		dew("80/20, dry air", blend(t), Air{}, w.mixdry)
		g, err := Methane.Burn(w.ratio, Air{})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "CO2, methane", 100*g.CO2Dry(), w.co2, 0.051)
		near(t, "O2, methane", 100*g.O2Dry(), w.o2, 0.051)
		p, _ := Propane.Burn(w.ratio, Winter)
		near(t, "CO2, propane", 100*p.CO2Dry(), w.c3co2, 0.051)
		if back, err := Methane.AirRatioByO2(g.O2Dry()); err != nil || math.Abs(back-w.ratio) > 1e-9 {
			t.Errorf("air ratio by oxygen: %g, want %g (%v)", back, w.ratio, err)
		}
	}
}

// Published spot values: about 55 °C for natural gas in practice, about 59 °C without excess air. A public teaching example
// of 9.15 % CO2 and 4 % O2 divides the water by the dry gas alone: the right share is 15.5 %, dew point 54.9 °C.
func TestPublishedDewPoints(t *testing.T) {
	g := FlueGas{CO2: 9.15, O2: 4, N2: 100 - 9.15 - 4, Water: 18.3, KPa: 101.325}
	near(t, "water share", g.WaterShare(), 0.155, 0.0005)
	got, err := g.DewPointC()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "teaching example", got, 54.9, 0.1)
	at, _ := Methane.DewPointC(1, Air{})
	near(t, "no excess air", at, 59, 0.5)
	at, _ = Methane.DewPointC(1.25, Air{})
	near(t, "as set up", at, 55, 0.5)
	// Heating oil about 47 °C (usual figure of condensing technique, from memory).
	at, _ = HeatingOil.DewPointC(1.25, Winter)
	near(t, "heating oil", at, 47.5, 1.5)
}

// Gross by net, water and latent share by the molecule. Published beside it: net to gross 0.901 for natural gas and 0.921
// for LPG (SAP), about 0.15 l of water for each kWh of gas.
func TestWaterAndLatentHeat(t *testing.T) {
	for _, c := range []struct {
		f                             Fuel
		ratio, gross, net, latent, by float64
	}{
		{Methane, 1.110, 0.146, 0.162, 11.0, 0.901},
		{Propane, 1.086, 0.117, 0.127, 8.6, 0.921},
		{Hydrogen, 1.182, 0.227, 0.268, 18.2, 1 / 1.182},
		{blend(t), 1.115, 0.152, 0.169, 11.5, 1 / 1.115},
	} {
		v, err := c.f.Values()
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.f.Name+" gross by net", v.GrossByNet, c.ratio, 0.00051)
		near(t, c.f.Name+" net by gross", 1/v.GrossByNet, c.by, 0.0006)
		near(t, c.f.Name+" water, gross", v.WaterKgPerKWhGross, c.gross, 0.00051)
		near(t, c.f.Name+" water, net", v.WaterKgPerKWhNet, c.net, 0.00051)
		near(t, c.f.Name+" latent", 100*v.LatentShareOfNet, c.latent, 0.051)
	}
	// Heating oil: net by gross 0.937 (SAP, from memory).
	v, err := HeatingOil.Values()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "oil, net by gross", 1/v.GrossByNet, 0.937, 0.004)
}

func TestGasToEnergy(t *testing.T) {
	got, err := Metered{39.5, BritishBillFactor}.KWh(100)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "kWh of 100 m³ by the formula on British bills", got, 100*1.02264*39.5/3.6, 1e-9)
	near(t, "kWh of 100 m³", got, 1122.1, 0.1)
	// The factor itself: 12.2 °C, 21 mbar at 66 m, air of 1005.4 mbar there (from memory, what the Regulations assume).
	f, err := VolumeFactor(Conditions{12.2, 100.54 + 2.1}, Standard15)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "factor", f, BritishBillFactor, 0.0005)
	// 0 °C against 15 °C: 1.0549 (ISO 13443).
	f, _ = VolumeFactor(Normal0, Standard15)
	near(t, "normal to standard", f, 1.0549, 0.00005)
	// Methane at 15 °C: 37.7 MJ/m³, propane 93.9, hydrogen 12.1 (ISO 6976, from memory; real gas, 2 % more for propane).
	for _, c := range []struct {
		f         Fuel
		want, off float64
	}{{Methane, 37.7, 0.1}, {Propane, 94, 0.3}, {Hydrogen, 12.1, 0.05}} {
		got, err := c.f.GrossMJM3(Standard15)
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.f.Name, got, c.want, c.off)
	}
}

func TestMoreAirLowersTheDewPoint(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		f := rapid.SampledFrom([]Fuel{Methane, Propane, Hydrogen, HeatingOil}).Draw(r, "fuel")
		a := Air{rapid.Float64Range(0, 30).Draw(r, "°C"), rapid.Float64Range(0, 1).Draw(r, "humidity"), rapid.Float64Range(70, 105).Draw(r, "kPa")}
		ratio := rapid.Float64Range(1, 4).Draw(r, "air ratio")
		here, err := f.DewPointC(ratio, a)
		more, err2 := f.DewPointC(ratio+0.1, a)
		if err != nil || err2 != nil {
			r.Fatal(err, err2)
		}
		if !(more < here) {
			r.Errorf("%.3f °C, with more air %.3f", here, more)
		}
		dry, _ := f.DewPointC(ratio, Air{a.TemperatureC, 0, a.KPa})
		if dry > here+1e-9 { // so little water is lost in the last digits
			r.Errorf("%.3f °C with dry air, %.3f with humid", dry, here)
		}
		g, _ := f.Burn(ratio, a)
		if s := g.CO2Dry() + g.O2Dry(); s < 0 || s > 0.2095+1e-3 && f.Carbon == 0 || s > 1 {
			r.Errorf("CO2 and O2 come to %.3f", s)
		}
	})
}

func TestBadValuesAreNamed(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		word string
		err  func() error
	}{
		{"air ratio", func() error { _, err := Methane.DewPointC(0.9, Air{}); return err }},
		{"air ratio", func() error { _, err := Methane.DewPointC(nan, Air{}); return err }},
		{"humidity", func() error { _, err := Methane.DewPointC(1.2, Air{Humidity: 80}); return err }},
		{"humidity", func() error { _, err := Methane.DewPointC(1.2, Air{Humidity: nan}); return err }},
		{"°C", func() error { _, err := Methane.DewPointC(1.2, Air{TemperatureC: 90}); return err }},
		{"kPa", func() error { _, err := Methane.DewPointC(1.2, Air{KPa: 1013}); return err }},
		{"atoms", func() error { _, err := Fuel{Name: "nothing"}.DewPointC(1.2, Air{}); return err }},
		{"atoms", func() error { _, err := Fuel{"odd", nan, 4, 800}.Values(); return err }},
		{"calorific", func() error { _, err := Fuel{"cold", 1, 4, 10}.Values(); return err }},
		{"calorific", func() error { _, err := Fuel{"odd", 1, 4, nan}.Values(); return err }},
		{"water", func() error { _, err := Fuel{"coke", 1, 0, 393.5}.DewPointC(1.2, Air{}); return err }},
		{"share", func() error { _, err := Mix("m", Part{Methane, 80}, Part{Hydrogen, 20}); return err }},
		{"shares", func() error { _, err := Mix("m", Part{Methane, 0.8}); return err }},
		{"0.04", func() error { _, err := Methane.AirRatioByO2(4); return err }},
		{"kWh/m³", func() error { _, err := Metered{10.97, 1}.KWh(1); return err }},
		{"factor", func() error { _, err := Metered{39.5, 0}.KWh(1); return err }},
		{"volume", func() error { _, err := Metered{39.5, 1}.KWh(-1); return err }},
		{"volume", func() error { _, err := Metered{39.5, 1}.KWh(math.Inf(1)); return err }},
		{"absolute", func() error { _, err := VolumeFactor(Conditions{12, 2.1}, Standard15); return err }},
		{"temperature", func() error { _, err := VolumeFactor(Conditions{285, 102}, Standard15); return err }},
		{"reference", func() error { _, err := VolumeFactor(Conditions{12, 102}, Conditions{}); return err }},
	} {
		if err := c.err(); err == nil || !strings.Contains(err.Error(), c.word) {
			t.Errorf("want an error with %q, got %v", c.word, err)
		}
	}
}
