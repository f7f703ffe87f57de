package demand_test

import (
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/cycling"
	"tundish/analyse/demand"
	"tundish/decode"
)

// callOnly is a bus that says all but who asks for heat, and a contact that tells its changes and nothing more.
const callOnly = "0:00 flame 0 flow-setpoint 55 flow 25 return 24 fault 0 hot-water-active 0 call/heat-demand 0\n"

// dark is a boiler that shows a flame by a contact, and two probes; nothing tells a set-point.
const dark = "0:00 call/heat-demand 0 gas/flame 0 probes/flow 24 probes/return 23\n"

func TestDemandByContact(t *testing.T) {
	contacts := []string{"call/heat-demand", "gas/flame"}
	cases := []struct {
		name, script string
		outcome      analyse.Outcome
		says         string
	}{
		{"asked for by the contact for an hour and a half, and nothing fires", callOnly + "1:00 call/heat-demand 1\n2:30 flame 1\n2:40 flow 50\n3:00 flow 54\n4:00 flame 0", analyse.Found, "1 h 30 min of demand"},
		{"the contact says that nobody asks: the water may be cold", callOnly + "0:30 call/heat-demand 1 flame 1\n0:40 flow 54\n1:40 call/heat-demand 0 flame 0\n1:50 flow 25\n9:00 flow 24", analyse.Clear, ""},
		{"the contact's broker is lost: who asks is not known", callOnly + "0:30 call/heat-demand 1 flame 1\n0:40 flow 54\n1:40 flame 0\n1:41 call/* lost\n1:50 flow 25\n9:00 flow 24", analyse.NotAssessable, ""},
		{"no bus: a flame contact, probes, and a call for two hours that nothing answers", dark + "1:00 call/heat-demand 1\n3:00 gas/flame 1\n3:10 probes/flow 55\n3:30 call/heat-demand 0 gas/flame 0\n4:00 probes/flow 30", analyse.Found, "set-point not known"},
		{"no bus: each call is answered, and more cannot be told", dark + analysetest.Repeat("1:00", 4, 2*time.Hour, "0:00 call/heat-demand 1\n0:01 gas/flame 1\n0:05 probes/flow 50\n1:00 call/heat-demand 0 gas/flame 0\n1:05 probes/flow 35") + "9:30 probes/flow 24", analyse.NotAssessable, "no flow set-point"},
		{"no bus: the water is lukewarm when the call comes, and the burner rests by right", dark + "1:00 call/heat-demand 1 probes/flow 35\n2:30 gas/flame 1\n3:00 probes/flow 50", analyse.NotAssessable, "no flow set-point"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := analysetest.Run(t, analysetest.Case{Script: c.script, Plant: radiators, Contacts: contacts}, demand.Check())
			got := analysetest.Outcome(t, r, "demand-not-met")
			text := got.Because
			if f := analysetest.Finding(r, "demand-not-met"); f != nil {
				text = f.Evidence[0].Note
			}
			if got.Outcome != c.outcome || !strings.Contains(text, c.says) {
				t.Fatalf("%v, %s; want %v, %q; %+v", got.Outcome, text, c.outcome, c.says, r.Facts.Unmet)
			}
		})
	}
}

// A bus that tells the demand and falls silent: the contact goes on, and what it said before is one demand with it.
func TestContactGoesOn(t *testing.T) {
	script := "0:00 flame 0 heat-demand 0 flow-setpoint 55 flow 25 return 24 fault 0 call/heat-demand 0 probes/flow 25\n" +
		"1:00 heat-demand 1 call/heat-demand 1\n2:00 boiler/* -\n4:00 call/heat-demand 0\n5:00 flame 0 heat-demand 0 flow 25 probes/flow 24"
	r := analysetest.Run(t, analysetest.Case{Script: script, Plant: radiators, Contacts: []string{"call/heat-demand"}}, demand.Check())
	if n := len(r.Facts.Demands); n != 1 {
		t.Fatalf("%d demands: %+v", n, r.Facts.Demands)
	}
	d := r.Facts.Demands[0]
	if e := d.From.Sub(analysetest.At("1:00")).Abs(); e > 10*time.Second {
		t.Errorf("begins at %v", d.From)
	}
	if e := d.To.Sub(analysetest.At("4:00")).Abs(); e > 10*time.Second || d.Open {
		t.Errorf("ends at %v, open %t", d.To, d.Open)
	}
}

// Bus and contact side by side: the bus counts, whoever spoke first, and that the two disagree is told.
func TestBusBeforeContact(t *testing.T) {
	script := "0:00 call/heat-demand 0\n0:01 flame 0 heat-demand 1 flow-setpoint 55 flow 54 return 44 fault 0\n3:00 call/heat-demand 1\n6:00 heat-demand 0"
	r := analysetest.Run(t, analysetest.Case{Script: script, Plant: radiators, Contacts: []string{"call/heat-demand"}}, demand.Check())
	if len(r.Facts.Demands) != 1 || r.Facts.Demands[0].Duration() < 358*time.Minute {
		t.Errorf("demands %+v", r.Facts.Demands)
	}
	if len(r.Facts.Disputes) != 1 {
		t.Fatalf("disputes %+v", r.Facts.Disputes)
	}
	d := r.Facts.Disputes[0]
	if d.Counts != "boiler" || d.Other != "call" || d.Point != decode.HeatDemand || (d.Apart-179*time.Minute).Abs() > 2*time.Minute || (d.Together-359*time.Minute).Abs() > 2*time.Minute {
		t.Errorf("%+v", d)
	}
}

// The contact's call is what short cycling is judged by, and its coverage is whole though it says four words in a day.
func TestCyclesByContact(t *testing.T) {
	script := callOnly + "1:00 call/heat-demand 1\n" + analysetest.Repeat("1:01", 40, 6*time.Minute, "0:00 flame 1\n0:01 flow 56\n0:01:20 flame 0\n0:03 flow 48") + "5:10 call/heat-demand 0 flow 40\n6:00 flow 30"
	r := analysetest.Run(t, analysetest.Case{Script: script, Plant: radiators, Contacts: []string{"call/heat-demand"}}, cycling.Short())
	if got := analysetest.Outcome(t, r, "short-cycling"); got.Outcome != analyse.Found {
		t.Errorf("%v: %s", got.Outcome, got.Because)
	}
	for _, c := range r.Coverage {
		if c.Series.Source != "call" {
			continue
		}
		if c.Share < 0.999 || !c.OnChange || c.Readings != 3 {
			t.Errorf("coverage %+v", c)
		}
	}
}
