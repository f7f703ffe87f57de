package lockout_test

import (
	"strings"
	"testing"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/lockout"
)

// Fault flags by OpenTherm Protocol Specification v2.2, 5.3.1: 2 reset allowed, 4 low pressure, 8 gas/flame,
// 16 air pressure, 32 over-temperature.
func TestLockout(t *testing.T) {
	quiet := "0:00 flame 0 fault 0 heat-demand 0 flow 40 return 35 pressure 1.5 outside -2\n"
	cases := []struct {
		name    string
		script  string
		outcome analyse.Outcome
		cause   string
		note    string // must stand in the evidence
	}{
		{"ignition by its flags, by hand", quiet + "6:00 heat-demand 1\n6:04 fault 1 fault-flags 10\n7:30 fault 0\n8:00 fault 0",
			analyse.Found, "ignition", "by hand"},
		{"reset over the bus", quiet + "6:00 heat-demand 1\n6:04 fault 1 fault-flags 10\n6:30 reset-request 1\n6:30:05 reset-request -\n6:30:20 fault 0\n8:00 fault 0",
			analyse.Found, "ignition", "over the bus"},
		{"flame lost in run", quiet + "6:00 heat-demand 1 flow-setpoint 65\n6:01 flame 1\n6:02 flame 0\n6:02:10 fault 1 fault-flags 10\n7:00 fault 0\n8:00 fault 0",
			analyse.Found, "flame-loss", "a flame that had held"},
		{"overheat with reset allowed", quiet + "6:00 heat-demand 1 flame 1 flow 80\n6:10 flow 97 flame 0 fault 1 fault-flags 34\n6:40 fault 0 flow 50\n8:00 fault 0",
			analyse.Found, "overheat", ""},
		{"low pressure until it was filled", quiet + "6:00 pressure 0.3 fault 1 fault-flags 4\n6:10 pressure 1.4\n6:11 fault 0\n8:00 fault 0",
			analyse.Found, "low-pressure", "refilling"},
		{"no flags, heat asked for in vain", quiet + "6:00 heat-demand 1\n6:04 fault 1\n7:30 fault 0\n8:00 fault 0",
			analyse.Found, "ignition", "inferred"},
		{"no flags, flow at its limit", quiet + "6:00 heat-demand 1 flame 1 flow 80\n6:10 flow 96\n6:10:10 flame 0 fault 1\n7:00 fault 0 flow 50\n8:00 fault 0",
			analyse.Found, "overheat", ""},
		{"sensor at its rail", quiet + "6:00 flow 127\n6:00:10 fault 1\n7:00 fault 0 flow 40\n8:00 fault 0", analyse.Found, "sensor", ""},
		{"air pressure", quiet + "6:00 heat-demand 1\n6:01 fault 1 fault-flags 18\n6:40 fault 0\n8:00 fault 0", analyse.Found, "air-pressure", ""},
		{"unknown", quiet + "6:00 fault 1\n7:00 fault 0\n8:00 fault 0", analyse.Found, "unknown", ""},
		{"still standing at the end", quiet + "6:00 heat-demand 1\n6:04 fault 1 fault-flags 10\n8:00 fault 1", analyse.Found, "ignition", "still locked out"},
		{"power cut and back", quiet + "6:00 heat-demand 1\n6:04 fault 1 fault-flags 10\n6:30 boiler/* -\n6:32 fault 0 flame 0\n8:00 fault 0",
			analyse.Found, "ignition", "by cutting the supply"},
		{"its end not seen: eight hours of silence", quiet + "6:00 heat-demand 1\n6:04 fault 1 fault-flags 10\n6:30 boiler/* -\n14:30 fault 0 flame 0\n15:00 fault 0",
			analyse.Found, "ignition", "its end was not seen"},
		{"a block that still stands: too early to tell", quiet + "6:00 heat-demand 1 flame 1 flow 80\n6:10 flow 95 flame 0 fault 1 fault-flags 32\n6:15 fault 1",
			analyse.NotAssessable, "", ""},
		{"refilled, and the pressure seen only afterwards", quiet + "6:00 pressure 0.3 fault 1 fault-flags 4\n6:10 fault 0\n6:12 pressure 1.4\n8:00 fault 0",
			analyse.Found, "low-pressure", "refilling"},
		{"low pressure, and the pressure never read", "0:00 flame 0 fault 0\n6:00 fault 1 fault-flags 4\n6:10 fault 0\n8:00 fault 0", analyse.Found, "low-pressure", ""},
		{"the sensor's rail read a little after the onset", quiet + "6:00 fault 1\n6:01 flow 127\n7:00 fault 0 flow 40\n8:00 fault 0", analyse.Found, "sensor", ""},
		// Brief, but a person's doing, or of a kind that holds by its flags.
		{"flame lost without flags, reset by hand after half a minute", quiet + "5:00 heat-demand 1 flow-setpoint 65\n5:01 flame 1\n6:00 flame 0 fault 1\n6:00:30 fault 0\n6:01 flame 1\n8:00 fault 0",
			analyse.Found, "flame-loss", "by hand"},
		{"flame lost without flags, reset over the bus at once", quiet + "5:00 heat-demand 1 flow-setpoint 65\n5:01 flame 1\n6:00 flame 0 fault 1\n6:00:05 reset-request 1\n6:00:10 fault 0 reset-request -\n6:01 flame 1\n8:00 fault 0",
			analyse.Found, "flame-loss", "over the bus"},
		{"flame lost with its flags, for 8 s", quiet + "5:00 heat-demand 1 flow-setpoint 65\n5:01 flame 1\n6:00 flame 0 fault 1 fault-flags 8\n6:00:08 fault 0 fault-flags 0\n6:01 flame 1\n8:00 fault 0",
			analyse.Found, "flame-loss", ""},
		{"a brief fault whose end was not seen", quiet + "5:00 heat-demand 1 flow-setpoint 65\n5:01 flame 1\n6:00 flame 0 fault 1\n6:00:08 boiler/* -\n14:00 fault 0 flame 0\n15:00 fault 0",
			analyse.Found, "flame-loss", ""},
		// Look-alikes.
		{"flame lost without flags, lit again by itself", quiet + "5:00 heat-demand 1 flow-setpoint 65\n5:01 flame 1\n6:00 flame 0 fault 1\n6:00:08 fault 0\n6:00:40 flame 1\n8:00 fault 0",
			analyse.Clear, "", ""},
		{"low-pressure flag for a moment, the pressure never read", "0:00 flame 0 fault 0\n6:00 fault 1 fault-flags 4\n6:00:08 fault 0 fault-flags 0\n8:00 fault 0", analyse.Clear, "", ""},
		{"low-pressure flag, but the pressure was sound throughout", quiet + "6:00 fault 1 fault-flags 4\n6:03 fault 0\n8:00 fault 0", analyse.Clear, "", ""},
		{"a block that frees itself", quiet + "6:00 heat-demand 1 flame 1 flow 80\n6:10 flow 95 flame 0 fault 1 fault-flags 32\n6:14 fault 0 flow 70\n8:00 fault 0",
			analyse.Clear, "", ""},
		{"never in fault", quiet + "8:00 fault 0", analyse.Clear, "", ""},
		{"no fault signal", "0:00 flame 0\n8:00 flame 0", analyse.NotAssessable, "", ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := analysetest.Run(t, analysetest.Case{Script: c.script}, lockout.Check())
			got := analysetest.Outcome(t, r, "lockout")
			if got.Outcome != c.outcome {
				t.Fatalf("%v: %s; want %v", got.Outcome, got.Because, c.outcome)
			}
			f := analysetest.Finding(r, "lockout")
			if c.outcome != analyse.Found {
				return
			}
			if f.Cause != c.cause || f.Evidence[0].Cause != c.cause {
				t.Errorf("cause is %q, want %q; evidence %+v", f.Cause, c.cause, f.Evidence)
			}
			if !strings.Contains(f.Evidence[0].Note, c.note) {
				t.Errorf("note is %q, want %q in it", f.Evidence[0].Note, c.note)
			}
		})
	}
}

