package house

import (
	"testing"
	"time"

	"tundish/analyse/episode"
)

// lockedOut locks out on the first morning.
func lockedOut(reset episode.Reset, after time.Duration) Scenario {
	s := sound()
	s.Days = 1
	s.Faults.Ignition = []IgnitionFault{{Window: Window{clock(0, 5, 0), clock(0, 9, 0)}, BelowC: 30, Fails: 5, Sequences: 1,
		ResetAfter: after, Reset: reset}}
	return s
}

// How lockouts end: by hand, over the bus, by the spur turned off and on where the lockout is volatile (else the button
// is pressed a minute later), by a power cut, and in a house with switched live when the thermostat lets go.
func TestResets(t *testing.T) {
	t.Parallel()
	const after = 50 * time.Minute
	for _, c := range []struct {
		name     string
		reset    episode.Reset
		volatile bool
		change   func(*Scenario)
		how      episode.Reset
		long     time.Duration // 0: any
		dark     int           // silences without mains
	}{
		{"by hand", episode.ResetByHand, false, nil, episode.ResetByHand, after, 0},
		{"no word of how", "", false, nil, episode.ResetByHand, after, 0},
		{"over the bus", episode.ResetCommand, false, nil, episode.ResetCommand, after, 0},
		{"slow bus", episode.ResetCommand, false, func(s *Scenario) { s.Bus.Every = 10 * time.Second }, episode.ResetCommand, after, 0},
		{"spur", episode.ResetPower, true, nil, episode.ResetPower, after + spurOff, 1},
		{"spur in vain", episode.ResetPower, false, nil, episode.ResetByHand, after + spurOff + buttonAfter, 1},
		{"power cut", episode.ResetByHand, true, func(s *Scenario) { s.Faults.Supply = []Window{{clock(0, 5, 30), clock(0, 5, 40)}} },
			episode.ResetPower, 0, 1},
		{"power cut in vain", episode.ResetByHand, false, func(s *Scenario) { s.Faults.Supply = []Window{{clock(0, 5, 30), clock(0, 5, 40)}} },
			episode.ResetByHand, after, 1},
		{"no mains when the person comes", episode.ResetByHand, false,
			func(s *Scenario) { s.Faults.Supply = []Window{{clock(0, 5, 30), clock(0, 9, 0)}} }, episode.ResetByHand, 0, 1},
	} {
		s := lockedOut(c.reset, after)
		s.Boiler.VolatileLockout = c.volatile
		if c.change != nil {
			c.change(&s)
		}
		tr := walkFor(s, 1, 12*time.Hour, func(st State) {
			if !st.Powered && (st.Flame || st.Pump || st.Running) {
				t.Fatalf("%s: at %v without mains: %+v", c.name, st.At, st)
			}
		})
		if len(tr.Lockouts) != 1 {
			t.Errorf("%s: lockouts %+v", c.name, tr.Lockouts)
			continue
		}
		l := tr.Lockouts[0]
		if l.Reset != c.how || l.Open || c.long > 0 && l.Duration() != c.long {
			t.Errorf("%s: %+v lasted %v, want %v, %q", c.name, l, l.Duration(), c.long, c.how)
		}
		if within(s.Faults.Supply, l.To) {
			t.Errorf("%s: reset at %v without mains", c.name, l.To)
		}
		dark := 0
		for _, q := range tr.Silences {
			dark += btoi(q.Reason == episode.SilenceNoMains)
		}
		if dark != c.dark || dark != len(tr.Silences) {
			t.Errorf("%s: silences %+v", c.name, tr.Silences)
		}
		noFiringIn(t, tr, l.Span)
	}
}

// With switched live a volatile lockout goes away whenever nothing is asked for and then something is again: it looks
// as if it had healed itself.
func TestSwitchedLiveClearsVolatileLockout(t *testing.T) {
	t.Parallel()
	s := switchedLive()
	s.Days = 1
	s.Boiler.VolatileLockout = true
	s.Faults.Ignition = []IgnitionFault{{Window: Window{0, day}, BelowC: 30, Fails: 5, Sequences: 2, ResetAfter: 20 * time.Hour}}
	s.HotWater, s.Room.SetbackC = HotWaterSpec{}, 10
	s.People.Away = []Window{{clock(0, 6, 0), clock(0, 7, 0)}, {clock(0, 9, 0), clock(0, 10, 0)}} // someone turns the thermostat down, and up again
	tr := walk(s, 1, nil)
	if len(tr.Lockouts) != 2 {
		t.Fatalf("lockouts %+v", tr.Lockouts)
	}
	for _, l := range tr.Lockouts {
		if l.Reset != episode.ResetPower || l.Duration() > 4*time.Hour {
			t.Errorf("%+v", l)
		}
	}
}

// Why nothing was to be heard: the logger did not run, no mains, the adapter lost and noted, the adapter dead.
func TestSilenceReasons(t *testing.T) {
	t.Parallel()
	s := sound()
	s.Faults.Adapter = []AdapterFault{{Window: Window{clock(0, 1, 0), clock(0, 3, 0)}}, {Window: Window{clock(0, 4, 0), clock(0, 5, 0)}, Noted: true}}
	s.Faults.Supply = []Window{{clock(0, 2, 0), clock(0, 2, 30)}}
	s.Faults.LoggerOff = []Window{{clock(0, 2, 15), clock(0, 3, 30)}}
	tr := walkFor(s, 1, 6*time.Hour, nil)
	want := []Silence{
		{Span{clock(0, 1, 0), clock(0, 2, 0), false}, episode.SilenceUnexplained},
		{Span{clock(0, 2, 0), clock(0, 2, 15), false}, episode.SilenceNoMains},
		{Span{clock(0, 2, 15), clock(0, 3, 30), false}, episode.SilenceLogger},
		{Span{clock(0, 4, 0), clock(0, 5, 0), false}, episode.SilenceAdapter},
	}
	if len(tr.Silences) != len(want) {
		t.Fatalf("silences %+v", tr.Silences)
	}
	for i, w := range want {
		if tr.Silences[i] != w {
			t.Errorf("silence %+v, want %+v", tr.Silences[i], w)
		}
	}
}
