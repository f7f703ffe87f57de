package house

import (
	"math"
	"slices"
	"testing"
	"time"

	"tundish/analyse/episode"
)

// walk steps a house through its scenario, calling at after each second.
func walk(s Scenario, seed uint64, at func(State)) Truth {
	return walkFor(s, seed, time.Duration(s.Days)*day, at)
}

// walkFor is walk for so long.
func walkFor(s Scenario, seed uint64, long time.Duration, at func(State)) Truth {
	h := New(s, seed)
	for h.Now() < long {
		h.Step()
		if at != nil {
			at(h.State())
		}
	}
	return h.Truth()
}

// Heat is neither made nor lost: circuit and building close within 0.1 % on every scenario.
func TestEnergyCloses(t *testing.T) {
	t.Parallel()
	for _, s := range Scenarios() {
		t.Run(s.Name, func(t *testing.T) {
			s.Days = 1
			l := walk(s, 11, nil).Ledger
			if l.Burner < 30*3.6e6 {
				t.Errorf("the burner gave only %.1f kWh in %d days", l.Burner/3.6e6, s.Days)
			}
			near(t, "circuit", l.Circuit(), 0, 0.001)
			near(t, "house", l.House(), 0, 0.001)
		})
	}
}

// Held at design conditions, without gains, the emitters give the design heat loss within 10 %. (What falls on the
// fabric as radiation makes the load a few per cent larger than HTC × air difference.)
func TestDesignDayLoad(t *testing.T) {
	t.Parallel()
	s := sound()
	s.Days = 6
	s.Weather = WeatherSpec{MeanC: s.Building.DesignOutside}
	s.Building.GainsW, s.Building.SolarW = 0, 0
	s.HotWater = HotWaterSpec{}
	s.Room.FromHour, s.Room.ToHour, s.Room.ComfortC = 0, 24, s.Building.DesignInside
	var heat, inside float64
	var n int
	walk(s, 3, func(st State) {
		if st.At > 5*day {
			heat += st.EmittersKW
			inside += st.Air - st.Outside
			n++
		}
	})
	heat, inside = heat/float64(n), inside/float64(n)
	near(t, "inside − outside K", inside, 24, 0.8)
	near(t, "load kW", heat, s.Building.DesignLossW/1000, 0.1*s.Building.DesignLossW/1000)
}

// In the sound house the room keeps within 1.5 K of its set-point once it has been warmed for four hours, flow never
// runs away, the return is below the flow while the burner has settled, and the cylinder reaches 60 °C every day.
func TestSoundHouseIsComfortable(t *testing.T) {
	t.Parallel()
	s := sound()
	hottest := make([]float64, s.Days)
	var settled time.Duration
	tr := walk(s, 5, func(st State) {
		d := min(int(st.At/day), s.Days-1)
		hottest[d] = max(hottest[d], st.Cylinder)
		hour := (st.At % day).Hours()
		if hour > s.Room.FromHour+4 && hour < s.Room.ToHour && math.Abs(st.Air-st.RoomSetpoint) > 1.5 {
			t.Fatalf("at %v the room has %.2f °C, set-point %.1f", st.At, st.Air, st.RoomSetpoint)
		}
		if st.FlowSensor > 82 || st.Pressure < 0.8 || st.Pressure > 2.5 {
			t.Fatalf("at %v: flow %.1f °C, pressure %.2f bar", st.At, st.FlowSensor, st.Pressure)
		}
		if settled += time.Second; !st.Flame {
			settled = 0
		}
		if settled > 2*time.Minute && st.ReturnSensor >= st.FlowSensor {
			t.Fatalf("at %v: return %.1f above flow %.1f", st.At, st.ReturnSensor, st.FlowSensor)
		}
	})
	for d, c := range hottest {
		if c < 60 {
			t.Errorf("day %d: the cylinder reached only %.1f °C", d, c)
		}
	}
	if len(tr.Lockouts)+len(tr.Attempts)+len(tr.Silences) > 0 {
		t.Errorf("a sound house has faults: %+v %+v %+v", tr.Lockouts, tr.Attempts, tr.Silences)
	}
	for _, f := range tr.Firings { // burns of 15 minutes and more: common practice, no source
		if f.Use == episode.Heating && f.Duration() < 5*time.Minute && f.End == episode.EndSetpoint {
			t.Errorf("short burn of %v at %v", f.Duration(), f.From)
		}
	}
}

