package findings_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"tundish/analyse"
	"tundish/dashboards/findings"
	"tundish/decode"
)

// lockoutCheck is a check with every part that its reasoning can have.
func lockoutCheck() *analyse.Check {
	return &analyse.Check{Kind: "lockout", Doc: "held off by a fault", Needs: []analyse.Need{
		{Points: []decode.Point{decode.Flow}, Say: "no flow temperature"},
		{Points: []decode.Point{decode.Fault}, Say: "no fault signal: it needs the bus"},
	}, Criteria: []analyse.Criterion{{Name: "a block is below", Value: 20, Unit: "min", Source: "own proposal"},
		{Name: "weight, electrode", Value: 0.3, Unit: "1", Source: "own proposal"},
		{Name: "load, from", Value: 2, Unit: "1", Source: "own proposal"}}}
}

func reasoned() *analyse.Result {
	r := result()
	r.Coverage[0].Readings, r.Coverage[0].Interval, r.Coverage[0].Min, r.Coverage[0].Max = 17280, 10*time.Second, 20, 71.5
	r.Checked[0].Steps = []analyse.Step{
		{Topic: analyse.Open, What: "frozen pipe", Text: "no outside temperature"},
		{Topic: analyse.Measured, What: "longest fault", Text: "90 min"},
		{Topic: analyse.Excluded, What: "power cut", Text: "the bus was alive"},
	}
	return r
}

// The reasoning tells data, criteria, steps by topic, causes with their support, and evidence; and nothing of others.
func TestWhyText(t *testing.T) {
	for _, width := range []int{32, 76} {
		var b strings.Builder
		if err := findings.WriteText(&b, reasoned(), time.UTC, width, findings.Options{Why: lockoutCheck()}); err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(b.String()) {
			if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > width {
				t.Errorf("at width %d a line has %d characters: %q", width, n, line)
			}
		}
		flat, at := strings.Join(strings.Fields(b.String()), " "), 0
		for _, want := range []string{"WHY: LOCKOUT", "Answer: found.", "Severity: act.",
			"MEASURED – longest fault: 90 min", "RULED OUT – power cut: the bus was alive", "LEFT OPEN – frozen pipe: no outside temperature",
			"FIGURES", "lockouts: 1", "ignition, support 0.81 of 1", "because: no flame held.", "to settle it: look.",
			"EVIDENCE", "locked out for 90 min", "heat was asked for",
			"DATA USED", "boiler/flow covers 99.8 % of the record, 17280 readings, usually every 10 s, from 20 to 71.5 °C", "fault: missing. No fault signal: it needs the bus.",
			"CRITERIA", "a block is below: 20 min (own proposal)", "load, from: 2 (own proposal)", "weight, electrode: +0.3 (own proposal)"} {
			i := strings.Index(flat[at:], want)
			if i < 0 {
				t.Fatalf("at width %d, %q is missing, or not in its place:\n%s", width, want, b.String())
			}
			at += i
		}
		if strings.Contains(flat, "bus-silence") {
			t.Errorf("another kind is told too:\n%s", flat)
		}
	}
}

// In JSON the kind that was asked for carries its reasoning, and the others none.
func TestWhyJSON(t *testing.T) {
	var b strings.Builder
	if err := findings.WriteJSON(&b, reasoned(), findings.Options{Why: lockoutCheck()}); err != nil {
		t.Fatal(err)
	}
	var got struct {
		Checked []struct {
			Kind string
			Data []struct {
				Points  []string
				Series  []struct{ Series string }
				Missing string
			}
			Criteria []struct {
				Name, Unit, Source string
				Value              float64
			}
			Steps []struct{ Topic, What, Text string }
		}
	}
	if err := json.Unmarshal([]byte(b.String()), &got); err != nil {
		t.Fatal(err)
	}
	c := got.Checked[0]
	if len(c.Steps) != 3 || c.Steps[1].Topic != "measured" || c.Steps[1].Text != "90 min" {
		t.Errorf("steps are %+v", c.Steps)
	}
	if len(c.Criteria) != 3 || c.Criteria[0].Value != 20 || c.Criteria[0].Source != "own proposal" {
		t.Errorf("criteria are %+v", c.Criteria)
	}
	if len(c.Data) != 2 || c.Data[0].Series[0].Series != "boiler/flow" || c.Data[0].Missing != "" || c.Data[1].Missing == "" || len(c.Data[1].Series) != 0 {
		t.Errorf("data is %+v", c.Data)
	}
	if other := got.Checked[1]; other.Data != nil || other.Steps != nil || other.Criteria != nil {
		t.Errorf("%s carries a reasoning: %+v", other.Kind, other)
	}
}

// Where nothing was found the weights of causes played no part: they are counted, and the limits are told.
func TestWhyOfWhatIsClear(t *testing.T) {
	r := reasoned()
	r.Findings = nil
	r.Checked[0].Outcome, r.Checked[0].Because, r.Checked[0].Steps = analyse.Clear, "no fault was seen", nil
	var b strings.Builder
	if err := findings.WriteText(&b, r, time.UTC, 76, findings.Options{Why: lockoutCheck()}); err != nil {
		t.Fatal(err)
	}
	flat := strings.Join(strings.Fields(b.String()), " ")
	for _, want := range []string{"Held off by a fault. Answer: clear. No fault was seen.", "a block is below: 20 min", "1 weight of causes, which play no part", "nothing beyond what the answer says"} {
		if !strings.Contains(flat, want) {
			t.Errorf("%q is missing:\n%s", want, b.String())
		}
	}
	if strings.Contains(flat, "weight, electrode") {
		t.Errorf("a weight that played no part is told:\n%s", b.String())
	}
}

// A figure and its unit stand on one line, at any width.
func TestFigureAndUnitStandTogether(t *testing.T) {
	r := reasoned()
	r.Checked[0].Steps = []analyse.Step{{Topic: analyse.Measured, What: "load", Text: strings.Repeat("4.7 kW, 12.5 °C and 90 % over 5 min; ", 8)}}
	for width := 32; width <= 76; width++ {
		var b strings.Builder
		if err := findings.WriteText(&b, r, time.UTC, width, findings.Options{Why: lockoutCheck()}); err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(b.String()) {
			for _, unit := range []string{"kW", "°C", "%", "min"} {
				if strings.HasPrefix(strings.TrimSpace(line), unit) {
					t.Errorf("at width %d a unit stands alone: %q", width, line)
				}
			}
			if strings.ContainsAny(line, "\u00a0\u2011") {
				t.Errorf("at width %d a mark of the wrapping is left: %q", width, line)
			}
		}
	}
}