func TestWhatWentBefore(t *testing.T) {
	script := `
		0:00 flame 0 fault 0 heat-demand 0 flow 30 return 29 pressure 1.4 outside -5.25 failed-starts 12
		1:00 flame 1 heat-demand 1
		1:30 flame 0 heat-demand 0
		6:00 heat-demand 1
		6:00:40 flame 1
		6:00:45 flame 0 failed-starts 13
		6:01:20 failed-starts 14
		6:01:50 failed-starts 15
		6:02 fault 1 fault-flags 10 fault-code 28
		7:15 fault 0
		8:00 fault 0`
	r := analysetest.Run(t, analysetest.Case{Script: script, Step: 5e9}, lockout.Check())
	f := analysetest.Finding(r, "lockout")
	if f == nil {
		t.Fatal("no lockout")
	}
	e := f.Evidence[0]
	if !e.From.Equal(analysetest.At("6:02")) || !e.To.Equal(analysetest.At("7:15")) {
		t.Errorf("lockout is from %v to %v", e.From, e.To)
	}
	all := strings.Join(e.Before, "\n")
	for _, want := range []string{
		"01:30:00  the last firing that held ended, 4 h 32 min before, after 30 min",
		"06:00:00  heat was asked for, 2 min before",
		"06:00:40  an attempt to light: a flame for 5 s, then none",
		"3 failed starts since that firing",
		"outside −5.2 °C, flow 30.0 °C, return 29.0 °C, pressure 1.40 bar",
	} {
		if !strings.Contains(all, want) {
			t.Errorf("before is\n%s\nwithout %q", all, want)
		}
	}
	if !strings.Contains(e.Note, "own code 28") {
		t.Errorf("note is %q", e.Note)
	}
}
