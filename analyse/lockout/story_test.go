package lockout_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/lockout"
)

// fires is a start that works: heat asked for, half an hour of flame.
const fires = "0:00 heat-demand 1\n0:00:40 flame 1\n0:30:40 flame 0 heat-demand 0\n"

// TestStory: everything that is known of the hours before stands in order, and what is not known does not.
func TestStory(t *testing.T) {
	script := `
		0:00 flame 0 fault 0 heat-demand 0 flow 30 return 29 pressure 1.4 outside -2 hot-water-active 0
		1:00 hot-water-active 1
		1:20 hot-water-active 0
		2:00 heat-demand 1 pressure 1.1
		2:00:40 flame 1
		2:40 flame 0 heat-demand 0
		6:00 heat-demand 1
		6:00:40 flame 1
		6:00:45 flame 0
		6:02 fault 1 fault-flags 10 fault-code 133 diagnostic-code 5
		7:15 fault 0
		8:00 fault 0`
	c := analysetest.Case{Script: script, Plant: analyse.Plant{Kind: "boiler", HotWater: analyse.InstantaneousHotWater},
		Codes: map[int]string{133: "no flame seen"},
		Marks: []analyse.Mark{{At: analysetest.At("6:20"), Text: "cold shower"}, {At: analysetest.At("7:14"), Text: "reset pressed"}, {At: analysetest.At("20:00"), Text: "much later"}}}
	f := analysetest.Finding(analysetest.Run(t, c, lockout.Check()), "lockout")
	if f == nil {
		t.Fatal("no lockout")
	}
	e := f.Evidence[0]
	all := strings.Join(e.Before, "\n")
	at := -1
	for _, want := range []string{
		"it has been freezing outside, for at least 6 h", "hot water was last made, for 20 min", "the last firing that held ended, 3 h 22 min before",
		"heat was asked for", "a flame for 5 s, then none", "radiators cooling since Mon 12 Jan 02:40", "no hot water at the taps", "outside −2.0 °C",
		"noted by a person: “cold shower”", "noted by a person: “reset pressed”",
	} {
		i := strings.Index(all, want)
		if i < 0 {
			t.Errorf("the story is\n%s\nwithout %q", all, want)
		}
		if i < at {
			t.Errorf("the story is\n%s\nwith %q too early", all, want)
		}
		at = i
	}
	if strings.Contains(all, "much later") {
		t.Errorf("a note of another day in\n%s", all)
	}
	if !strings.Contains(e.Note, "133, by the job sheet “no flame seen”") || !strings.Contains(e.Note, "diagnostic code 5") {
		t.Errorf("note is %q", e.Note)
	}
}

// TestCausesBehind: signatures are the trade's (common practice, no source).
func TestCausesBehind(t *testing.T) {
	quiet := "0:00 flame 0 fault 0 heat-demand 0 flow 40 return 35 pressure 1.5 outside 6 failed-starts 3\n"
	locks := func(flame bool) string {
		if flame {
			return "0:00 heat-demand 1\n0:00:40 flame 1\n0:00:45 flame 0\n0:01:20 flame 1\n0:01:24 flame 0\n0:02 fault 1 fault-flags 10\n1:00 fault 0 heat-demand 0\n"
		}
		return "0:00 heat-demand 1\n0:01:20 failed-starts 6\n0:02 fault 1 fault-flags 10\n1:00 fault 0 heat-demand 0\n"
	}
	mild := analysetest.Repeat("1:00", 5, 2*time.Hour, fires)
	for _, c := range []struct{ name, script, cause, behind, because string }{
		{"flames in frost", quiet + mild + "12:00 outside -5\n" + analysetest.Repeat("18:00", 1, time.Hour, locks(true)) + "22:00 fault 0", "ignition", "frozen-condensate", "flames came and went"},
		{"no flame in any attempt", quiet + mild + analysetest.Repeat("18:00", 1, time.Hour, locks(false)) + "22:00 fault 0", "ignition", "gas-supply", "no flame came"},
		{"flames that do not hold in mild weather", quiet + mild + analysetest.Repeat("18:00", 1, time.Hour, locks(true)) + "22:00 fault 0", "ignition", "electrode", "mild weather"},
		{"pressure falling to its end", quiet + mild + "8:30 pressure 1.0\n12:00 pressure 0.3 fault 1 fault-flags 4\n13:00 pressure 1.4 fault 0\n15:00 fault 0", "low-pressure", "leak", "fell from 1.50 bar"},
		{"return that does not follow", quiet + mild + "12:00 heat-demand 1 flame 1\n12:02 flow 97 return 30\n12:02:10 flame 0 fault 1 fault-flags 34\n13:00 fault 0 flow 50\n15:00 fault 0", "overheat", "no-circulation", "return did not follow"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := analysetest.Run(t, analysetest.Case{Script: c.script, Plant: analyse.Plant{Kind: "boiler"}}, lockout.Check())
			f := analysetest.Finding(r, "lockout")
			if f == nil {
				t.Fatal("no lockout")
			}
			if f.Cause != c.cause || f.Causes[0].Cause != c.cause || f.Evidence[0].Cause != c.cause {
				t.Errorf("cause %q, causes %+v", f.Cause, f.Causes)
			}
			if len(f.Causes) < 2 || f.Causes[1].Cause != c.behind || !strings.Contains(f.Causes[1].Because, c.because) {
				t.Errorf("behind it: %+v, want %s because %q", f.Causes, c.behind, c.because)
			}
		})
	}
}

