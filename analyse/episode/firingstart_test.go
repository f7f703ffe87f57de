package episode

import (
	"testing"
	"time"

	"tundish/decode"
)

// TestStart: what is known at lighting goes with the firing and with the attempt before it; what is old does not.
func TestStart(t *testing.T) {
	at := func(m float64) time.Time {
		return time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC).Add(time.Duration(m * float64(time.Minute)))
	}
	b := NewBuilder(Config{})
	tell := func(m float64, p decode.Point, v float64) {
		b.Record("boiler", 1, at(m), "")
		b.Reading(decode.Reading{Time: at(m), Series: decode.Series{Source: "boiler", Point: p}, Value: v, Quality: decode.Good})
	}
	flame := func(from, to float64, v float64) {
		for m := from; m < to; m += 1.0 / 30 {
			tell(m, decode.Flame, v)
		}
	}
	tell(0, decode.Pressure, 1.4)
	for m := 0.0; m < 300; m += 20 { // frost from 20 min on
		v := -3.0
		if m == 0 {
			v = 4
		}
		tell(m, decode.Outside, v)
	}
	flame(299, 300, 0)
	tell(300, decode.Flow, 33)
	flame(300, 300.1, 1)
	flame(300.1, 301, 0)
	flame(301, 310, 1)
	flame(310, 311, 0)
	f := b.Finish(at(0), at(311))
	if len(f.Firings) != 1 || len(f.Attempts) != 1 {
		t.Fatalf("firings %+v, attempts %+v", f.Firings, f.Attempts)
	}
	for _, s := range []Start{f.Firings[0].Start, f.Attempts[0].Start} {
		if !s.Outside.Known || s.Outside.Value != -3 || !s.Flow.Known || s.Flow.Value != 33 || s.Pressure.Known {
			t.Errorf("start is %+v; the pressure is five hours old", s)
		}
		if s.Frost < 4*time.Hour+30*time.Minute || s.Frost > 4*time.Hour+42*time.Minute {
			t.Errorf("frost for %v, it began after 20 min", s.Frost)
		}
	}
}

// TestFrost: thaw, gaps and the longest that is told.
func TestFrost(t *testing.T) {
	start := time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)
	at := func(h float64) time.Time { return start.Add(time.Duration(h * float64(time.Hour))) }
	var w frostWatch
	for h := 0.0; h <= 10; h += 0.5 {
		w.take(at(h), -2)
	}
	if d := w.at(at(10)); d != FrostSeen {
		t.Errorf("after ten hours %v, told up to %v", d, FrostSeen)
	}
	w.take(at(10.5), 0.5) // a wobble around freezing is no thaw
	if d := w.at(at(10.5)); d != FrostSeen {
		t.Errorf("at 0.5 °C %v", d)
	}
	w.take(at(11), 1)
	if d := w.at(at(11)); d != 0 {
		t.Errorf("after a thaw %v", d)
	}
	w.take(at(11.5), -1)
	w.take(at(13.5), -1) // nobody looked for two hours
	if d := w.at(at(14)); d != 30*time.Minute {
		t.Errorf("after a gap %v", d)
	}
	if d := w.at(at(15)); d != 0 {
		t.Errorf("not looked at for 90 min, %v", d)
	}
}
