package bus_test

import (
	"testing"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/bus"
)

func TestSilence(t *testing.T) {
	cases := []struct {
		name    string
		supply  analyse.Supply
		script  string
		outcome analyse.Outcome
		cause   string
	}{
		{"40 minutes while the burner ran", analyse.PermanentLive,
			"0:00 flame 0 probes/flow 40\n2:00 boiler/* -\n2:10 probes/flow 60\n2:40 flame 0\n4:00 flame 0", analyse.Found, "adapter"},
		{"40 minutes of cooling: the appliance may have been off", analyse.PermanentLive,
			"0:00 flame 0 probes/flow 60\n2:00 boiler/* -\n2:10 probes/flow 50\n2:20 probes/flow 40\n2:40 flame 0\n4:00 flame 0", analyse.Found, "appliance"},
		{"at the end of the record", analyse.PermanentLive, "0:00 flame 0 probes/flow 40\n2:00 boiler/* -\n4:00 probes/flow 40", analyse.Found, "appliance"},
		{"from the beginning", analyse.PermanentLive, "0:00 probes/flow 40\n2:00 flame 0\n4:00 flame 0", analyse.Found, "appliance"},
		{"switched live, but the burner ran", analyse.SwitchedLive,
			"0:00 flame 0 probes/flow 40\n2:00 boiler/* -\n2:10 probes/flow 60\n2:40 flame 0\n4:00 flame 0", analyse.Found, "adapter"},
		// What cannot be told.
		{"switched live, and never a line", analyse.SwitchedLive, "0:00 probes/flow 40\n4:00 probes/flow 40", analyse.NotAssessable, ""},
		{"too short a record", analyse.PermanentLive, "0:00 flame 0\n0:05 flame 0", analyse.NotAssessable, ""},
		{"bus and supply sensor fall silent together", analyse.SupplyUnknown,
			"0:00 flame 0 contact/supply 1 probes/flow 40\n2:00 boiler/* - contact/* -\n3:00 flame 0 contact/supply 1\n4:00 flame 0", analyse.Found, "appliance"},
		{"the supply explains ten minutes of two hours", analyse.SupplyUnknown,
			"0:00 flame 0 contact/supply 1\n2:00 boiler/* - contact/supply 0\n2:10 contact/supply 1\n4:00 flame 0\n5:00 flame 0", analyse.Found, "adapter"},
		// Look-alikes.
		{"switched live, and a pipe that warms with the house over hours", analyse.SwitchedLive,
			"0:00 flame 0 probes/flow 20\n1:00 boiler/* -\n2:00 probes/flow 22\n3:00 probes/flow 24\n4:00 probes/flow 26\n5:00 probes/flow 28\n6:00 flame 0\n7:00 flame 0", analyse.Clear, ""},
		{"switched live and cooling", analyse.SwitchedLive,
			"0:00 flame 0 probes/flow 60\n2:00 boiler/* -\n2:10 probes/flow 50\n3:40 flame 0\n4:00 flame 0", analyse.Clear, ""},
		{"the supply is seen to be off", analyse.SupplyUnknown,
			"0:00 flame 0 contact/supply 1\n2:00 boiler/* - contact/supply 0\n2:40 flame 0 contact/supply 1\n4:00 flame 0", analyse.Clear, ""},
		{"nine minutes", analyse.PermanentLive, "0:00 flame 0 probes/flow 40\n2:00 boiler/* -\n2:09 flame 0\n4:00 flame 0", analyse.Clear, ""},
		{"never silent", analyse.PermanentLive, "0:00 flame 0\n4:00 flame 0", analyse.Clear, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := analysetest.Run(t, analysetest.Case{Script: c.script, Plant: analyse.Plant{Supply: c.supply}}, bus.Silence())
			got := analysetest.Outcome(t, r, "bus-silence")
			if got.Outcome != c.outcome {
				t.Fatalf("%v: %s; want %v; silences %+v", got.Outcome, got.Because, c.outcome, r.Facts.Silences)
			}
			if f := analysetest.Finding(r, "bus-silence"); f != nil && f.Causes[0].Cause != c.cause {
				t.Errorf("causes are %+v, want %s first", f.Causes, c.cause)
			}
		})
	}
}