// TestWhatDiffered: four lockouts on cold mornings against starts at all temperatures; and the same too few.
func TestWhatDiffered(t *testing.T) {
	month := func(days int, lockedWhen func(day int) (cold bool, locked bool)) string {
		s := "0:00 flame 0 fault 0 heat-demand 0 flow 30 return 28 pressure 1.5 outside 5 failed-starts 0\n"
		for d := range days {
			cold, locked := lockedWhen(d)
			out := 4 + d%5
			if cold {
				out = -6 - d%3
			}
			s += fmt.Sprintf("%d:00 outside %d\n", 24*d, out)
			if locked {
				s += analysetest.Repeat(fmt.Sprintf("%d:00", 24*d+5+d%3), 1, time.Hour, "0:00 heat-demand 1\n0:02 fault 1 fault-flags 10\n1:00 fault 0 heat-demand 0")
			}
			s += analysetest.Repeat(fmt.Sprintf("%d:00", 24*d+7+d%3), 3, 5*time.Hour, fires)
		}
		return s + fmt.Sprintf("%d:00 fault 0", 24*days)
	}
	run := func(t *testing.T, s string) (*analyse.Finding, string) {
		r := analysetest.Run(t, analysetest.Case{Script: s, Step: 20 * time.Second, Plant: analyse.Plant{Kind: "boiler"}}, lockout.Check())
		f := analysetest.Finding(r, "lockout")
		if f == nil {
			t.Fatal("no lockout")
		}
		var steps string
		for _, x := range analysetest.Outcome(t, r, "lockout").Steps {
			steps += fmt.Sprintf("%s, %s: %s\n", x.Topic, x.What, x.Text)
		}
		return f, steps
	}
	f, steps := run(t, month(16, func(d int) (bool, bool) { return d%4 == 3, d%4 == 3 }))
	if b := f.Causes[0].Because; !strings.Contains(b, "outside −6.5 °C against 5.0 °C (p = 0.028)") || !strings.Contains(b, "need not be its cause") {
		t.Errorf("because is %q\n%s", b, steps)
	}
	f, steps = run(t, month(6, func(d int) (bool, bool) { return d%4 == 3, d%4 == 3 }))
	if strings.Contains(f.Causes[0].Because, "different") || !strings.Contains(steps, "3 or more are needed") {
		t.Errorf("one occasion: %q\n%s", f.Causes[0].Because, steps)
	}
	// A look-alike: lockouts without regard to the weather.
	f, steps = run(t, month(16, func(d int) (bool, bool) { return d%4 == 3, d%5 == 2 }))
	if strings.Contains(f.Causes[0].Because, "outside") {
		t.Errorf("by chance alone: %q\n%s", f.Causes[0].Because, steps)
	}
}
