package bus_test

import (
	"strings"
	"testing"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/bus"
	"tundish/analyse/episode"
)

// A contact on the appliance's supply that tells its changes and nothing more.
func TestSupplyByContact(t *testing.T) {
	const on = "0:00 flame 0 fault 0 flow 40 mains/supply 1 probes/flow 40\n"
	cases := []struct {
		name, script string
		outcome      analyse.Outcome
		says         string // in the reasoning or the evidence
		disputes     bool
	}{
		{"two hours without mains, and without a bus", on + "2:00 boiler/* - mains/supply 0\n4:00 flame 0 fault 0 flow 20 mains/supply 1\n6:00 flame 0",
			analyse.Clear, "the appliance's supply was off", false},
		{"switched with the demand, and the contact's word came a day ago", on + "2:00 boiler/* - mains/supply 0\n26:00 flame 0 fault 0 flow 20 mains/supply 1\n28:00 flame 0",
			analyse.Clear, "the appliance's supply was off", false},
		{"the bus dies, and the mains are there", on + "2:00 boiler/* -\n3:00 flame 0 fault 0 flow 20\n6:00 flame 0", analyse.Found, "the appliance's supply was on", false},
		{"the contact is wired the other way round", "0:00 flame 0 fault 0 flow 40 mains/supply 0 probes/flow 40\n2:00 boiler/* - mains/supply 1\n3:00 flame 0 fault 0 flow 20 mains/supply 0\n6:00 flame 0",
			analyse.Found, "invert = true", true},
		{"the contact hangs: off since the cut, while the bus answers again, and dies again", on + "2:00 boiler/* - mains/supply 0\n3:00 flame 0 fault 0 flow 20\n5:00 boiler/* -\n6:00 flame 0 fault 0 flow 20\n7:00 flame 0",
			analyse.Found, "answered on its bus", true},
		{"the contact's relay lags by ten seconds", on + "2:00 boiler/* -\n2:00:10 mains/supply 0\n4:00 flame 0 fault 0 flow 20\n4:00:10 mains/supply 1\n6:00 flame 0", analyse.Clear, "the appliance's supply was off", false},
		{"the mains are said to be off, and the water is heated", on + "2:00 boiler/* - mains/supply 0\n2:10 probes/flow 60\n3:00 flame 0 fault 0 flow 20 mains/supply 1\n6:00 flame 0",
			analyse.Found, "which cannot be", false},
		{"the broker is lost with the bus: nobody looked", on + "2:00 boiler/* - mains/* lost\n3:00 flame 0 fault 0 flow 20 mains/supply 1\n6:00 flame 0", analyse.Found, "no sign that the burner ran", false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := analysetest.Run(t, analysetest.Case{Script: c.script, Contacts: []string{"mains/supply"}}, bus.Silence())
			got := analysetest.Outcome(t, r, "bus-silence")
			text := got.Because
			for _, s := range got.Steps {
				text += "; " + s.Text
			}
			if f := analysetest.Finding(r, "bus-silence"); f != nil {
				for _, e := range f.Evidence {
					text += "; " + e.Note
				}
			}
			if got.Outcome != c.outcome || !strings.Contains(text, c.says) {
				t.Errorf("%v, %s; want %v, %q; %+v", got.Outcome, text, c.outcome, c.says, r.Facts.Silences)
			}
			if told := len(analyse.Disputes(r.Facts, []string{"boiler"})) > 0; told != c.disputes {
				t.Errorf("a contradiction is told: %t; %+v", told, r.Facts.Disputes)
			}
			if c.outcome == analyse.Clear && r.Facts.Silences[0].Reason != episode.SilenceNoMains {
				t.Errorf("silence %+v", r.Facts.Silences[0])
			}
		})
	}
}
