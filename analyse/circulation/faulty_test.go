package circulation_test

import (
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/circulation"
	"tundish/decode"
)

// A return that is stuck never follows; one that only disagrees with another still tells.
func TestNoAnswerByAFaultyReturn(t *testing.T) {
	script := asked + analysetest.Repeat("0:10", 8, 20*time.Minute, still) + "3:20 flame 0"
	for kind, want := range map[string]analyse.Outcome{"sensor-fault": analyse.NotAssessable, "probe-disagreement": analyse.Found} {
		doubt := analyse.Check{Kind: kind, Sensors: true, Run: func(p *analyse.Pass) {
			p.Found(analyse.Finding{Severity: analyse.Note, From: p.Facts.From, To: p.Facts.To, Summary: "wrong",
				Doubts: []decode.Series{{Source: "boiler", Point: decode.Return}}})
		}}
		r := analysetest.Run(t, analysetest.Case{Script: script, Plant: plant}, doubt, circulation.Check())
		if got := analysetest.Outcome(t, r, "no-circulation"); got.Outcome != want {
			t.Errorf("%s: %v, %s; want %v", kind, got.Outcome, got.Because, want)
		}
	}
}
