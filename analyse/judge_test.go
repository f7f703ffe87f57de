package analyse_test

import (
	"testing"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/decode"
)

// A check that relies on a sensor learns that another doubts it, wherever the two stand in the list.
func TestSensorsAreJudgedFirst(t *testing.T) {
	wrong := decode.Series{Source: "probes", Point: decode.Flow}
	var seen, other string
	relies := analyse.Check{Kind: "low-delta-t", Run: func(p *analyse.Pass) {
		seen, other = p.Doubted(wrong), p.Doubted(decode.Series{Source: "boiler", Point: decode.Flow})
		p.NotAssessable("the flow probe is wrong")
	}}
	doubts := analyse.Check{Kind: "sensor-fault", Sensors: true, Run: func(p *analyse.Pass) {
		p.Found(analyse.Finding{Severity: analyse.Note, From: p.Facts.From, To: p.Facts.To, Summary: "wrong", Doubts: []decode.Series{wrong}})
	}}
	for _, checks := range [][]analyse.Check{{relies, doubts}, {doubts, relies}} {
		seen, other = "", ""
		r := analysetest.Run(t, analysetest.Case{Script: "0:00 probes/flow 40\n1:00 probes/flow 40"}, checks...)
		if seen != "sensor-fault" || other != "" {
			t.Errorf("the check saw %q and %q", seen, other)
		}
		if len(r.Checked) != 2 || r.Checked[0].Kind != checks[0].Kind || r.Checked[1].Kind != checks[1].Kind || len(r.Findings) != 1 {
			t.Errorf("checked %+v", r.Checked)
		}
	}
}
