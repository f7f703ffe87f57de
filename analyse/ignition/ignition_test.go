package ignition_test

import (
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/ignition"
)

const quiet = "0:00 flame 0 fault 0 heat-demand 0 flow 40 flow-setpoint 60 outside 6 failed-starts 12\n"

// start is a call for heat whose burner lights at once and burns for half an hour.
const start = "0:00 heat-demand 1\n0:00:40 flame 1\n0:31 flow 58\n0:31:00 heat-demand 0 flame 0\n0:35 flow 40\n"

// flashes is a start with two flames of 4 s before one that holds.
const flashes = "0:00 heat-demand 1\n0:00:40 flame 1\n0:00:44 flame 0\n0:01:20 flame 1\n0:01:24 flame 0\n0:02 flame 1\n0:31 flow 58\n0:31 heat-demand 0 flame 0\n0:35 flow 40\n"

// prompt, soon and later: without the count of failed starts; the flame follows the call after 12 s, or after 52 s.
const (
	prompt = "0:00 flame 0 fault 0 heat-demand 0 hot-water-active 0 flow 30 flow-setpoint 60\n"
	soon   = "0:00 heat-demand 1\n0:00:12 flame 1\n0:10 flow 58\n0:30 heat-demand 0 flame 0\n0:50 flow 30\n"
	later  = "0:00 heat-demand 1\n0:00:52 flame 1\n0:10 flow 58\n0:30 heat-demand 0 flame 0\n0:50 flow 30\n"
	again  = "0:40 flame 1\n0:45 flame 0\n0:55 flame 1\n0:59 flame 0\n1:10 flame 1\n1:15 flame 0\n1:20 heat-demand 0\n1:25 flow 30\n"
)

