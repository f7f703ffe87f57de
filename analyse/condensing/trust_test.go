package condensing_test

import (
	"fmt"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/condensing"
	"tundish/decode"
)

// A return that another check found wrong is no ground: neither for a finding nor for a clear answer.
func TestNoVerdictByADoubtedReturn(t *testing.T) {
	doubts := func(kind string, list ...decode.Series) analyse.Check {
		return analyse.Check{Kind: kind, Sensors: true, Run: func(p *analyse.Pass) {
			p.Found(analyse.Finding{Severity: analyse.Note, From: p.Facts.From, To: p.Facts.To, Summary: "wrong", Doubts: list})
		}}
	}
	own, probe := decode.Series{Source: "boiler", Point: decode.Return}, decode.Series{Source: "probes", Point: decode.Return}
	for _, c := range []struct {
		name         string
		ret, byProbe float64 // °C
		doubt        analyse.Check
		want         analyse.Outcome
	}{
		{"stuck hot, the probe is cool", 70, 40, doubts("sensor-fault", own), analyse.Clear},
		{"stuck cool, the probe is hot", 40, 66, doubts("sensor-fault", own), analyse.Found},
		{"the probe fell off", 66, 30, doubts("probe-disagreement", probe), analyse.Found},
		{"nobody knows which, and they say different things", 66, 40, doubts("probe-disagreement", own, probe), analyse.NotAssessable},
		{"nobody knows which, and the dew point is below both", 75, 65, doubts("probe-disagreement", own, probe), analyse.Found},
		{"both stuck", 75, 65, doubts("sensor-fault", own, probe), analyse.NotAssessable},
	} {
		script := fmt.Sprintf("0:00 probes/return %g\n", c.byProbe) + heating(2, 5, 0, func(int, float64) (float64, float64) { return 80, c.ret })
		r := analysetest.Run(t, analysetest.Case{Script: script, Plant: plant("natural-gas"), Step: 30 * time.Second}, c.doubt, condensing.Check())
		if got := analysetest.Outcome(t, r, kind); got.Outcome != c.want {
			t.Errorf("%s: %v, %s; want %v", c.name, got.Outcome, got.Because, c.want)
		}
	}
}
