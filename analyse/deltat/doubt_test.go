package deltat_test

import (
	"testing"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/deltat"
	"tundish/decode"
)

// A sensor that another check found wrong is no ground for ΔT: another source's pair is taken, and without one there is
// no answer.
func TestNoDeltaByADoubtedSensor(t *testing.T) {
	doubts := func(list ...decode.Series) analyse.Check {
		return analyse.Check{Kind: "probe-disagreement", Sensors: true, Run: func(p *analyse.Pass) {
			p.Found(analyse.Finding{Severity: analyse.Note, From: p.Facts.From, To: p.Facts.To, Summary: "apart", Doubts: list})
		}}
	}
	slipped := decode.Series{Source: "probes", Point: decode.Flow}
	own := decode.Series{Source: "boiler", Point: decode.Return}
	both := burn("flow 68 return 49 probes/flow 53 probes/return 49")
	for _, c := range []struct {
		name, script string
		doubts       []decode.Series
		want         analyse.Outcome
	}{
		{"the probe is off its pipe, the appliance's own pair is right", both, []decode.Series{slipped}, analyse.Clear},
		{"nobody knows which is wrong", both, []decode.Series{slipped, own}, analyse.NotAssessable},
		{"the only pair is wrong", burn("probes/flow 53 probes/return 49 boiler/modulation 80"), []decode.Series{slipped}, analyse.NotAssessable},
	} {
		r := analysetest.Run(t, analysetest.Case{Script: c.script, Plant: designed}, doubts(c.doubts...), deltat.Low(), deltat.High())
		for _, kind := range []string{"low-delta-t", "high-delta-t"} {
			if got := analysetest.Outcome(t, r, kind); got.Outcome != c.want {
				t.Errorf("%s: %s is %v: %s", c.name, kind, got.Outcome, got.Because)
			}
		}
	}
}
