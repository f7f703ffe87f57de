package circulation_test

import (
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/circulation"
	"tundish/analyse/episode"
)

// A contact on the pump's live tells what the pump was told, beside a bus that says nothing of it, and how long it ran on.
func TestPumpByContact(t *testing.T) {
	for _, c := range []struct {
		name, off, on string
		says          string
	}{
		{"the pump has its live", "0", "1", "the pump was said to run"},
		{"the pump has none", "0", "0", "the pump was said to be off in"},
	} {
		script := strings.Replace(asked, "return 20", "return 20 live/pump "+c.off, 1)
		script += analysetest.Repeat("0:10", 8, 20*time.Minute, "0:00 live/pump "+c.on+still) + "3:20 flame 0"
		r := analysetest.Run(t, analysetest.Case{Script: script, Plant: plant, Contacts: []string{"live/pump"}}, circulation.Check())
		f := analysetest.Finding(r, "no-circulation")
		if f == nil {
			t.Fatalf("%s: %s", c.name, analysetest.Outcome(t, r, "no-circulation").Because)
		}
		text := ""
		for _, x := range f.Causes {
			text += x.Cause + ": " + x.Because + "; "
		}
		if !strings.Contains(text, c.says) {
			t.Errorf("%s: causes are %s", c.name, text)
		}
	}
}

// The pump's contact tells an overrun to the second, with a call by a contact and no bus at all.
func TestOverrunByContact(t *testing.T) {
	script := "0:00 call/heat-demand 0 live/pump 0 gas/flame 0 probes/flow 30 probes/return 28\n" +
		"1:00 call/heat-demand 1 live/pump 1\n1:01 gas/flame 1 probes/flow 55\n2:00:07 call/heat-demand 0 gas/flame 0\n2:04:19 live/pump 0\n3:00 probes/flow 30"
	r := analysetest.Run(t, analysetest.Case{Script: script, Plant: plant, Step: time.Second, Contacts: []string{"call/heat-demand", "live/pump", "gas/flame"}})
	if len(r.Facts.Overruns) != 1 {
		t.Fatalf("overruns %+v", r.Facts.Overruns)
	}
	o := r.Facts.Overruns[0]
	if o.Basis != episode.ByFlame || o.After != episode.Heating || o.From.Sub(analysetest.At("2:00:07")).Abs() > 5*time.Second || o.To.Sub(analysetest.At("2:04:19")).Abs() > time.Second {
		t.Errorf("overrun %+v", o)
	}
}

// Firings by a flame contact are those of the flame, to the second, where shape would blur them; without a bus.
func TestFiringsByContact(t *testing.T) {
	script := "0:00 gas/flame 0 probes/flow 30 probes/return 28\n" +
		analysetest.Repeat("0:30", 10, 20*time.Minute, "0:00:03 gas/flame 1\n0:01 probes/flow 40\n0:02 probes/flow 50 probes/return 38\n0:02:11 gas/flame 0\n0:04 probes/flow 42\n0:10 probes/flow 34 probes/return 30") +
		"4:30 gas/flame 1\n4:30:04 gas/flame 0\n4:30:40 gas/flame 1\n4:50 gas/flame 0\n5:00 probes/flow 30"
	r := analysetest.Run(t, analysetest.Case{Script: script, Plant: analyse.Plant{HotWater: analyse.NoHotWater}, Step: time.Second, Contacts: []string{"gas/flame"}})
	if len(r.Facts.Firings) != 11 || len(r.Facts.Attempts) != 1 {
		t.Fatalf("%d firings, %d attempts: %+v", len(r.Facts.Firings), len(r.Facts.Attempts), r.Facts.Firings)
	}
	for i, f := range r.Facts.Firings[:10] {
		from := analysetest.At("0:30:03").Add(time.Duration(i) * 20 * time.Minute)
		if f.Basis != episode.ByFlame || f.From.Sub(from).Abs() > time.Second || f.To.Sub(from.Add(128*time.Second)).Abs() > time.Second {
			t.Errorf("firing %d: %+v, want from %v for 128 s", i, f.Span, from)
		}
	}
	if a := r.Facts.Attempts[0]; (a.Flame-4*time.Second).Abs() > time.Second || a.Then != episode.ThenLit {
		t.Errorf("attempt %+v", a)
	}
}

// The bus falls silent in a burn, and a contact goes on telling of the flame: one firing, which ends when the contact says.
// A source that was not looked at meanwhile begins another, and the first is not lost.
func TestFlameGoesOn(t *testing.T) {
	script := "0:00 flame 0 flow 30 return 28 gas/flame 0\n1:00 flame 1 gas/flame 1 flow 55 return 40\n1:20 boiler/* -\n1:50 gas/flame 0\n3:00 flame 0 flow 30 return 28"
	for _, contacts := range [][]string{{"gas/flame"}, nil} {
		r := analysetest.Run(t, analysetest.Case{Script: script, Plant: analyse.Plant{HotWater: analyse.NoHotWater}, Contacts: contacts})
		f := r.Facts.Firings
		if want := 2 - len(contacts); len(f) != want {
			t.Fatalf("contacts %v: %d firings, want %d: %+v", contacts, len(f), want, f)
		}
		if d := f[0].From.Sub(analysetest.At("1:00")).Abs(); d > 5*time.Second {
			t.Errorf("contacts %v: begins at %v", contacts, f[0].From)
		}
		if d := f[len(f)-1].To.Sub(analysetest.At("1:50")).Abs(); d > 5*time.Second {
			t.Errorf("contacts %v: ends at %v", contacts, f[len(f)-1].To)
		}
	}
}
