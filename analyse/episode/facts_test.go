package episode

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"tundish/decode"
)

// second feeds a boiler's life second by second.
func lived(b *Builder, length int, at func(s int) map[decode.Point]float64) *Facts {
	for s := range length {
		for p, v := range at(s) {
			feed(b, time.Duration(s)*time.Second, p, v)
		}
	}
	return b.Finish(start, start.Add(time.Duration(length)*time.Second))
}

func bit(on bool) float64 {
	if on {
		return 1
	}
	return 0
}

// Each failed attempt is kept, with what came of its sequence: a later one held, a lockout, or nobody wanted heat any
// more (terms of EN 298, from memory).
func TestWhatCameOfFailedAttempts(t *testing.T) {
	cases := []struct {
		name  string
		flame func(s int) bool
		ask   func(s int) bool
		fault func(s int) bool
		want  []AttemptEnd
	}{
		{"a later one held", func(s int) bool { return s >= 100 && s < 104 || s >= 130 && s < 134 || s >= 160 && s < 900 },
			func(s int) bool { return s >= 60 }, func(int) bool { return false }, []AttemptEnd{ThenLit, ThenLit}},
		{"lockout", func(s int) bool { return s >= 100 && s < 104 || s >= 130 && s < 134 },
			func(s int) bool { return s >= 60 }, func(s int) bool { return s >= 150 && s < 2000 }, []AttemptEnd{ThenLockout, ThenLockout}},
		{"given up", func(s int) bool { return s >= 100 && s < 104 },
			func(s int) bool { return s >= 60 && s < 120 }, func(int) bool { return false }, []AttemptEnd{ThenGivenUp}},
		{"the record ends", func(s int) bool { return s >= 2990 && s < 2994 },
			func(s int) bool { return s >= 60 }, func(int) bool { return false }, []AttemptEnd{ThenUnknown}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			b := NewBuilder(config(50 * time.Minute))
			f := lived(b, 3000, func(s int) map[decode.Point]float64 {
				return map[decode.Point]float64{decode.HeatDemand: bit(c.ask(s)), decode.Flame: bit(c.flame(s)), decode.Fault: bit(c.fault(s))}
			})
			if len(f.Attempts) != len(c.want) {
				t.Fatalf("attempts are %+v, want %v", f.Attempts, c.want)
			}
			for i, a := range f.Attempts {
				if a.Then != c.want[i] || a.Flame != 4*time.Second {
					t.Errorf("attempt %d is %+v, want then %q", i, a, c.want[i])
				}
			}
		})
	}
}

// Attempts without any flame show in the appliance's own counter alone; those whose flame was seen are not told twice.
func TestAttemptsByTheCounter(t *testing.T) {
	b := NewBuilder(config(time.Hour))
	f := lived(b, 3600, func(s int) map[decode.Point]float64 {
		out := map[decode.Point]float64{decode.HeatDemand: 1, decode.Flame: bit(s >= 600 && s < 604 || s >= 660 && s < 3000)}
		if s%120 == 0 { // the count: two without a flame, one with, before it lights at 660
			out[decode.FailedStarts] = 7 + 3*bit(s >= 660)
		}
		return out
	})
	none, lit := 0, 0
	for _, a := range f.Attempts {
		none += int(bit(a.Flame == 0))
		lit += int(bit(a.Then == ThenLit))
	}
	if len(f.Attempts) != 3 || none != 2 || lit != 3 {
		t.Errorf("attempts are %+v, want two without a flame and one with, all of them lit in the end", f.Attempts)
	}
}

