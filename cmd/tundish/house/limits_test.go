package house

import (
	"testing"
	"time"

	"tundish/analyse/episode"
)

// still is the demo's house with nothing moving in the circuit.
func still() Scenario {
	s := oversized()
	s.Days, s.HotWater = 1, HotWaterSpec{}
	s.Faults = FaultSpec{NoFlow: []Window{{0, day}}}
	return s
}

// Without circulation firings are short, end at a limit, and come back no sooner than the rest says; the exchanger does
// not reach the limiter. With a limiter set low, or a burner strong for its water, the limiter trips: a lockout of cause
// overheat, reset by hand once it has cooled.
func TestStandingWaterStopsTheBurner(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		change func(*BoilerSpec)
		locks  bool
	}{
		{"usual", func(*BoilerSpec) {}, false},
		{"limiter low", func(b *BoilerSpec) { b.OverheatC, b.SpreadLimitK, b.CasingWK = 60, 60, 0.6 }, true},
		{"no spread limit, slow sensor, strong", func(b *BoilerSpec) {
			b.Kind, b.SpreadLimitK, b.SensorTauS = OnOffBoiler, 0, 30
		}, true},
		{"strong for its water: the sensor learns of it too late", func(b *BoilerSpec) { b.WaterL, b.MetalJK, b.IgnitionKW = 0.8, 1e3, 20 }, true},
	} {
		s := still()
		c.change(&s.Boiler)
		s.Boiler.MinPressureBar = 0
		hottest, locked, top := 0.0, false, orUsual(s.Boiler.OverheatC, overheatUsual)
		tr := walkFor(s, 1, 12*time.Hour, func(st State) {
			hottest = max(hottest, st.Exchanger)
			if locked && !st.Locked && st.Exchanger > top-overheatBackK {
				t.Errorf("%s: reset at %v with the exchanger at %.1f °C", c.name, st.At, st.Exchanger)
			}
			locked = st.Locked
		})
		limit := 0
		for i, f := range tr.Firings {
			if f.Duration() > 2*time.Minute {
				t.Errorf("%s: firing of %v at %v", c.name, f.Duration(), f.From)
			}
			if f.End == episode.EndLimit {
				limit++
				if i+1 < len(tr.Firings) && tr.Firings[i+1].From-f.To < s.Boiler.AntiCycle {
					t.Errorf("%s: fires again %v after a limit", c.name, tr.Firings[i+1].From-f.To)
				}
			}
		}
		if locked := len(tr.Lockouts) > 0; locked != c.locks || !c.locks && limit < 5 {
			t.Errorf("%s: %d of %d firings ended at a limit, lockouts %+v", c.name, limit, len(tr.Firings), tr.Lockouts)
		}
		if over := hottest > top; over != c.locks || hottest > top+12 {
			t.Errorf("%s: the exchanger reached %.1f °C, limiter %.0f", c.name, hottest, top)
		}
		for _, l := range tr.Lockouts {
			if l.Cause != episode.CauseOverheat || l.Flags != flagOverheat|flagResetAllowed || l.Attempts != 0 {
				t.Errorf("%s: %+v", c.name, l)
			}
			if !l.Open && (l.Reset != episode.ResetByHand || l.Duration() < personSoonest) {
				t.Errorf("%s: %+v", c.name, l)
			}
		}
		for _, f := range tr.Firings {
			for _, l := range tr.Lockouts {
				if f.To == l.From && f.End != episode.EndFault {
					t.Errorf("%s: firing ended by %q at an overheat", c.name, f.End)
				}
			}
		}
	}
}

// run is a plant alone for so long; each second at is called before.
func (p *plant) run(until time.Duration, at func()) Truth {
	for p.now < until {
		if at != nil {
			at()
		}
		if b := &p.boiler; b.locked() && p.now >= b.resetAt && b.ready() {
			p.story.unlock(p.now, b.resetHow)
			b.unlock(p.now)
		}
		p.second()
	}
	return p.story.close(p.now)
}