// deltas collects flow − return at the boiler while a heating firing has been settled for ten minutes.
func deltas(s Scenario, seed uint64) (list []float64) {
	lit := 0
	walk(s, seed, func(st State) {
		if lit++; !st.Flame || st.HotWater {
			lit = 0
		}
		if lit > 600 && lit%60 == 0 {
			list = append(list, st.FlowSensor-st.ReturnSensor)
		}
	})
	slices.Sort(list)
	return list
}

// The settled spread lies in the usual 8 to 20 K (both bounds common practice, no source) in the sound house, above
// 25 K with too little water, below 5 K with a pump too fast.
func TestSpreads(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		s         Scenario
		low, high float64 // of the median, K
	}{{sound(), 8, 20}, {lowFlow(), 25, 40}, {fastPump(), 2, 5}} {
		d := deltas(c.s, 2)
		if len(d) < 60 {
			t.Fatalf("%s: %d settled minutes", c.s.Name, len(d))
		}
		if m := d[len(d)/2]; m < c.low || m > c.high {
			t.Errorf("%s: median spread %.1f K, want %v to %v", c.s.Name, m, c.low, c.high)
		}
	}
}

// starts counts heating firings that begin in the window.
func starts(tr Truth, from, to time.Duration) (n int, burns []time.Duration) {
	for _, f := range tr.Firings {
		if f.Use == episode.Heating && f.From >= from && f.From < to {
			n++
			burns = append(burns, f.Duration())
		}
	}
	slices.Sort(burns)
	return n, burns
}

// The demo's mild day cycles as published field data and simulations of oversized boilers do: more than 50 starts a day
// (Bennett and Elwell, BSERT, 2020, plant size ratio far above 3), and by the cycle-time advice of the trade (on + off
// not below 10 minutes, on not below 5) too short and too often. The sound house, the same weather but for the burner,
// stays below 3 starts in any hour.
func TestDemoShortCyclesAndSoundDoesNot(t *testing.T) {
	t.Parallel()
	for seed := uint64(1); seed <= 3; seed++ {
		tr := walk(coldMornings(), seed, nil)
		n, burns := starts(tr, 0, day)
		if n < 50 || n > 250 {
			t.Errorf("seed %d: %d heating starts on the mild day", seed, n)
		}
		if m := burns[len(burns)/2]; m < 30*time.Second || m > 5*time.Minute {
			t.Errorf("seed %d: median burn %v on the mild day", seed, m)
		}
		sober := walk(sound(), seed, nil)
		for _, f := range sober.Firings {
			if k, _ := starts(sober, f.From, f.From+time.Hour); k > 3 {
				t.Errorf("seed %d: sound house starts %d times in the hour from %v", seed, k, f.From)
			}
		}
		if n, _ := starts(sober, 0, day); n > 20 {
			t.Errorf("seed %d: sound house starts %d times a day", seed, n)
		}
	}
}