// The pump's own word tells an overrun: after the demand, and after a draw. A pump that starts by itself does not run on.
func TestOverrunByThePump(t *testing.T) {
	b := NewBuilder(config(2 * time.Hour))
	f := lived(b, 7200, func(s int) map[decode.Point]float64 {
		heat, hot := s >= 600 && s < 1800, s >= 3000 && s < 3600
		return map[decode.Point]float64{decode.HeatDemand: bit(heat), decode.HotWaterActive: bit(hot), decode.Flame: bit(heat && s < 1700 || hot),
			decode.Pump: bit(heat || hot || s >= 1800 && s < 1980 || s >= 3600 && s < 3660 || s >= 6000 && s < 6100)}
	})
	want := []Overrun{
		{Span{From: start.Add(1800 * time.Second), To: start.Add(1980 * time.Second)}, Heating, ByFlame},
		{Span{From: start.Add(3600 * time.Second), To: start.Add(3660 * time.Second)}, HotWater, ByFlame},
	}
	if len(f.Overruns) != 2 || f.Overruns[0] != want[0] || f.Overruns[1] != want[1] {
		t.Errorf("overruns are %+v, want %+v", f.Overruns, want)
	}
}

// Without the pump's word the water tells: flow and return come together at once and cool together while it moves, and
// stand when it stops. The model's pump runs 5 min after each demand.
func TestOverrunByTheWater(t *testing.T) {
	for name, p := range plants() {
		p.every, p.tau = time.Second, 12
		readings, burns := p.simulate(plantHours)
		b := NewBuilder(Config{})
		asked := func(at time.Duration) (on bool) {
			for _, d := range p.demands {
				on = on || at >= d[0] && at < d[1]
			}
			return on
		}
		burning := 0.0
		for _, d := range p.demands { // of those that end while the burner burns the water tells at all
			for _, x := range burns {
				burning += bit(x.Contains(start.Add(d[1])))
			}
		}
		for _, r := range readings {
			b.Reading(r)
			if r.Series.Point == decode.Flow {
				b.Reading(decode.Reading{Time: r.Time, Series: decode.Series{Source: "room", Point: decode.HeatDemand}, Value: bit(asked(r.Time.Sub(start))), Quality: decode.Good})
			}
		}
		f := b.Finish(start, start.Add(plantHours))
		if len(f.Overruns) < int(burning) {
			t.Errorf("%s: %d overruns, want %v at the least", name, len(f.Overruns), burning)
		}
		for _, o := range f.Overruns {
			if d := o.Duration(); d < 45*time.Second || d > p.overrun+time.Minute || o.Basis != ByShape || asked(o.From.Sub(start).Truncate(time.Second)) {
				t.Errorf("%s: overrun %v long, the pump ran on for %v", name, o.Duration(), p.overrun)
			}
		}
	}
}

// Where nothing tells hot water, a cylinder that warms while the burner burns tells the reheat, and what the firing was
// for. 150 l with 10 kW warm by about 1 K/min (V·ρ·c/P).
func TestReheatByTheCylinder(t *testing.T) {
	b := NewBuilder(Config{HotWaterMade: true, Draws: Reheat})
	f := lived(b, 4*3600, func(s int) map[decode.Point]float64 {
		reheat := min(max(float64(s-3600)/60, 0), 15)
		return map[decode.Point]float64{decode.Flame: bit(s >= 3600 && s < 4500 || s >= 9000 && s < 10800), decode.Cylinder: 45 + reheat - max(0, float64(s-4500))/3600}
	})
	if len(f.Draws) != 1 || f.Draws[0].Kind != Reheat || f.Draws[0].Basis != ByShape || f.Draws[0].From.Sub(start.Add(time.Hour)).Abs() > 2*time.Minute ||
		f.Draws[0].To.Sub(start.Add(4500*time.Second)).Abs() > 2*time.Minute {
		t.Errorf("draws are %+v", f.Draws)
	}
	if len(f.Firings) != 2 || f.Firings[0].Use != HotWater || f.Firings[1].Use != Heating || !f.Firings[0].UseKnown || !f.Firings[1].UseKnown {
		t.Errorf("firings are %+v", f.Firings)
	}
}

