package house

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tundish/analyse/episode"
)

// plant is a boiler alone, whose water the test moves: for what the control does and not what the house does.
type plant struct {
	boiler boiler
	faults *faults
	story  chronicle
	now    time.Duration
	water  float64 // °C
	lossK  float64 // K/s of cooling
	ask    asked
	gasS   time.Duration // gas without a flame, so far
}

func newPlant(s BoilerSpec, f FaultSpec, seed uint64) *plant {
	p := &plant{faults: newFaults(&f, seed), water: 30, lossK: 0.1,
		ask: asked{powered: true, heating: true, heatingSP: 50, hotWaterSP: 65, outside: -4, pressure: 1.3}}
	spec := s
	p.boiler = newBoiler(&spec, p.water)
	return p
}

func (p *plant) second() happened {
	p.faults.weather(p.now, p.ask.outside)
	h := p.boiler.step(p.now, p.ask, p.faults)
	p.story.note(p.now, &p.boiler, h, seen{demand: p.ask.heating, hotWater: p.boiler.mode == modeHotWater})
	p.water += p.boiler.outputKW/20 - p.lossK*math.Copysign(1, p.water-20)
	p.boiler.sense(p.now, p.water, p.water, p.water-10, p.faults)
	p.story.watch(p.now, &p.boiler, p.water, p.boiler.mode == modeHeating)
	if p.gasS += time.Second; !p.boiler.gas() || p.boiler.flame() {
		p.gasS = 0
	}
	p.now += time.Second
	return h
}

// The terms of EN 298, whatever is asked for and whatever fails: gas without a flame never longer than the safety time;
// no more tries than the control allows in one sequence; nothing burns and no gas flows in lockout; a lockout ends by a
// reset alone; firings never overlap, and no two things happen in one second.
func TestIgnitionRules(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seconds := func(low, high int, what string) time.Duration {
			return time.Duration(rapid.IntRange(low, high).Draw(t, what)) * time.Second
		}
		s := matched().Boiler
		s.Attempts = rapid.IntRange(3, 7).Draw(t, "attempts")
		s.SafetyTime, s.LightAfter = seconds(2, 10, "safety time"), seconds(1, 11, "light after")
		s.Prepurge, s.RetryPause = seconds(1, 30, "prepurge"), seconds(1, 60, "pause")
		f := FaultSpec{
			Ignition: []IgnitionFault{{Window: Window{0, 2 * time.Hour}, BelowC: 0, Chance: rapid.Float64Range(0.05, 0.99).Draw(t, "chance"),
				Flame: seconds(0, 4, "flame"), Sequences: 1000}},
			FlameLoss: []FlameLossFault{{Window: Window{20 * time.Minute, time.Hour}, After: seconds(5, 90, "after"), Times: 6}},
			Blocked:   []BlockFault{{Window: Window{70 * time.Minute, 80 * time.Minute}, Cause: BlockInterlock}},
		}
		p := newPlant(s, f, rapid.Uint64().Draw(t, "seed"))
		toggles := rapid.SliceOfN(rapid.IntRange(20, 1200), 10, 10).Draw(t, "toggles")
		next, i, tries := time.Duration(toggles[0])*time.Second, 0, 0
		wasLocked := false
		for p.now < 100*time.Minute {
			if p.now >= next && i+1 < len(toggles) {
				i++
				next += time.Duration(toggles[i]) * time.Second
				p.ask.heating, p.ask.hotWater = i%2 == 0, i%3 == 2
			}
			reset := p.boiler.locked() && p.now >= p.boiler.resetAt
			if reset {
				p.boiler.unlock(p.now)
				p.story.unlock(p.now, episode.ResetByHand)
			}
			before := p.boiler.phase
			h := p.second()
			if p.boiler.phase == phaseSpark && before != phaseSpark {
				tries++
			}
			if h.lit || h.gaveUp || reset || p.boiler.phase == phaseOff {
				tries = 0
			}
			if tries > s.Attempts || h.failed && tries == s.Attempts && !h.locked {
				t.Fatalf("at %v: try %d of %d", p.now, tries, s.Attempts)
			}
			if p.gasS > s.SafetyTime+time.Second {
				t.Fatalf("at %v: gas for %v without a flame", p.now, p.gasS)
			}
			if p.boiler.locked() && (p.boiler.gas() || p.boiler.running() || p.boiler.outputKW != 0) {
				t.Fatalf("at %v: fires in lockout", p.now)
			}
			if wasLocked && !p.boiler.locked() && !reset {
				t.Fatalf("at %v: the lockout ended by itself", p.now)
			}
			if p.boiler.interlock && p.boiler.running() {
				t.Fatalf("at %v: fires with the interlock open", p.now)
			}
			wasLocked = p.boiler.locked()
			n := 0
			for _, is := range []bool{h.lit, h.out, h.lost, h.failed} {
				n += btoi(is)
			}
			if n > 1 {
				t.Fatalf("at %v: %+v", p.now, h)
			}
		}
		tr := p.story.close(p.now)
		for i, f := range tr.Firings {
			if f.To < f.From || i > 0 && f.From < tr.Firings[i-1].To {
				t.Fatalf("firings %+v", tr.Firings)
			}
			for _, l := range tr.Lockouts {
				if f.To > l.From && f.From < l.To {
					t.Fatalf("firing %+v in lockout %+v", f, l)
				}
			}
		}
		for i, a := range tr.Attempts {
			if a.Next == ThenUnknown && i < len(tr.Attempts)-s.Attempts {
				t.Fatalf("attempt %+v of %d has no outcome", a, len(tr.Attempts))
			}
		}
		for _, l := range tr.Lockouts {
			if l.Attempts != s.Attempts {
				t.Fatalf("lockout %+v after other than %d", l, s.Attempts)
			}
		}
	})
}

