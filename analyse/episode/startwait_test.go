package episode

import (
	"testing"
	"time"

	"tundish/decode"
)

// TestStartWait: the wait counts from a call that was seen to begin while the burner rested and the water was cold, and
// flow less return at lighting stands beside it.
func TestStartWait(t *testing.T) {
	cases := []struct {
		name              string
		called, flow, hot float64 // s of the call, °C, s of hot water (0: none)
		want              time.Duration
	}{
		{"cold water, called 20 s before", 280, 25, 0, 20 * time.Second},
		{"the water is within the differential: the burner waits for that", 280, 50, 0, 0},
		{"the call was there when looking began", 0, 25, 0, 0},
		{"for hot water, however warm the heating's water", 100, 50, 270, 30 * time.Second},
	}
	for _, c := range cases {
		start := time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)
		b := NewBuilder(Config{HotWaterMade: true})
		for s := 0.0; s <= 600; s += 2 {
			at := start.Add(time.Duration(s * float64(time.Second)))
			bit := func(on bool) float64 {
				if on {
					return 1
				}
				return 0
			}
			b.Record("boiler", 1, at, "")
			for _, x := range []struct {
				p decode.Point
				v float64
			}{{decode.FlowSetpoint, 55}, {decode.Flow, c.flow}, {decode.Return, 24}, {decode.HeatDemand, bit(s >= c.called)},
				{decode.HotWaterActive, bit(c.hot > 0 && s >= c.hot)}, {decode.Flame, bit(s >= 300 && s < 500)}} {
				b.Reading(decode.Reading{Time: at, Series: decode.Series{Source: "boiler", Point: x.p}, Value: x.v, Quality: decode.Good})
			}
		}
		f := b.Finish(start, start.Add(10*time.Minute))
		if len(f.Firings) != 1 {
			t.Fatalf("%s: %+v", c.name, f.Firings)
		}
		got := f.Firings[0].Start
		if got.Wait != c.want {
			t.Errorf("%s: wait %v, want %v", c.name, got.Wait, c.want)
		}
		if !got.Own.Known || float64(got.Own.Value) != c.flow-24 || got.Other.Known {
			t.Errorf("%s: flow less return %+v, other %+v", c.name, got.Own, got.Other)
		}
	}
}

// TestStartWaitOfHours: a call that stood for longer than [waitMost] before the burner lit is not told as a wait, in one go
// and by pieces alike: a piece may look back too little to have seen the call begin, and a whole record must not tell more than it.
func TestStartWaitOfHours(t *testing.T) {
	if waitMost >= Lead {
		t.Fatalf("a wait of %v may have begun before a piece looks, %v back", waitMost, Lead)
	}
	from := time.Date(2026, 1, 12, 12, 0, 0, 0, time.UTC)
	to := from.Add(24 * time.Hour)
	cfg := Config{Zone: time.UTC, Buses: []string{"boiler"}, Runs: []Run{{ID: 1, From: from, To: to, Live: true, Sources: []string{"boiler"}}}}
	for _, c := range []struct {
		wait, want time.Duration
	}{
		{20 * time.Minute, 20 * time.Minute},
		{waitMost, waitMost},
		{waitMost + 30*time.Second, 0},
		{Lead - time.Minute, 0},
		{7 * time.Hour, 0},
	} {
		lit := from.Add(12*time.Hour + 20*time.Minute) // of the second day: its piece begins at 18:00
		called := lit.Add(-c.wait)
		var all []decode.Reading
		for at := from; at.Before(to); at = at.Add(30 * time.Second) {
			bit := func(on bool) float64 {
				if on {
					return 1
				}
				return 0
			}
			for _, x := range []struct {
				p decode.Point
				v float64
			}{{decode.FlowSetpoint, 55}, {decode.Flow, 25}, {decode.Return, 24}, {decode.HeatDemand, bit(!at.Before(called))},
				{decode.Flame, bit(!at.Before(lit) && at.Sub(lit) < 10*time.Minute)}} {
				all = append(all, decode.Reading{Time: at, Series: decode.Series{Source: "boiler", Point: x.p}, Value: x.v, Quality: decode.Good})
			}
		}
		for way, f := range map[string]*Facts{"in one go": inOneGo(cfg, all, from, to), "by pieces": byPieces(cfg, all, from, to)} {
			if len(f.Firings) != 1 {
				t.Fatalf("called %v before, %s: %+v", c.wait, way, f.Firings)
			}
			if got := f.Firings[0].Start.Wait; got != c.want {
				t.Errorf("called %v before, %s: wait %v, want %v", c.wait, way, got, c.want)
			}
		}
	}
}
