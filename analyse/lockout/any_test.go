package lockout_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/lockout"
)

// TestAnyRecord: whatever the points do, the check answers once, ranks by support, and puts the word for the lockout first.
func TestAnyRecord(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var s strings.Builder
		s.WriteString("0:00 flame 0 fault 0 heat-demand 0 flow 40 return 30\n")
		at := 0
		for range rapid.IntRange(1, 60).Draw(rt, "events") {
			at += rapid.IntRange(1, 5400).Draw(rt, "after")
			what := rapid.SampledFrom([]string{"flame 0", "flame 1", "fault 0", "fault 1", "fault-flags 10", "fault-flags 34", "fault-flags 4", "fault-flags 0", "heat-demand 0", "heat-demand 1",
				"outside -5", "outside 6", "outside -", "pressure 0.2", "pressure 1.6", "flow 96", "flow 20", "failed-starts 4", "failed-starts 6", "boiler/* -", "diagnostic-code 12"}).Draw(rt, "what")
			fmt.Fprintf(&s, "0:00:%d %s\n", at, what)
		}
		fmt.Fprintf(&s, "0:00:%d flame 0\n", at+60)
		r := analysetest.Run(t, analysetest.Case{Script: s.String(), Step: 20 * time.Second, Plant: analyse.Plant{Kind: "boiler"}}, lockout.Check())
		f := analysetest.Finding(r, "lockout")
		if f == nil {
			return
		}
		if f.Causes[0].Cause != f.Cause {
			rt.Fatalf("first is %s, the commonest %s", f.Causes[0].Cause, f.Cause)
		}
		for i, c := range f.Causes {
			if c.Support <= 0 || c.Support > 1 || i > 0 && c.Support > f.Causes[i-1].Support || c.Settle == "" || c.Because == "" {
				rt.Fatalf("causes %+v", f.Causes)
			}
		}
	})
}
