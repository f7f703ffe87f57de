package episode

import (
	"testing"
	"time"

	"tundish/decode"
)

// A flame of 4 s is an attempt that failed where heat was still asked for, and a firing where control put it out: the
// draw was over, or hot water took over. A flame that does not hold within the safety time (at most 10 s, EN 298 from
// memory) is a failed start; one that is shut off is not.
func TestBriefFlames(t *testing.T) {
	within := func(s, from, to int) bool { return s >= from && s < to }
	for _, c := range []struct {
		name              string
		demand, hot       func(s int) bool
		firings, attempts int
		use               Use
		end               End
	}{
		{"heat still asked for", func(int) bool { return true }, func(int) bool { return false }, 0, 1, "", ""},
		{"a draw still on", func(int) bool { return false }, func(s int) bool { return s >= 80 }, 0, 1, "", ""},
		{"the draw was over, heating waits", func(int) bool { return true }, func(s int) bool { return within(s, 80, 104) }, 1, 0, HotWater, EndDemand},
		{"the draw was over, read 1 s later", func(int) bool { return true }, func(s int) bool { return within(s, 80, 105) }, 1, 0, HotWater, EndDemand},
		{"hot water took over", func(int) bool { return true }, func(s int) bool { return s >= 104 }, 1, 0, Heating, EndHotWater},
		{"demand gone", func(s int) bool { return s < 104 }, func(int) bool { return false }, 1, 0, Heating, EndDemand},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := lived(NewBuilder(config(20*time.Minute)), 1200, func(s int) map[decode.Point]float64 {
				return map[decode.Point]float64{decode.HeatDemand: bit(c.demand(s)), decode.HotWaterActive: bit(c.hot(s)), decode.Flame: bit(within(s, 100, 104))}
			})
			if len(f.Firings) != c.firings || len(f.Attempts) != c.attempts {
				t.Fatalf("%d firings and %d attempts, want %d and %d", len(f.Firings), len(f.Attempts), c.firings, c.attempts)
			}
			if c.firings == 1 && (f.Firings[0].Use != c.use || f.Firings[0].End != c.end || f.Firings[0].Duration() != 4*time.Second) {
				t.Errorf("the firing is %+v", f.Firings[0])
			}
		})
	}
}

// A flame of 4 s with heat still asked for: a firing where the flow came to its set-point with it or just after, or stood
// there already; an attempt where the water is well below. For a tap the heating's set-point says nothing.
func TestBriefFlamesByTheirWater(t *testing.T) {
	for _, c := range []struct {
		name              string
		flow, after, hot  float64
		firings, attempts int
	}{
		{"cold water stays cold", 40, 40, 0, 0, 1},
		{"warmed, but not to the set-point", 40, 44, 0, 0, 1},
		{"the flow read 6 s later is past the set-point", 40, 58, 0, 1, 0},
		{"it stood past the set-point already", 62, 62, 0, 1, 0},
		{"for a tap, at a flow that the heating would call warm", 62, 62, 1, 0, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := lived(NewBuilder(config(20*time.Minute)), 1200, func(s int) map[decode.Point]float64 {
				m := map[decode.Point]float64{decode.HeatDemand: 1, decode.HotWaterActive: c.hot, decode.FlowSetpoint: 55, decode.Flame: bit(s >= 100 && s < 104)}
				if s%10 == 0 {
					m[decode.Flow] = map[bool]float64{true: c.after, false: c.flow}[s >= 110]
				}
				return m
			})
			if len(f.Firings) != c.firings || len(f.Attempts) != c.attempts {
				t.Errorf("%d firings and %d attempts, want %d and %d", len(f.Firings), len(f.Attempts), c.firings, c.attempts)
			}
		})
	}
}

// The last attempt of a sequence goes out in the very answer that brings the fault: it belongs to the lockout, which is
// one of ignition, however brief its flame.
func TestLastAttemptComesWithTheFault(t *testing.T) {
	f := lived(NewBuilder(config(20*time.Minute)), 1200, func(s int) map[decode.Point]float64 {
		return map[decode.Point]float64{decode.HeatDemand: 1, decode.Fault: bit(s >= 104), decode.Flame: bit(s >= 100 && s < 104),
			decode.FaultFlags: map[bool]float64{true: flagGasFlame}[s >= 104]}
	})
	if len(f.Attempts) != 1 || f.Attempts[0].Then != ThenLockout || len(f.Firings) != 0 {
		t.Fatalf("attempts are %+v, firings %+v", f.Attempts, f.Firings)
	}
	if len(f.Lockouts) != 1 || f.Lockouts[0].Cause != CauseIgnition || len(f.Lockouts[0].Preceding.Attempts) != 1 {
		t.Errorf("lockouts are %+v", f.Lockouts)
	}
}