// TestRetries: signatures are the trade's (common practice, no source).
func TestRetries(t *testing.T) {
	boiler := analyse.Plant{Kind: "boiler"}
	cases := []struct {
		name    string
		script  string
		plant   analyse.Plant
		step    time.Duration
		outcome analyse.Outcome
		first   string // cause ranked first
		because string // in the answer's because
	}{
		{"flames that do not hold after hours of frost, fine when mild", quiet + analysetest.Repeat("2:00", 4, 3*time.Hour, start) +
			"14:00 outside -4\n" + analysetest.Repeat("20:00", 2, 4*time.Hour, flashes) + "30:00 outside 5\n" + analysetest.Repeat("31:00", 3, 3*time.Hour, start) + "42:00 fault 0",
			boiler, 2 * time.Second, analyse.Found, "frozen-condensate", "4 attempts failed"},
		{"no flame at all, by the count, in the cold only", quiet + analysetest.Repeat("2:00", 4, 3*time.Hour, start) + "14:00 outside -1\n" +
			analysetest.Repeat("15:00", 2, 2*time.Hour, start) + "15:00:30 failed-starts 14\n17:00:30 failed-starts 16\n" + "19:00 outside 5\n20:00 fault 0",
			boiler, 5 * time.Second, analyse.Found, "gas-supply", "4 attempts failed"},
		{"at random in any weather", quiet + analysetest.Repeat("2:00", 12, 3*time.Hour, start) +
			"5:00:30 failed-starts 13\n14:00:20 failed-starts 15\n14:30 outside -3\n20:00:20 failed-starts 16\n25:00 outside 8\n29:00:30 failed-starts 18\n40:00 fault 0",
			boiler, 5 * time.Second, analyse.Found, "electrode", "6 attempts failed"},
		{"flames lost at lighting in mild weather", quiet + analysetest.Repeat("2:00", 3, 3*time.Hour, flashes) + "20:00 fault 0",
			boiler, 2 * time.Second, analyse.Found, "", "6 attempts failed"},
		// Look-alikes.
		{"one start with two failed attempts is worth watching", quiet + "2:00 fault 0\n" + analysetest.Repeat("2:00", 1, time.Hour, flashes) + analysetest.Repeat("5:00", 3, 3*time.Hour, start) + "20:00 fault 0",
			boiler, 2 * time.Second, analyse.Clear, "", "worth watching"},
		{"all attempts end in a lockout", quiet + "2:00 heat-demand 1\n2:00:40 flame 1\n2:00:44 flame 0\n2:01:20 flame 1\n2:01:24 flame 0\n2:02 flame 1\n2:02:04 flame 0 failed-starts 15\n2:02:10 fault 1 fault-flags 10\n3:00 fault 0\n3:01 flame 1\n3:30 flame 0 heat-demand 0\n8:00 fault 0",
			boiler, 2 * time.Second, analyse.Clear, "", "ended in a lockout"},
		{"flames lost in the run", quiet + analysetest.Repeat("2:00", 4, 3*time.Hour, "0:00 heat-demand 1\n0:01 flame 1\n0:03 flame 0\n0:03:40 flame 1\n0:30 flame 0 heat-demand 0") + "16:00 fault 0",
			boiler, 2 * time.Second, analyse.Clear, "", "first attempt"},
		{"taps opened for some seconds", "0:00 flame 0 fault 0 heat-demand 0 hot-water-active 0 flow 40 failed-starts 12\n" + analysetest.Repeat("2:00", 6, time.Hour, "0:00 hot-water-active 1\n0:00:03 flame 1\n0:00:09 flame 0 hot-water-active 0") + "10:00 fault 0",
			boiler, 2 * time.Second, analyse.Clear, "", "first attempt"},
		{"no count of failed starts: attempts without a flame would not show", "0:00 flame 0 heat-demand 0\n" + analysetest.Repeat("2:00", 3, 3*time.Hour, start) + "12:00 flame 0",
			boiler, 2 * time.Second, analyse.NotAssessable, "", "without any flame"},
		{"no count, but the flame follows each call after a rest within 12 s: an attempt would have shown", prompt + analysetest.Repeat("2:00", 6, 2*time.Hour, soon) + "16:00 flame 0",
			boiler, 2 * time.Second, analyse.Clear, "", "within 12 s"},
		{"no count, and two starts of eight come 40 s later: an attempt may have failed", prompt + analysetest.Repeat("2:00", 6, 2*time.Hour, soon) + analysetest.Repeat("16:00", 2, 2*time.Hour, later) + "22:00 flame 0",
			boiler, 2 * time.Second, analyse.NotAssessable, "", "2 of 7 starts"},
		{"no count, and every start takes 52 s: whether purge or attempt is not told", prompt + analysetest.Repeat("2:00", 8, 2*time.Hour, later) + "22:00 flame 0",
			boiler, 2 * time.Second, analyse.NotAssessable, "", "without any flame"},
		{"no count, prompt after the call, but most starts are between calls", prompt + analysetest.Repeat("2:00", 6, 2*time.Hour, soon+"0:32 heat-demand 1\n0:33 flow 55\n"+again) + "16:00 flame 0",
			boiler, 2 * time.Second, analyse.NotAssessable, "", "only"},
		{"short burns that bring the water to its set-point", quiet + "1:30 flow 55\n" + analysetest.Repeat("2:00", 8, 10*time.Minute, "0:00 heat-demand 1 flow 55\n0:01 flame 1\n0:01:04 flow 61\n0:01:08 flame 0\n0:03 flow 55\n0:05 flame 1\n0:06 flow 61\n0:06:10 flame 0") + "8:00 fault 0",
			boiler, 2 * time.Second, analyse.Clear, "", "first attempt"},
		{"flames of 6 s each four minutes, and the count stands: control waits after each, no water moves", quiet + "2:00 heat-demand 1\n" + analysetest.Repeat("2:01", 12, 4*time.Minute, "0:00 flame 1\n0:00:06 flame 0") + "3:00 flame 1\n4:00 flame 0\n6:00 fault 0",
			boiler, 2 * time.Second, analyse.Clear, "", "first attempt"},
		{"the same without a count", strings.ReplaceAll(quiet, "failed-starts 12", "") + "2:00 heat-demand 1\n" + analysetest.Repeat("2:01", 12, 4*time.Minute, "0:00 flame 1\n0:00:06 flame 0") + "3:00 flame 1\n4:00 flame 0\n6:00 fault 0",
			boiler, 2 * time.Second, analyse.NotAssessable, "", "no water moves"},
		{"a heat pump", quiet + "8:00 fault 0", analyse.Plant{Kind: "heat-pump"}, 0, analyse.Clear, "", "does not apply"},
		{"the flame read once a minute and no count", "0:00 flame 0 heat-demand 1\n2:00 flame 1\n3:00 flame 0\n8:00 flame 0", boiler, time.Minute, analyse.NotAssessable, "", "read every 60 s"},
		{"neither flame nor count", "0:00 flow 40 return 35\n8:00 flow 41", boiler, 0, analyse.NotAssessable, "", "neither a flame signal"},
		{"the flame read once a minute, with a count", quiet + analysetest.Repeat("2:00", 3, 3*time.Hour, start) + "2:00:30 failed-starts 14\n5:00:30 failed-starts 15\n12:00 fault 0",
			boiler, time.Minute, analyse.Found, "", "3 attempts failed"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := analysetest.Run(t, analysetest.Case{Script: c.script, Plant: c.plant, Step: c.step}, ignition.Retries())
			got := analysetest.Outcome(t, r, "ignition-retries")
			if got.Outcome != c.outcome || !strings.Contains(got.Because, c.because) {
				t.Fatalf("%v: %s; want %v with %q; attempts %+v", got.Outcome, got.Because, c.outcome, c.because, r.Facts.Attempts)
			}
			f := analysetest.Finding(r, "ignition-retries")
			if f == nil {
				return
			}
			if c.first != "" && f.Causes[0].Cause != c.first {
				t.Errorf("causes are %+v, want %s first", f.Causes, c.first)
			}
			for _, x := range f.Causes {
				if x.Support <= 0 || x.Support > 1 || x.Because == "" || x.Settle == "" {
					t.Errorf("a cause that says too little: %+v", x)
				}
			}
		})
	}
}
