package bus_test

import (
	"fmt"
	"strings"
	"testing"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/bus"
)

// counted is a silence of 40 minutes in a burn, with nothing but the bus: the appliance's count of starts, 4711 before it and
// another after it, the flame and flow of the first word, and what the flame does twenty seconds later.
func counted(asked int, starts, first, then string) string {
	return fmt.Sprintf("0:00 flame 0 heat-demand %d flow 40 return 30 burner-starts 4710\n0:30 flame 1 flow 50 burner-starts 4711\n1:00 flow 58 return 42\n2:00 boiler/* -\n"+
		"2:40 heat-demand %d return 28 flame %s\n2:40:20 %s\n2:41 burner-starts %s\n3:00 flow 55\n4:00 flame 0", asked, asked, first, then, starts)
}

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
		{"bus alone: as below, but the appliance counts a start more: it ran meanwhile", analyse.PermanentLive, counted(1, "4713", "0 flow 34", "flame 1"), analyse.Found, "adapter"},
		{"bus alone: and where it does not count", analyse.PermanentLive, strings.NewReplacer("burner-starts 4711", "", "burner-starts 4712", "").Replace(counted(1, "4712", "0 flow 34", "flame 1")), analyse.Found, "adapter"},
		{"bus alone: it burned with the last word and with the first", analyse.PermanentLive, counted(1, "4711", "1 flow 58", "flame 1"), analyse.Found, "adapter"},
		{"bus alone: it rested as the bus came back, its water as warm as before", analyse.PermanentLive, counted(1, "4712", "0 flow 55", "flame 1"), analyse.Found, "adapter"},
		{"bus alone: out when it came back, and heat not asked for any more", analyse.PermanentLive,
			strings.Replace(counted(1, "4711", "0 flow 34", "flame 0"), "2:40 ", "2:40 heat-demand 0 ", 1), analyse.Found, "adapter"},
		// What cannot be told.
		{"switched live, and never a line", analyse.SwitchedLive, "0:00 probes/flow 40\n4:00 probes/flow 40", analyse.NotAssessable, ""},
		{"too short a record", analyse.PermanentLive, "0:00 flame 0\n0:05 flame 0", analyse.NotAssessable, ""},
		{"bus and supply sensor fall silent together", analyse.SupplyUnknown,
			"0:00 flame 0 contact/supply 1 probes/flow 40\n2:00 boiler/* - contact/* -\n3:00 flame 0 contact/supply 1\n4:00 flame 0", analyse.Found, "appliance"},
		{"the supply explains ten minutes of two hours", analyse.SupplyUnknown,
			"0:00 flame 0 contact/supply 1\n2:00 boiler/* - contact/supply 0\n2:10 contact/supply 1\n4:00 flame 0\n5:00 flame 0", analyse.Found, "adapter"},
		{"cooling, but the burner was out before: nothing tells a cut from a dead adapter", analyse.PermanentLive,
			"0:00 flame 1 probes/flow 60\n1:50 flame 0\n2:00 boiler/* -\n2:03 probes/flow 58\n2:10 probes/flow 50\n2:40 flame 1\n4:00 flame 1", analyse.Found, "appliance"},
		{"the burner burned before and after, and held its set-point meanwhile", analyse.PermanentLive,
			"0:00 flame 1 probes/flow 60\n2:00 boiler/* -\n2:40 flame 1\n4:00 flame 1", analyse.Found, "appliance"},
		{"the burner went out with the bus and stayed out when it came back", analyse.PermanentLive,
			"0:00 flame 1 probes/flow 60\n2:00 boiler/* -\n2:03 probes/flow 58\n2:10 probes/flow 50\n2:40 flame 0\n4:00 flame 0", analyse.Found, "appliance"},
		// Look-alikes.
		{"a power cut by the bus alone: out with it, cold and lit as it came back, and no other start counted", analyse.PermanentLive, counted(1, "4712", "0 flow 34", "flame 1"), analyse.Clear, ""},
		{"a power cut while the burner ran: out with the bus, lit as it came back", analyse.PermanentLive,
			"0:00 flame 1 probes/flow 60\n2:00 boiler/* -\n2:03 probes/flow 58\n2:10 probes/flow 50\n2:40 flame 1\n4:00 flame 1", analyse.Clear, ""},
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