// What came of attempts that only the counter tells: the firing lit, though demand went before its end; the lockout that
// is over when the counter is read; nothing, where the purpose went.
func TestWhatCameOfCountedAttempts(t *testing.T) {
	for _, c := range []struct {
		name                        string
		demand, flame, fault, count func(s int) bool
		want                        AttemptEnd
	}{
		{"lit", func(s int) bool { return s < 900 }, func(s int) bool { return s >= 200 && s < 905 }, func(int) bool { return false }, func(s int) bool { return s >= 120 }, ThenLit},
		{"lockout, reset and lit since", func(int) bool { return true }, func(s int) bool { return s >= 270 }, func(s int) bool { return s >= 160 && s < 230 }, func(s int) bool { return s >= 150 }, ThenLockout},
		{"given up", func(s int) bool { return s < 200 }, func(int) bool { return false }, func(int) bool { return false }, func(s int) bool { return s >= 190 }, ThenGivenUp},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := lived(NewBuilder(config(20*time.Minute)), 1200, func(s int) map[decode.Point]float64 {
				at := map[decode.Point]float64{decode.HeatDemand: bit(c.demand(s)), decode.Flame: bit(c.flame(s)), decode.Fault: bit(c.fault(s))}
				if s%150 == 0 {
					at[decode.FailedStarts] = 7 + bit(c.count(s))
				}
				return at
			})
			if len(f.Attempts) != 1 || f.Attempts[0].Then != c.want {
				t.Errorf("attempts are %+v, want one that was %q", f.Attempts, c.want)
			}
		})
	}
}

// A flame that was shut off as it should be was not lost, whatever fault follows within flameLossBefore.
func TestNoFlameLossAfterAnOrderlyStop(t *testing.T) {
	f := lived(NewBuilder(config(40*time.Minute)), 2400, func(s int) map[decode.Point]float64 {
		return map[decode.Point]float64{decode.HeatDemand: 1, decode.HotWaterActive: bit(s >= 1000), decode.Flame: bit(s >= 100 && s < 1000),
			decode.Fault: bit(s >= 1100), decode.FaultFlags: map[bool]float64{true: flagGasFlame}[s >= 1100]}
	})
	if len(f.Lockouts) != 1 || f.Lockouts[0].Cause != CauseIgnition {
		t.Errorf("lockouts are %+v, want one of ignition", f.Lockouts)
	}
}

// Mains that are switched with the demand end a firing when the bus falls silent, even for half a minute only; and what
// the flow shows while the bus wakes is no firing. Without such a supply the flame stands over the hole.
func TestSwitchedMainsForHalfAMinute(t *testing.T) {
	for _, switched := range []bool{true, false} {
		cfg := config(30 * time.Minute)
		cfg.SwitchedLive = switched
		b := NewBuilder(cfg)
		for s := 0; s < 1800; s += 2 {
			if s >= 900 && s < 930 {
				continue
			}
			at := time.Duration(s) * time.Second
			feed(b, at, decode.HeatDemand, bit(s < 900 || s >= 1500))
			feed(b, at, decode.Flame, bit(s >= 60 && s < 900))
		}
		f := b.Finish(start, start.Add(30*time.Minute))
		if len(f.Firings) != 1 {
			t.Fatalf("switched %v: %d firings", switched, len(f.Firings))
		}
		want := start.Add(930 * time.Second)
		if switched {
			want = start.Add(898 * time.Second)
		}
		if x := f.Firings[0]; !x.To.Equal(want) || x.End != EndDemand || x.Open {
			t.Errorf("switched %v: the firing is %+v, want an end at %v", switched, x, want)
		}
		if len(f.Demands) != 2 || !f.Demands[0].To.Equal(want) {
			t.Errorf("switched %v: demands are %+v", switched, f.Demands)
		}
	}
}
