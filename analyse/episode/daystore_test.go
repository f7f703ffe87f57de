package episode

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tundish/decode"
)

// A day of heating at a return of 50 and 60 °C by turns of a quarter of an hour, and hot water at 70 °C: each lies in its
// bin, with its modulation as weight, and with the time that it burnt.
func TestHeatByReturn(t *testing.T) {
	first := midnight()
	b := NewBuilder(Config{HotWaterMade: true})
	b.Record("boiler", 1, start, "")
	for d := time.Duration(0); d <= first+24*time.Hour; d += 30 * time.Second {
		turn := int(d/(15*time.Minute)) % 4
		ret := []float64{50.5, 60.5, 70.5, 30.5}[turn]
		mod := []float64{20, 80, 100, 0}[turn]
		for _, x := range []struct {
			p decode.Point
			v float64
		}{{decode.Flame, bit(turn < 3)}, {decode.HotWaterActive, bit(turn == 2)}, {decode.Modulation, mod}, {decode.Flow, ret + 12}, {decode.Return, ret}} {
			feed(b, d, x.p, x.v)
		}
	}
	days := b.Finish(start, start.Add(first+24*time.Hour)).Days
	d := days[len(days)-2].Return
	if len(d.Sources) != 1 || d.Sources[0].Source != "boiler" {
		t.Fatalf("%+v", d)
	}
	s := d.Sources[0]
	at := func(values []float32, c float64) float64 { return float64(values[int(c-ReturnBinLow)+1]) }
	about(t, "heating at 50 °C, h", at(s.Heating.For, 50)/3600, 6, 0.5)
	about(t, "heating at 60 °C, h", at(s.Heating.For, 60)/3600, 6, 0.5)
	about(t, "heating in all, h", s.Heating.Seconds()/3600, 12, 0.2)
	about(t, "hot water, h", s.HotWater.Seconds()/3600, 6, 0.3)
	about(t, "unknown use, h", s.Undivided.Seconds()/3600, 0, 0)
	if s.Heating.By != HeatByModulation {
		t.Fatalf("weighed by %q", s.Heating.By)
	}
	about(t, "weight at 60 °C by that at 50 °C", at(s.Heating.Weight, 60)/at(s.Heating.Weight, 50), 4, 0.5)
	share, ok := Above(s.Heating.For, 55)
	if !ok {
		t.Fatal("no heat")
	}
	about(t, "share above 55 °C", share, 0.5, 0.03)
	about(t, "mean flow − return, K", float64(s.Heating.SpreadS/s.Heating.SpreadFor), 12, 0.2)
}

// What lies above a temperature never grows with it, is everything far below and nothing far above.
func TestAboveIsAShare(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		values := make([]float32, ReturnBins)
		for i := range values {
			values[i] = rapid.Float32Range(0, 1000).Draw(r, "s")
		}
		values[0], values[1] = 0, values[1]+1
		was := 1.0
		for c := ReturnBinLow - 3; c < ReturnBinLow+ReturnBins; c += 0.25 {
			got, ok := Above(values, c)
			if !ok || got < -1e-9 || got > was+1e-9 {
				r.Fatalf("%.2f °C: %v after %v", c, got, was)
			}
			was = got
		}
		if all, _ := Above(values, ReturnBinLow-1); math.Abs(all-1) > 1e-9 {
			r.Errorf("%v above the lowest", all)
		}
	})
	if _, ok := Above(nil, 50); ok {
		t.Error("a share of nothing")
	}
}

// An hour without the return is not made up: its burning is unseen.
func TestUnseenReturnIsNotMadeUp(t *testing.T) {
	first := midnight()
	b := NewBuilder(Config{})
	b.Record("boiler", 1, start, "")
	for d := time.Duration(0); d <= first+24*time.Hour; d += time.Minute {
		feed(b, d, decode.Flame, 1)
		if h := (d - first).Hours(); h < 10 || h >= 11 {
			feed(b, d, decode.Return, 50)
		}
	}
	days := b.Finish(start, start.Add(first+24*time.Hour)).Days
	s := days[len(days)-2].Return.Sources[0]
	about(t, "unseen, h", float64(s.Heating.Unseen)/3600, 1, 0.05)
	about(t, "seen, h", s.Heating.Seconds()/3600, 23, 0.05)
}

// storeDay feeds a store's temperature every step and gives the last whole day.
func storeDays(length, step time.Duration, at func(h float64) (float64, bool)) []Day {
	b := NewBuilder(Config{HotWaterMade: true, Draws: Reheat})
	b.Record("boiler", 1, start, "")
	first := midnight()
	for d := time.Duration(0); d <= first+length; d += step {
		feed(b, d, decode.Flame, 0)
		if v, ok := at((d - first).Hours()); ok {
			feed(b, d, decode.Cylinder, v)
		}
	}
	return b.Finish(start, start.Add(first+length)).Days
}

func TestStoreOfADay(t *testing.T) {
	days := storeDays(24*time.Hour, time.Minute, func(h float64) (float64, bool) {
		switch {
		case h >= 3 && h < 7:
			return 0, false
		case h >= 8 && h < 9:
			return 40 + 20*(h-8), true // 20 K in an hour
		case h >= 9:
			return max(40, 60-2*(h-9)), true
		}
		return 40, true
	})
	s := days[len(days)-2].Cylinder.Sources[0]
	about(t, "hottest", float64(s.Hottest), 60, 0.5)
	about(t, "coolest", float64(s.Coolest), 40, 0.1)
	about(t, "seen, h", s.Seen.Hours(), 20, 0.05)
	about(t, "fastest, K/min", float64(s.Fastest), 20.0/60, 0.05)
	if len(s.Unseen) != 1 || math.Abs(s.Unseen[0].Duration().Hours()-4) > 0.05 {
		t.Errorf("unseen %v", s.Unseen)
	}
	if len(s.Reheats) != 1 {
		t.Fatalf("reheats %+v", s.Reheats)
	}
	about(t, "reheat from", float64(s.Reheats[0].First), 40, 0.5)
	about(t, "reheat to", float64(s.Reheats[0].Last), 60, 0.5)
	about(t, "reheat, h", s.Reheats[0].Duration().Hours(), 1, 0.1)
}

// One reading that stands alone among others (a jump) is no hot store; a value that no water has is passed over.
func TestOneReadingIsNoHotStore(t *testing.T) {
	for name, odd := range map[string]float64{"a jump": 75, "an open wire": 120, "a short": -40} {
		n := 0
		days := storeDays(24*time.Hour, time.Minute, func(float64) (float64, bool) {
			if n++; n%300 == 0 {
				return odd, true
			}
			return 48, true
		})
		s := days[len(days)-2].Cylinder.Sources[0]
		if s.Hottest != 48 {
			t.Errorf("%s: hottest %.1f", name, s.Hottest)
		}
	}
}