// Short of water the burner is held off with the fault bit up and bit 2 of the flags (OpenTherm Protocol Specification
// v2.2, 5.3.1), until the pressure is 0.2 bar above. When a person let water in it counts as a lockout, else as a block.
func TestLowPressure(t *testing.T) {
	for _, filled := range []bool{true, false} {
		s := matched().Boiler
		s.MinPressureBar = 0.6
		p := newPlant(s, FaultSpec{}, 1)
		tr := p.run(4*time.Hour, func() {
			switch {
			case p.now < time.Hour:
			case p.now < 2*time.Hour:
				p.ask.pressure = 0.55
			case p.now < 3*time.Hour:
				p.ask.pressure = 0.79 // not yet
			case p.now == 3*time.Hour:
				if p.ask.pressure = 1.2; filled {
					p.story.refilled(p.now)
				}
			}
			if p.now > time.Hour && p.now < 3*time.Hour {
				if flags, code := p.boiler.fault(); flags != flagLowPressure || code != 64 || !p.boiler.shown() || p.boiler.running() ||
					p.boiler.pump(p.now, true, NoHotWater) != routeNone {
					t.Fatalf("at %v: flags %d, code %d, shown %v, running %v", p.now, flags, code, p.boiler.shown(), p.boiler.running())
				}
			}
		})
		span := Span{From: time.Hour, To: 3 * time.Hour}
		if filled {
			want := Lockout{Span: span, Cause: episode.CauseLowPressure, Flags: flagLowPressure, Code: 64, Reset: episode.ResetRefill}
			if len(tr.Blocks) != 0 || len(tr.Lockouts) != 1 || tr.Lockouts[0] != want || len(tr.Refills) != 1 {
				t.Errorf("filled: blocks %+v, lockouts %+v", tr.Blocks, tr.Lockouts)
			}
		} else if len(tr.Lockouts) != 0 || len(tr.Blocks) != 1 || tr.Blocks[0] != (Block{span, episode.CauseLowPressure, true}) {
			t.Errorf("not filled: blocks %+v, lockouts %+v", tr.Blocks, tr.Lockouts)
		}
		noFiringIn(t, tr, span)
		if end := tr.Firings[0].End; end != episode.EndFault && tr.Firings[0].To == time.Hour {
			t.Errorf("firing ended by %q", end)
		}
	}
}

func noFiringIn(t *testing.T, tr Truth, s Span) {
	t.Helper()
	before, after := 0, 0
	for _, f := range tr.Firings {
		if f.To > s.From && f.From < s.To {
			t.Errorf("firing %+v within %+v", f, s)
		}
		before, after = before+btoi(f.To <= s.From), after+btoi(f.From >= s.To)
	}
	if before == 0 || after == 0 {
		t.Errorf("%d firings before, %d after %+v", before, after, s)
	}
}

// Air pressure blocks from the first wish to the window's end, shown with bit 4; as a lockout it is reset then by hand.
// An open interlock shows nothing.
func TestBlocks(t *testing.T) {
	window := Window{time.Hour, 2 * time.Hour}
	for _, c := range []struct {
		fault BlockFault
		flags uint8
	}{{BlockFault{window, BlockAirPressure, false}, flagAirPressure}, {BlockFault{window, BlockAirPressure, true}, flagAirPressure | flagResetAllowed},
		{BlockFault{window, BlockInterlock, false}, 0}} {
		p := newPlant(matched().Boiler, FaultSpec{Blocked: []BlockFault{c.fault}}, 1)
		tr := p.run(3*time.Hour, func() {
			if p.now > 90*time.Minute && p.now < 2*time.Hour {
				if flags, _ := p.boiler.fault(); flags != c.flags || p.boiler.shown() != (c.flags != 0) {
					t.Fatalf("%+v: flags %d, shown %v", c.fault, flags, p.boiler.shown())
				}
			}
		})
		span := Span{}
		switch {
		case c.fault.Lockout:
			if len(tr.Lockouts) != 1 || len(tr.Blocks) != 0 {
				t.Fatalf("%+v: %+v %+v", c.fault, tr.Lockouts, tr.Blocks)
			}
			if l := tr.Lockouts[0]; l.Cause != episode.CauseAirPressure || l.Reset != episode.ResetByHand || l.Flags != c.flags {
				t.Errorf("%+v: %+v", c.fault, l)
			}
			span = tr.Lockouts[0].Span
		default:
			if len(tr.Blocks) != 1 || len(tr.Lockouts) != 0 || tr.Blocks[0].Shown != (c.fault.Cause == BlockAirPressure) {
				t.Fatalf("%+v: %+v %+v", c.fault, tr.Lockouts, tr.Blocks)
			}
			span = tr.Blocks[0].Span
		}
		if span.From < window.From || span.From > window.From+10*time.Minute || span.To != window.To {
			t.Errorf("%+v: %+v", c.fault, span)
		}
		noFiringIn(t, tr, span)
	}
}

