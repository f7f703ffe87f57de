package house

import (
	"testing"
	"time"

	"tundish/analyse/episode"
)

// What the bus shows of blocks and of lockouts without failed attempts is the truth: fault bit and flags of data id 5
// (OpenTherm Protocol Specification v2.2, 5.3.1), an open interlock not at all; no flame and no mode meanwhile.
func TestBusTellsOfBlocks(t *testing.T) {
	t.Parallel()
	const late = 2400 * time.Millisecond
	s := sound()
	s.Days = 1
	s.Faults.Blocked = []BlockFault{
		{Window{clock(0, 5, 0), clock(0, 5, 40)}, BlockAirPressure, false},
		{Window{clock(0, 9, 0), clock(0, 9, 30)}, BlockInterlock, false},
		{Window{clock(0, 11, 0), clock(0, 12, 30)}, BlockAirPressure, true},
	}
	s.Faults.OwnSensor = []SensorFault{{Window: Window{clock(0, 15, 0), clock(0, 15, 45)}, Ails: OpenWire}}
	frames, _, tr := collect(t, s, 1)
	if len(tr.Blocks) != 2 || len(tr.Lockouts) != 2 || tr.Lockouts[0].Cause != episode.CauseAirPressure ||
		tr.Lockouts[1].Cause != episode.CauseSensor {
		t.Fatalf("blocks %+v, lockouts %+v", tr.Blocks, tr.Lockouts)
	}
	want := []struct {
		span Span
		word uint16
	}{{tr.Blocks[0].Span, pair(flagAirPressure, 65)}, {tr.Lockouts[0].Span, pair(flagAirPressure|flagResetAllowed, 65)},
		{tr.Lockouts[1].Span, pair(flagResetAllowed, 66)}}
	faults := statusSpans(frames, 1)
	if len(faults) != len(want) {
		t.Fatalf("the bus shows %+v", faults)
	}
	for i, w := range want {
		if from, to := faults[i].From-w.span.From, faults[i].To-w.span.To; from < 0 || from > late || to < 0 || to > late {
			t.Errorf("fault %+v is seen as %+v", w.span, faults[i])
		}
		asked := 0
		for _, f := range frames {
			if f.at < w.span.From+late || f.at > w.span.To {
				continue
			}
			if f.id() == idStatus && f.kind() == readAck && f.value()&0xFF != 1 {
				t.Fatalf("status %04X in fault at %v", f.value(), f.at)
			}
			if f.id() == idFault && f.kind() == readAck {
				if asked++; f.value() != w.word {
					t.Errorf("fault word %04X, want %04X", f.value(), w.word)
				}
			}
		}
		if asked == 0 {
			t.Errorf("nobody asked in %+v", w.span)
		}
	}
	rail := 0
	for _, f := range frames {
		if f.id() == 25 && f.kind() == readAck && f.value() == f88(-40, 0) {
			rail++
		}
	}
	if rail < 200 {
		t.Errorf("−40 °C was read %d times", rail)
	}
	for _, b := range append(tr.Blocks, Block{Span: tr.Lockouts[0].Span}, Block{Span: tr.Lockouts[1].Span}) {
		noFiringIn(t, tr, b.Span)
	}
}

// The block follows the system's own pressure: a leak, and later a person who lets water in. Without one it lasts.
func TestPressureOfTheSystemBlocks(t *testing.T) {
	t.Parallel()
	s := sound()
	s.Boiler.MinPressureBar = 0.7
	s.Faults.Leak = []Leak{{Window: Window{clock(0, 2, 0), clock(0, 10, 0)}, LPerDay: 12}}
	for _, filled := range []bool{true, false} {
		if s.Faults.Refills = nil; filled {
			s.Faults.Refills = []Refill{{At: clock(0, 12, 0), ToBar: 1.4}}
		}
		h := New(s, 1)
		for h.Now() < 14*time.Hour {
			h.Step()
			if st := h.State(); st.Blocked && (st.Pump || st.Flame) || st.Pressure < 0.65 && !st.Blocked {
				t.Fatalf("at %v: %+v", st.At, st)
			}
		}
		tr := h.Truth()
		if !filled {
			if len(tr.Blocks) != 1 || !tr.Blocks[0].Open || tr.Blocks[0].Cause != episode.CauseLowPressure || len(tr.Lockouts) != 0 {
				t.Errorf("lockouts %+v, blocks %+v", tr.Lockouts, tr.Blocks)
			}
			continue
		}
		if len(tr.Lockouts) != 1 || len(tr.Blocks) != 0 || len(tr.Refills) != 1 {
			t.Fatalf("lockouts %+v, blocks %+v, refills %v", tr.Lockouts, tr.Blocks, tr.Refills)
		}
		if l := tr.Lockouts[0]; l.Reset != episode.ResetRefill || l.To < clock(0, 12, 0) || l.To > clock(0, 12, 10) || l.From < clock(0, 2, 0) ||
			l.From > clock(0, 10, 0) {
			t.Errorf("%+v", l)
		}
	}
}

// A flame lost again and again locks out; the person comes when the fault says, or after an hour.
func TestFlameLossReset(t *testing.T) {
	for _, c := range []struct{ says, want time.Duration }{{0, time.Hour}, {25 * time.Minute, 25 * time.Minute}} {
		f := FaultSpec{FlameLoss: []FlameLossFault{{Window: Window{0, time.Hour}, After: 20 * time.Second, Times: 5, ResetAfter: c.says}}}
		p := newPlant(matched().Boiler, f, 1)
		tr := p.run(3*time.Hour, nil)
		if len(tr.Lockouts) != 1 || tr.Lockouts[0].Cause != episode.CauseFlameLoss || tr.Lockouts[0].Attempts != 5 ||
			tr.Lockouts[0].Duration() != c.want || tr.Lockouts[0].Flags != flagGasFlame|flagResetAllowed {
			t.Errorf("lockouts %+v", tr.Lockouts)
		}
		for _, f := range tr.Firings[:5] {
			if f.End != episode.EndFlameLoss {
				t.Errorf("%+v", f)
			}
		}
	}
}
