package episode

import (
	"testing"
	"time"

	"tundish/decode"
)

// A compressor's runs by its modulation, read every 8 s. Modulation is 0 at rest, at the least output (OpenTherm Protocol
// Specification v2.2, 5.3.4: 0 % is the lowest modulation) and in a defrost; flow and return tell which.
func TestCompressorRuns(t *testing.T) {
	const on, off = 600, 4200
	spread := func(s int, running float64) float64 { // K; dies away within a minute
		switch {
		case s < on:
			return 0
		case s < off:
			return running * min(1, float64(s-on)/40)
		}
		return running * max(0, 1-float64(s-off)/60)
	}
	for _, c := range []struct {
		name      string
		mod, diff func(s int) float64
		active    func(s int) bool
		rough     bool
	}{
		{"modulates", func(s int) float64 { return 40 * bit(s >= on+10 && s < off) }, func(s int) float64 { return spread(s, 5) }, func(int) bool { return true }, false},
		{"half an hour at the least output", func(s int) float64 { return 40 * bit(s >= on+10 && s < 2000 || s >= 3800 && s < off) },
			func(s int) float64 { return spread(s, 5) - 2*bit(s >= 2000 && s < 3800) }, func(int) bool { return true }, false},
		{"a defrost", func(s int) float64 { return 40 * bit(s >= on+10 && s < 2000 || s >= 2300 && s < off) },
			func(s int) float64 { return spread(s, 5) - 7*bit(s >= 2000 && s < 2300) }, func(int) bool { return true }, false},
		{"ends with the mode, the pump stops", func(s int) float64 { return 40 * bit(s >= on+10 && s < off) },
			func(s int) float64 { return spread(min(s, off-1), 5) }, func(s int) bool { return s < off }, false},
		{"ends at the least output with the mode", func(s int) float64 { return 40 * bit(s >= on+10 && s < 3000) },
			func(s int) float64 { return spread(min(s, off-1), 5) - 2*bit(s >= 3000) }, func(s int) bool { return s < off }, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			cfg := config(100 * time.Minute)
			cfg.HeatPump = true
			f := lived(NewBuilder(cfg), 6000, func(s int) map[decode.Point]float64 {
				at := map[decode.Point]float64{}
				if s%2 == 0 {
					at[decode.HeatActive], at[decode.Flame] = bit(c.active(s)), 0
				}
				switch s % 8 {
				case 1:
					at[decode.Flow] = 30 + c.diff(s) + min(8, max(0, float64(s-on)/200))
				case 3:
					at[decode.Return] = 30 + min(8, max(0, float64(s-on)/200))
				case 5:
					at[decode.Modulation] = c.mod(s)
				}
				return at
			})
			if len(f.Firings) != 1 || len(f.Attempts) != 0 {
				t.Fatalf("firings are %+v, attempts %+v", f.Firings, f.Attempts)
			}
			x := f.Firings[0]
			late := func(told time.Time, really int) float64 {
				return told.Sub(start.Add(time.Duration(really) * time.Second)).Seconds()
			}
			if a, b := late(x.From, on), late(x.To, off); a < -11 || a > 11 || b < -11 || b > 11 {
				t.Errorf("told %.0f s late at the start and %.0f s at the end; 3 s and a look at the modulation are allowed", a, b)
			}
			if x.Basis != ByOutput || x.Rough != c.rough {
				t.Errorf("the run is %+v", x)
			}
			for _, s := range f.Sights {
				if s.Basis != ByOutput {
					t.Errorf("sight is %+v", s)
				}
			}
		})
	}
}

// A meter's word goes before the modulation, and so does a flame bit that follows the compressor.
func TestCompressorByPowerOrBit(t *testing.T) {
	for _, c := range []struct {
		point decode.Point
		on    float64
		basis Basis
	}{{decode.ElectricPower, 1.2, ByOutput}, {decode.Flame, 1, ByFlame}} {
		cfg := config(100 * time.Minute)
		cfg.HeatPump = true
		f := lived(NewBuilder(cfg), 6000, func(s int) map[decode.Point]float64 {
			at := map[decode.Point]float64{c.point: 0.04}
			if c.point == decode.Flame {
				at[c.point] = 0
			}
			if s >= 600 && s < 605 || s >= 700 && s < 4200 { // a start that a boiler would have failed in
				at[c.point] = c.on
			}
			return at
		})
		if len(f.Firings) != 2 || len(f.Attempts) != 0 {
			t.Fatalf("%v: firings are %+v, attempts %+v", c.point, f.Firings, f.Attempts)
		}
		x := f.Firings[1]
		if x.Basis != c.basis || !x.From.Equal(start.Add(700*time.Second)) || !x.To.Equal(start.Add(4200*time.Second)) {
			t.Errorf("%v: the run is %+v", c.point, x)
		}
	}
}

// Between two runs of the logger nobody looked: a run of the compressor that was seen before is not taken to go on.
func TestCompressorOverAGap(t *testing.T) {
	at := func(s int) time.Time { return start.Add(time.Duration(s) * time.Second) }
	cfg := Config{HeatPump: true, Buses: []string{"boiler"}, Runs: []Run{
		{ID: 1, From: start, To: at(1200), Live: true, Sources: []string{"boiler"}},
		{ID: 2, From: at(1230), To: at(3000), Live: true, Sources: []string{"boiler"}}}}
	b := NewBuilder(cfg)
	for s := 0; s < 3000; s += 8 {
		run := uint32(1)
		if s >= 1200 {
			if run = 2; s < 1230 {
				continue
			}
		}
		b.Record("boiler", run, at(s), "")
		for p, v := range map[decode.Point]float64{decode.HeatActive: 1, decode.Modulation: 40 * bit(s >= 400 && s < 1200), decode.Flow: 35, decode.Return: 30} {
			b.Reading(decode.Reading{Time: at(s), Series: decode.Series{Source: "boiler", Point: p}, Value: v, Quality: decode.Good})
		}
	}
	f := b.Finish(start, at(3000))
	if len(f.Firings) != 1 || !f.Firings[0].Open || f.Firings[0].To.After(at(1200)) {
		t.Errorf("firings are %+v", f.Firings)
	}
}
