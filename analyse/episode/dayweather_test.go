package episode

import (
	"testing"
	"time"

	"tundish/decode"
)

// A day that is 2 °C for its first half and 8 °C for its second, with the burner lit in the first quarter of each hour:
// flow 60 °C when it is cold, 45 °C when it is mild; a reheat of the store at 75 °C in each sixth hour is not in it.
func TestWeatherByHours(t *testing.T) {
	first := midnight()
	b := NewBuilder(Config{HotWaterMade: true})
	b.Record("boiler", 1, start, "")
	for d := time.Duration(0); d <= first+24*time.Hour; d += 30 * time.Second {
		te, flow := 2.0, 60.0
		if d >= first+12*time.Hour {
			te, flow = 8, 45
		}
		hot := int((d-first)/time.Hour)%6 == 5 && d >= first
		lit := (d-first+48*time.Hour)%time.Hour < 15*time.Minute
		if hot {
			flow = 75
		}
		feed(b, d, decode.Outside, te)
		feed(b, d, decode.HotWaterActive, bit(hot))
		feed(b, d, decode.Flame, bit(lit))
		feed(b, d, decode.Flow, flow)
	}
	days := b.Finish(start, start.Add(first+24*time.Hour)).Days
	w := days[len(days)-2].Weather
	if len(w.Outside) < 2 || w.Outside[0].C != 2 || w.Outside[len(w.Outside)-1].C != 8 {
		t.Fatalf("%+v", w.Outside)
	}
	about(t, "hours at 2 °C", float64(w.Outside[0].Seconds)/3600, 12, 0.05)
	about(t, "hours at 8 °C", float64(w.Outside[len(w.Outside)-1].Seconds)/3600, 12, 0.05)
	if len(w.Flow) != 1 || w.Flow[0].Source != "boiler" || len(w.Flow[0].Bins) != 2 {
		t.Fatalf("%+v", w.Flow)
	}
	for i, want := range []struct{ te, flow float64 }{{2, 60}, {8, 45}} {
		x := w.Flow[0].Bins[i]
		about(t, "bin", float64(x.C), want.te, 0)
		about(t, "hours of heating", float64(x.Seconds)/3600, 10*0.25, 0.1)
		about(t, "mean flow", x.Mean(), want.flow, 0.6)
	}
}

// Hours without the outside temperature are not counted, and no bin is made of a gap; a firing of unknown use is left
// out where hot water is made.
func TestWeatherOnlyWhatWasSeen(t *testing.T) {
	first := midnight()
	days := heatDays(Config{HotWaterMade: true}, first+24*time.Hour, func(d time.Duration) map[decode.Point]float64 {
		v := map[decode.Point]float64{decode.Flame: 1}
		if h := (d - first).Hours(); h < 6 || h > 18 {
			v[decode.Outside] = -1.5
		}
		return v
	})
	w := days[len(days)-2].Weather
	if len(w.Outside) != 1 || w.Outside[0].C != -1 {
		t.Fatalf("%+v", w.Outside)
	}
	about(t, "hours seen", float64(w.Outside[0].Seconds)/3600, 12, 0.1)
	if len(w.Flow) != 0 {
		t.Errorf("flow of firings of unknown use: %+v", w.Flow)
	}
}

// Days put together from pieces say the same as one pass.
func TestWeatherOfPieces(t *testing.T) {
	feedAll := func(b *Builder, from, to time.Time) {
		for at := start; at.Before(start.Add(72 * time.Hour)); at = at.Add(time.Minute) {
			if at.Before(from) || !at.Before(to) {
				continue
			}
			d := at.Sub(start)
			feed(b, d, decode.Outside, 4+d.Hours()/24)
			feed(b, d, decode.Flame, bit(d%(40*time.Minute) < 12*time.Minute))
			feed(b, d, decode.Flow, 40+float64(d%(40*time.Minute))/float64(time.Minute)/4)
		}
	}
	end := start.Add(72 * time.Hour)
	whole := NewBuilder(Config{})
	whole.Record("boiler", 1, start, "")
	feedAll(whole, start, end)
	want := whole.Finish(start, end).Days
	for i, d := range want[2 : len(want)-1] {
		p := (&Config{}).Day(d.From)
		b := NewPiece(Config{}, p)
		b.Record("boiler", 1, p.Begins(), "")
		feedAll(b, p.Begins(), p.Ends())
		got := b.Part(p.Ends()).Days
		if len(got) != 1 || len(got[0].Weather.Outside) != len(d.Weather.Outside) || len(got[0].Weather.Flow) != 1 {
			t.Fatalf("day %d: %+v, want %+v", i, got, d.Weather)
		}
		for k, x := range d.Weather.Outside {
			if got[0].Weather.Outside[k] != x {
				t.Errorf("day %d: %+v, want %+v", i, got[0].Weather.Outside[k], x)
			}
		}
		for k, x := range d.Weather.Flow[0].Bins {
			y := got[0].Weather.Flow[0].Bins[k]
			about(t, "seconds", float64(y.Seconds), float64(x.Seconds), 60)
			about(t, "flow", y.Mean(), x.Mean(), 0.05)
		}
	}
}