// Its own frost protection warms cold water a little, with nobody asking, and stops.
func TestFrostProtection(t *testing.T) {
	s := matched().Boiler
	s.FrostC, s.OutputMinKW, s.IgnitionKW = 5, 4, 4
	p := newPlant(s, FaultSpec{}, 1)
	p.ask.heating, p.water, p.lossK = false, 9, 0.01
	p.boiler = newBoiler(&s, 9)
	coldest, hottest := 100.0, 0.0
	tr := p.run(3*time.Hour, func() {
		if p.water < 20 { // the plant's water drifts to 20 °C: let it freeze
			p.water -= 2 * p.lossK
		}
		coldest, hottest = min(coldest, p.water), max(hottest, p.water)
	})
	if len(tr.Firings) < 3 || len(tr.Demands) != 0 {
		t.Errorf("%d firings, demands %+v", len(tr.Firings), tr.Demands)
	}
	if coldest < 0.5 || hottest > 20 {
		t.Errorf("water between %.1f and %.1f °C", coldest, hottest)
	}
	for _, f := range tr.Firings {
		if !f.Open && f.End != episode.EndDemand && f.End != episode.EndSetpoint {
			t.Errorf("%+v", f)
		}
	}
}

// After a stop because no water moved the burner rests, longer than the anti-cycle time; a stop at the set-point or
// a call for hot water knows no such rest.
func TestRestAfterStandingWater(t *testing.T) {
	s := matched().Boiler
	s.AntiCycle = 0
	p := newPlant(s, FaultSpec{}, 1)
	p.lossK = 0.3
	var stopped time.Duration
	tr := p.run(time.Hour, func() {
		if p.now > 20*time.Minute && stopped == 0 && p.boiler.phase == phaseRun {
			p.boiler.wide, stopped = spreadFor, p.now
		}
	})
	seen := 0
	for i, f := range tr.Firings[:len(tr.Firings)-1] {
		rest := tr.Firings[i+1].From - f.To
		if f.End == episode.EndLimit {
			if seen++; rest < standingRest || f.To != stopped {
				t.Errorf("%+v, then a rest of %v", f, rest)
			}
		}
	}
	if seen != 1 {
		t.Errorf("%d stops at a limit", seen)
	}
}

// A supply interruption ends a volatile lockout of the burner control, and never the limiter's.
func TestLimiterIsNeverVolatile(t *testing.T) {
	s := matched().Boiler
	for _, volatile := range []bool{true, false} {
		s.VolatileLockout = volatile
		b := newBoiler(&s, 20)
		for _, cause := range []string{episode.CauseIgnition, episode.CauseFlameLoss, episode.CauseOverheat, episode.CauseSensor} {
			b.cause = cause
			if got, want := b.volatile(), volatile && cause != episode.CauseOverheat; got != want {
				t.Errorf("%s, control volatile %v: %v", cause, volatile, got)
			}
		}
	}
}
