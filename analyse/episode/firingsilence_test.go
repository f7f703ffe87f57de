package episode

import (
	"testing"
	"time"

	"tundish/decode"
)

// TestWaterAfterASilence: what is read when the bus comes back, before the flame's own word, is not the firing's that
// burned when it fell silent.
func TestWaterAfterASilence(t *testing.T) {
	b := NewBuilder(config(4 * time.Hour))
	at := func(d time.Duration, flame, flow, mod float64) {
		feed(b, d, decode.Flow, flow)
		feed(b, d+time.Second, decode.Modulation, mod)
		feed(b, d+2*time.Second, decode.Return, flow-15)
		feed(b, d+3*time.Second, decode.Flame, flame)
	}
	for d := time.Duration(0); d < 10*time.Minute; d += 5 * time.Second {
		at(d, 0, 30, 0)
	}
	for d := 10 * time.Minute; d < 40*time.Minute; d += 5 * time.Second {
		at(d, 1, 60, 50)
	}
	for d := 2 * time.Hour; d < 3*time.Hour; d += 5 * time.Second {
		at(d, 0, 25, 0)
	}
	f := b.Finish(start, start.Add(3*time.Hour)).Firings
	if len(f) != 1 || f[0].FlowEnd != 60 || f[0].DeltaEnd != 15 || f[0].Rise.Interval > time.Minute || f[0].MeanModulation != 50 || f[0].MinModulation != 50 {
		t.Errorf("want a flow of 60 °C at the end, 15 K over the return, at 50 %%: %+v", f)
	}
}
