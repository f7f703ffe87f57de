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
