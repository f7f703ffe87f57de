package episode

import (
	"math"
	"testing"
	"time"

	"tundish/decode"
)

// heatDays feeds readings every minute and gives the days; at nil values are left out.
func heatDays(cfg Config, length time.Duration, at func(time.Duration) map[decode.Point]float64) []Day {
	b := NewBuilder(cfg)
	b.Record("boiler", 1, start, "")
	order := []decode.Point{decode.Outside, decode.Flame, decode.HotWaterActive, decode.HeatDemand, decode.Modulation, decode.HeatEnergy, decode.HeatPower, decode.GasVolume, decode.ElectricPower}
	for d := time.Duration(0); d <= length; d += time.Minute {
		values := at(d)
		for _, p := range order {
			if v, ok := values[p]; ok {
				feed(b, d, p, v)
			}
		}
	}
	return b.Finish(start, start.Add(length)).Days
}

func about(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %v, want %v ± %v", what, got, want, within)
	}
}

// midnight is how far the first midnight is from the start of these records.
func midnight() time.Duration {
	return start.Truncate(24 * time.Hour).Add(24 * time.Hour).Sub(start)
}

// Three hours of heating at 6 kW and one of hot water at 20 kW, out of every four: each way of knowing the heat must
// give the same energy, parted alike.
func TestHeatIsPartedByUse(t *testing.T) {
	var energy, gas float64
	first := midnight()
	days := heatDays(Config{HotWaterMade: true}, first+24*time.Hour, func(d time.Duration) map[decode.Point]float64 {
		hot := int(d.Hours())%4 == 3
		kw, mod := 6.0, 20.0
		if hot {
			kw, mod = 20, 90
		}
		v := map[decode.Point]float64{decode.Outside: 4, decode.Flame: 1, decode.HotWaterActive: bit(hot), decode.Modulation: mod,
			decode.HeatEnergy: energy, decode.HeatPower: kw, decode.GasVolume: gas}
		energy += kw / 60
		gas += kw / 60 / 10
		return v
	})
	d := days[len(days)-2].Heat
	if len(days) < 2 {
		t.Fatal("no whole day")
	}
	about(t, "outside", d.Outside, 4, 1e-9)
	about(t, "outside known for, h", d.OutsideFor.Hours(), 24, 0.05)
	for name, s := range map[string]HeatSum{"counter": d.Energy, "power": d.Power} {
		about(t, name+": heating, kWh", s.Heating, 18*6, 2)
		about(t, name+": hot water, kWh", s.HotWater, 6*20, 2)
		about(t, name+": not parted, kWh", s.Undivided, 0, 1e-9)
		about(t, name+": known for, h", s.For.Hours(), 24, 0.05)
	}
	about(t, "gas for heating, m³", d.Gas.Heating, 18*0.6, 0.2)
	about(t, "watched, h", d.Burner.Watched.Hours(), 24, 0.05)
	about(t, "lit for heating, h", d.Burner.Heating.Lit.Hours(), 18, 0.15)
	about(t, "modulation over heating, %", d.Burner.Heating.ModS/d.Burner.Heating.ModFor.Seconds(), 20, 1)
	about(t, "modulation over hot water, %", d.Burner.HotWater.ModS/d.Burner.HotWater.ModFor.Seconds(), 90, 1)
}

// A counter that is reset, jumps to another meter's reading, or wraps makes no heat; the time of that step is not known.
func TestCounterResetMakesNoHeat(t *testing.T) {
	first := midnight()
	days := heatDays(Config{}, first+24*time.Hour, func(d time.Duration) map[decode.Point]float64 {
		h := (d - first).Hours()
		v := 500 + 5*h
		switch {
		case h >= 16:
			v = 90000 + 5*h
		case h >= 8:
			v = 5 * (h - 8)
		}
		return map[decode.Point]float64{decode.HeatEnergy: v, decode.Flame: 1}
	})
	d := days[len(days)-2].Heat
	about(t, "heat, kWh", d.Energy.Heating, 5*24, 0.5)
	about(t, "known for, h", d.Energy.For.Hours(), 24-2.0/60, 0.03)
}

// What nobody saw is not known: an hour of silence is not watched, and a burner of unknown use is not parted.
func TestUnseenHeatIsNotMadeUp(t *testing.T) {
	first := midnight()
	days := heatDays(Config{HotWaterMade: true}, first+24*time.Hour, func(d time.Duration) map[decode.Point]float64 {
		if h := (d - first).Hours(); h >= 10 && h < 14 {
			return nil
		}
		return map[decode.Point]float64{decode.Outside: 1, decode.Flame: 1, decode.Modulation: 50, decode.HeatPower: 5}
	})
	d := days[len(days)-2].Heat
	about(t, "watched, h", d.Burner.Watched.Hours(), 20, 0.1)
	about(t, "power known for, h", d.Power.For.Hours(), 20, 0.1)
	about(t, "outside known for, h", d.OutsideFor.Hours(), 20, 0.1)
	about(t, "parted, kWh", d.Power.Heating+d.Power.HotWater, 0, 0)
	about(t, "not parted, kWh", d.Power.Undivided, 100, 1)
	about(t, "lit, of unknown use, h", d.Burner.Undivided.Lit.Hours(), 20, 0.1)
}

// A source that tells changes only: 8 kW for a quarter of every hour. The value before a change holds until then.
func TestPowerHoldsUntilItChanges(t *testing.T) {
	first := midnight()
	days := heatDays(Config{}, first+24*time.Hour, func(d time.Duration) map[decode.Point]float64 {
		switch int(d.Minutes()) % 60 {
		case 0:
			return map[decode.Point]float64{decode.HeatPower: 8}
		case 15:
			return map[decode.Point]float64{decode.HeatPower: 0}
		}
		return nil
	})
	d := days[len(days)-2].Heat
	about(t, "heat, kWh", d.Power.Heating+d.Power.Undivided, 24*8*0.25, 0.01)
}