// A chance of one half: half of the attempts fail, and 1/2^5 of the sequences lock out. 3 standard deviations.
func TestChanceOfFailing(t *testing.T) {
	f := FaultSpec{Ignition: []IgnitionFault{{Window: Window{0, 10 * day}, BelowC: 0, Chance: 0.5, Sequences: 1 << 30, ResetAfter: time.Minute}}}
	p := newPlant(matched().Boiler, f, 7)
	p.boiler.spec.RetryPause, p.boiler.spec.AntiCycle = time.Second, 0
	p.boiler.spec.OutputMinKW, p.boiler.spec.IgnitionKW = 6, 6 // cycles every few minutes
	lit, failed, locked := 0.0, 0.0, 0.0
	for p.now < 7*day {
		if p.boiler.locked() && p.now >= p.boiler.resetAt {
			p.boiler.unlock(p.now)
		}
		h := p.second()
		lit, failed, locked = lit+float64(btoi(h.lit)), failed+float64(btoi(h.failed)), locked+float64(btoi(h.locked))
	}
	n, sequences := lit+failed, lit+locked
	if n < 3000 {
		t.Fatalf("%v attempts", n)
	}
	near(t, "share that fails", failed/n, 0.5, 3*0.5/math.Sqrt(n))
	near(t, "share that locks out", locked/sequences, 1.0/32, 3*math.Sqrt(1.0/32/sequences))
}

// A condensate pipe freezes when it has been cold for hours, not at the first frost.
func TestColdFor(t *testing.T) {
	f := FaultSpec{Ignition: []IgnitionFault{{Window: Window{0, day}, BelowC: -2, ColdFor: 2 * time.Hour, Fails: 5, Sequences: 9}}}
	p := newPlant(matched().Boiler, f, 1)
	p.lossK = 0.2
	for p.now < 5*time.Hour && !p.boiler.locked() {
		if p.ask.outside = 2; p.now > time.Hour {
			p.ask.outside = -3
		}
		p.second()
	}
	if at := p.now; at < 3*time.Hour || at > 3*time.Hour+30*time.Minute {
		t.Errorf("locked out at %v, want soon after 3 h", at)
	}
	for _, a := range p.story.close(p.now).Attempts {
		if a.Next != ThenLockout {
			t.Errorf("attempt %+v", a)
		}
	}
}

// What becomes of failed attempts: a later one holds, the boiler locks out, or nobody wants heat any more.
func TestOutcomesOfAttempts(t *testing.T) {
	for _, c := range []struct {
		fails  int
		stopAt time.Duration
		want   AttemptOutcome
		n      int
	}{{2, 0, ThenLit, 2}, {5, 0, ThenLockout, 5}, {5, time.Minute, ThenGivenUp, 2}} {
		f := FaultSpec{Ignition: []IgnitionFault{{Window: Window{0, day}, BelowC: 0, Fails: c.fails, Sequences: 1}}}
		p := newPlant(matched().Boiler, f, 1)
		for p.now < 4*time.Minute {
			p.ask.heating = c.stopAt == 0 || p.now < c.stopAt
			p.second()
		}
		tr := p.story.close(p.now)
		if len(tr.Attempts) != c.n {
			t.Errorf("%d attempts, want %d", len(tr.Attempts), c.n)
		}
		for _, a := range tr.Attempts {
			if a.Next != c.want {
				t.Errorf("%d fail, stop at %v: attempt %+v", c.fails, c.stopAt, a)
			}
		}
	}
}
