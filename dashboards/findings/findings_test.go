package findings_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/dashboards/findings"
	"tundish/decode"
)

var start = time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)

func result() *analyse.Result {
	at := func(h float64) time.Time { return start.Add(time.Duration(h * float64(time.Hour))) }
	return &analyse.Result{
		Job: "Mill Row 3", From: start, To: at(48),
		Coverage: []analyse.Coverage{{Series: decode.Series{Source: "boiler", Point: decode.Flow}, Share: 0.99812}},
		Findings: []analyse.Finding{{
			Kind: "lockout", Severity: analyse.Act, From: at(30), To: at(31.5), Cause: "ignition",
			Summary:  "The boiler locked out once, because the burner did not light, and gave no heat for 90 min in all until somebody acted.",
			Numbers:  []analyse.Number{{Name: "lockouts", Value: 1, Label: "lockouts"}},
			Evidence: []analyse.Evidence{{From: at(30), To: at(31.5), Cause: "ignition", Note: "locked out for 90 min", Before: []string{"06:00:00  heat was asked for"}}},
			Causes:   []analyse.Cause{{Cause: "ignition", Support: 0.8123, Because: "no flame held", Settle: "look"}},
		}},
		Checked: []analyse.Checked{
			{Kind: "lockout", Outcome: analyse.Found, Because: "x"},
			{Kind: "bus-silence", Outcome: analyse.Clear, Because: "never silent"},
			{Kind: "oversized", Outcome: analyse.NotAssessable, Because: "not built yet"},
			{Kind: "pressure-loss", Outcome: analyse.NotAssessable, Because: "not built yet"},
		},
		Facts: &episode.Facts{From: start, To: at(48),
			Firings:  []episode.Firing{{Span: episode.Span{From: at(2), To: at(2.25)}, Use: episode.HotWater, End: episode.EndDemand}},
			Demands:  []episode.Demand{{Span: episode.Span{From: at(1), To: at(3)}}},
			Lockouts: []episode.Lockout{{Span: episode.Span{From: at(30), To: at(31.5)}, Locked: true, Cause: "ignition"}},
			Silences: []episode.Silence{{Span: episode.Span{From: at(40), To: at(41)}, Source: "boiler", Reason: episode.SilenceUnexplained}}},
	}
}

// The shape that programs rely on, field by field.
func TestJSON(t *testing.T) {
	var b strings.Builder
	if err := findings.WriteJSON(&b, result(), findings.Options{Episodes: true}); err != nil {
		t.Fatal(err)
	}
	var got map[string]any
	if err := json.Unmarshal([]byte(b.String()), &got); err != nil {
		t.Fatal(err)
	}
	if got["job"] != "Mill Row 3" || got["from"] != "2026-01-12T00:00:00Z" || got["to"] != "2026-01-14T00:00:00Z" {
		t.Errorf("head is %v %v %v", got["job"], got["from"], got["to"])
	}
	if c := got["coverage"].(map[string]any)["boiler/flow"]; c != 0.9981 {
		t.Errorf("coverage is %v", c)
	}
	f := got["findings"].([]any)[0].(map[string]any)
	for _, key := range []string{"kind", "severity", "from", "to", "summary", "cause", "numbers", "evidence", "causes"} {
		if _, ok := f[key]; !ok {
			t.Errorf("a finding lacks %q", key)
		}
	}
	if f["severity"] != "act" || f["cause"] != "ignition" || f["evidence"].([]any)[0].(map[string]any)["cause"] != "ignition" {
		t.Errorf("finding is %v", f)
	}
	if c := got["checked"].([]any)[2].(map[string]any); c["outcome"] != "not-assessable" {
		t.Errorf("checked is %v", c)
	}
	var kinds []string
	for _, e := range got["episodes"].([]any) {
		kinds = append(kinds, e.(map[string]any)["kind"].(string))
	}
	if s := strings.Join(kinds, " "); s != "heat-demand firing lockout silence" {
		t.Errorf("episodes are %q", s)
	}
	b.Reset()
	if err := findings.WriteJSON(&b, result(), findings.Options{}); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.String(), `"episodes"`) {
		t.Error("episodes are there unasked")
	}
}

// An empty result has empty lists, not nulls.
func TestJSONOfNothing(t *testing.T) {
	var b strings.Builder
	if err := findings.WriteJSON(&b, &analyse.Result{Facts: &episode.Facts{}}, findings.Options{Episodes: true}); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.String(), "null") {
		t.Errorf("null in\n%s", b.String())
	}
}

func TestTextFitsAPhone(t *testing.T) {
	for _, width := range []int{32, 40, 60, 76} {
		var b strings.Builder
		if err := findings.WriteText(&b, result(), time.UTC, width, findings.Options{Episodes: true, Amended: "other.toml stands in", Warnings: []string{"block 3 is damaged"}}); err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(b.String()) {
			if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > width {
				t.Errorf("at width %d a line has %d characters: %q", width, n, line)
			}
		}
		flat := strings.Join(strings.Fields(b.String()), " ")
		for _, want := range []string{"lockout, ignition (act)", "heat was asked for", "oversized, pressure-loss: not built yet", "other.toml", "damaged"} {
			if !strings.Contains(flat, want) {
				t.Errorf("at width %d the text lacks %q:\n%s", width, want, b.String())
			}
		}
	}
}