// The demo locks out on both cold mornings, after exactly as many attempts as the boiler makes; the first lockout is
// reset by hand one to two hours later, the second over the bus; no flame burns in either.
func TestDemoLocksOutTwice(t *testing.T) {
	t.Parallel()
	s := coldMornings()
	for seed := uint64(1); seed <= 5; seed++ {
		tr := walk(s, seed, nil)
		if len(tr.Lockouts) != 2 {
			t.Fatalf("seed %d: lockouts %+v", seed, tr.Lockouts)
		}
		for i, l := range tr.Lockouts {
			failed := 0
			for _, a := range tr.Attempts {
				if a.At <= l.From && a.At > l.From-10*time.Minute {
					failed++
				}
			}
			if failed != s.Boiler.Attempts || l.Attempts != s.Boiler.Attempts {
				t.Errorf("seed %d: lockout %d after %d attempts (%d noted), want %d", seed, i, failed, l.Attempts, s.Boiler.Attempts)
			}
			if l.Cause != "ignition" || l.Open || int(l.From/day) != i+1 || l.Duration() < time.Hour || l.Duration() > 2*time.Hour {
				t.Errorf("seed %d: lockout %d: %+v", seed, i, l)
			}
			if want := [...]episode.Reset{episode.ResetByHand, episode.ResetCommand}[i]; l.Reset != want {
				t.Errorf("seed %d: lockout %d reset %q, want %q", seed, i, l.Reset, want)
			}
			for _, f := range tr.Firings {
				if f.To > l.From && f.From < l.To {
					t.Errorf("seed %d: firing %v–%v in lockout %d", seed, f.From, f.To, i)
				}
			}
		}
	}
}

// Failed attempts below the limit never lock out.
func TestRetriesDoNotLockOut(t *testing.T) {
	t.Parallel()
	s := retries()
	tr := walk(s, 1, nil)
	if len(tr.Lockouts) != 0 || len(tr.Attempts) != 2*2+2*3+3*2 {
		t.Errorf("lockouts %+v, %d failed attempts, want none and 16", tr.Lockouts, len(tr.Attempts))
	}
	short := 0
	for _, a := range tr.Attempts {
		if a.Flame > 0 {
			short++
		}
	}
	if short != 6 {
		t.Errorf("%d attempts with a short flame, want 6", short)
	}
}

func TestFlameLossRecyclesThenLocksOut(t *testing.T) {
	t.Parallel()
	s := flameLoss()
	tr := walk(s, 1, nil)
	lost := 0
	for _, f := range tr.Firings {
		if f.End == episode.EndFlameLoss {
			lost++
		}
	}
	if lost != 11 || len(tr.Lockouts) != 1 || tr.Lockouts[0].Cause != "flame-loss" || tr.Lockouts[0].Attempts != s.Boiler.Attempts {
		t.Errorf("%d flames lost, want 3 + 8; lockouts %+v", lost, tr.Lockouts)
	}
}

// The silent adapter is silent for forty minutes in which the house is being heated; switched live goes dark exactly
// when nothing is asked for.
func TestSilences(t *testing.T) {
	t.Parallel()
	tr := walk(silentAdapter(), 1, nil)
	if len(tr.Silences) != 1 || tr.Silences[0].Duration() != 40*time.Minute || tr.Silences[0].Reason != episode.SilenceUnexplained {
		t.Fatalf("silences %+v", tr.Silences)
	}
	gap, burning := tr.Silences[0], time.Duration(0)
	for _, f := range tr.Firings {
		burning += max(0, min(f.To, gap.To)-max(f.From, gap.From))
	}
	if burning < 20*time.Minute {
		t.Errorf("the burner ran only %v of the silence", burning)
	}

	live := walk(switchedLive(), 1, func(st State) {
		if asked := st.Demand || st.HotWater; st.Powered != asked || (st.Flame || st.Pump) && !st.Powered {
			t.Fatalf("at %v: powered %v, asked %v, flame %v, pump %v", st.At, st.Powered, asked, st.Flame, st.Pump)
		}
	})
	long := 0
	for _, s := range live.Silences {
		if s.Reason != episode.SilenceNoMains {
			t.Errorf("silence %+v, want no mains", s)
		}
		if s.Duration() > 10*time.Minute {
			long++
		}
	}
	if long < 3 {
		t.Errorf("%d long stretches without mains in three days", long)
	}
}
