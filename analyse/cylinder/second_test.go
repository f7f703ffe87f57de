package cylinder_test

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/cylinder"
	"tundish/decode"
	"tundish/decode/unit"
)

// withProbe adds a second sensor of the store that reads by K against the first.
func withProbe(script string, by float64) string {
	var out []string
	for _, line := range strings.Split(script, "\n") {
		f := strings.Fields(line)
		for i, w := range f {
			if w == "cylinder" {
				c := number(f[i+1])
				f = append(f, "probes/cylinder", text(c+by))
				break
			}
		}
		out = append(out, strings.Join(f, " "))
	}
	return strings.Join(out, "\n")
}

func TestTwoSensorsOfTheStore(t *testing.T) {
	apart := analyse.Check{Kind: "probe-disagreement", Sensors: true, Run: func(p *analyse.Pass) {
		p.Found(analyse.Finding{Severity: analyse.Note, From: p.Facts.From, To: p.Facts.To, Summary: "apart",
			Doubts: []decode.Series{{Source: "boiler", Point: decode.Cylinder}, {Source: "probes", Point: decode.Cylinder}}})
	}}
	doubt := func(source string) analyse.Check {
		return analyse.Check{Kind: "sensor-fault", Sensors: true, Run: func(p *analyse.Pass) {
			if source == "" || source == "both" {
				p.Clear("sound")
				return
			}
			p.Found(analyse.Finding{Severity: analyse.Note, From: p.Facts.From, To: p.Facts.To, Summary: "wrong",
				Doubts: []decode.Series{{Source: source, Point: decode.Cylinder}}})
		}}
	}
	sized := withStore
	sized.OutputMin, sized.OutputMax = analyse.Some[unit.KW](3), analyse.Some[unit.KW](outputKW)
	for name, c := range map[string]struct {
		script string
		plant  analyse.Plant
		doubts string
		want   analyse.Outcome
	}{
		"both hot": {withProbe(system(2, 75, even(63)), -1), withStore, "", analyse.Clear},
		"a second sensor on the wall reads lower":   {withProbe(system(2, 75, even(63)), -4), withStore, "", analyse.Clear},
		"a second sensor says it never gets there":  {withProbe(system(2, 75, even(63)), -9), withStore, "", analyse.NotAssessable},
		"the first is found wrong, by the second":   {withProbe(system(2, 75, even(63)), -9), withStore, "boiler", analyse.Found},
		"the second is found wrong":                 {withProbe(system(2, 75, even(63)), -9), withStore, "probes", analyse.Clear},
		"the only one is found wrong":               {system(2, 75, even(63)), withStore, "boiler", analyse.NotAssessable},
		"they disagree by 4 K, one below 60 °C":     {withProbe(system(2, 75, even(63)), -4), withStore, "both", analyse.NotAssessable},
		"they disagree by 4 K, both above 60 °C":    {withProbe(system(2, 75, even(66)), -4), withStore, "both", analyse.Clear},
		"they disagree, the coil bears out one":     {withProbe(coilStore(600, 12, 54, 9), -9), sized, "both", analyse.Found},
		"the coil bears out the first":              {withProbe(coilStore(600, 12, 63, 0), -9), sized, "", analyse.Clear},
		"the return is cooler than the first shows": {withProbe(coilStore(600, 12, 54, 9), -9), sized, "", analyse.Found},
	} {
		checks := []analyse.Check{doubt(c.doubts), cylinder.Check()}
		if c.doubts == "both" {
			checks = append(checks, apart)
		}
		r := analysetest.Run(t, analysetest.Case{Script: c.script, Plant: c.plant, Step: 30 * time.Second}, checks...)
		if got := analysetest.Outcome(t, r, kind); got.Outcome != c.want {
			t.Errorf("%s: %v, %s; want %v", name, got.Outcome, got.Because, c.want)
		}
	}
}

func number(s string) float64 { v, _ := strconv.ParseFloat(s, 64); return v }

func text(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