// What a draw is follows from the plant.
func TestKindOfDraw(t *testing.T) {
	for _, kind := range []DrawKind{Reheat, Tap, DrawUnknown} {
		b := NewBuilder(Config{HotWaterMade: true, Draws: kind})
		f := lived(b, 600, func(s int) map[decode.Point]float64 {
			return map[decode.Point]float64{decode.HotWaterActive: bit(s > 100 && s < 400)}
		})
		if len(f.Draws) != 1 || f.Draws[0].Kind != kind || f.Draws[0].Basis != ByFlame {
			t.Errorf("draws are %+v, want %q", f.Draws, kind)
		}
	}
}

// A supply that is switched with the demand ends a firing together with the bus: the demand ended it.
func TestSwitchedLiveEndsAFiring(t *testing.T) {
	cfg := config(2 * time.Hour)
	cfg.SwitchedLive = true
	b := NewBuilder(cfg)
	for s := range 7200 {
		if s >= 1800 && s < 5400 {
			continue
		}
		feed(b, time.Duration(s)*time.Second, decode.Flame, bit(s >= 600 && s < 1800))
	}
	f := b.Finish(start, start.Add(2*time.Hour))
	if len(f.Firings) != 1 || f.Firings[0].End != EndDemand || f.Firings[0].Open || f.Firings[0].Duration() != 1199*time.Second {
		t.Errorf("firings are %+v", f.Firings)
	}
}

// Where heat demand and flame are known, each heating firing lies in a demand, or ends no later than what polling
// allows after it: here the boiler burns only while it is asked.
func TestDemandEnclosesFirings(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		poll := rapid.IntRange(1, 8).Draw(rt, "poll")
		var edges []int
		for at := 0; at < 7000; {
			at += rapid.IntRange(60, 900).Draw(rt, "edge")
			edges = append(edges, at)
		}
		state := func(s int) (on bool) {
			for _, e := range edges {
				on = on != (s >= e)
			}
			return on
		}
		lag := rapid.IntRange(10, 40).Draw(rt, "lag")
		b := NewBuilder(Config{})
		for s := 0; s < 7200; s += poll {
			feed(b, time.Duration(s)*time.Second, decode.HeatDemand, bit(state(s)))
			feed(b, time.Duration(s)*time.Second, decode.Flame, bit(state(s) && s >= lag && state(s-lag)))
		}
		f := b.Finish(start, start.Add(2*time.Hour))
		for _, x := range f.Firings {
			var in time.Duration
			for _, d := range f.Demands {
				in += d.Overlap(x.Span)
			}
			if out := x.Duration() - in; out > time.Duration(2*poll)*time.Second {
				rt.Fatalf("firing %v–%v lies %v outside of demand", x.From, x.To, out)
			}
		}
	})
}

// Files that are imported together are one stretch of listening: cut at any reading and joined, they tell the same.
func TestCutFilesTellTheSame(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := script(rt)
		end := r[len(r)-1].Time
		all := Config{Buses: []string{"boiler"}, Runs: []Run{{ID: 1, From: r[0].Time, To: end, Sources: []string{"boiler"}}}}
		two := all
		two.Runs = []Run{all.Runs[0], {ID: 2, From: r[0].Time, To: end, Sources: []string{"boiler"}}}
		cut := rapid.IntRange(0, len(r)).Draw(rt, "cut")
		a := buildRuns(all, r, one, end)
		b := buildRuns(two, r, func(i int) uint32 { return 1 + uint32(b2i(i >= cut)) }, end)
		if len(a.Firings) != len(b.Firings) || len(a.Demands) != len(b.Demands) || len(a.Lockouts) != len(b.Lockouts) ||
			len(a.Silences) != len(b.Silences) || len(a.Attempts) != len(b.Attempts) || len(a.Draws) != len(b.Draws) || len(a.Overruns) != len(b.Overruns) {
			rt.Fatalf("cut at %d:\n%+v\n%+v", cut, a, b)
		}
		sameFirings(rt, a.Firings, b.Firings, 0)
	})
}
