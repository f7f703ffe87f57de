package findings_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"
	"unicode"
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
			{Kind: "oversized", Outcome: analyse.NotAssessable, Because: "too few days"},
			{Kind: "pressure-loss", Outcome: analyse.NotAssessable, Because: "too few days"},
		},
		Facts: &episode.Facts{From: start, To: at(48),
			Firings:  []episode.Firing{{Span: episode.Span{From: at(2), To: at(2.25)}, Use: episode.HotWater, End: episode.EndDemand, Basis: episode.ByShape}},
			Overruns: []episode.Overrun{{Span: episode.Span{From: at(2.25), To: at(2.3)}, After: episode.HotWater, Basis: episode.ByFlame}},
			Attempts: []episode.Attempt{{At: at(29.9), Flame: 3 * time.Second, Then: episode.ThenLockout}},
			Sights:   []episode.Sight{{Span: episode.Span{From: start, To: at(48)}, Basis: episode.ByShape, Source: "probes", Interval: time.Second, Lag: 20 * time.Second, Shortest: 25 * time.Second, Because: "told by how flow and return warm and cool"}},
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
	if s := strings.Join(kinds, " "); s != "heat-demand firing overrun attempt lockout silence" {
		t.Errorf("episodes are %q", s)
	}
	firing := got["episodes"].([]any)[1].(map[string]any)
	if firing["basis"] != "shape" || firing["unsure"] != "use" {
		t.Errorf("firing is %v", firing)
	}
	if x := got["episodes"].([]any)[3].(map[string]any); x["end"] != "lockout" || x["to"] != "2026-01-13T05:54:03Z" {
		t.Errorf("attempt is %v", x)
	}
	if x := got["sights"].([]any)[0].(map[string]any); x["basis"] != "shape" || x["lag_s"] != 20.0 || x["shortest_s"] != 25.0 {
		t.Errorf("sight is %v", x)
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
		for _, want := range []string{"lockout, ignition (act)", "heat was asked for", "oversized, pressure-loss: too few days", "other.toml", "damaged", "than 25 s can be missed"} {
			if !strings.Contains(flat, want) {
				t.Errorf("at width %d the text lacks %q:\n%s", width, want, b.String())
			}
		}
	}
}

// The head says year and zone, and a clock change inside the record. The dates of the changes are those of Directive
// 2000/84/EC and of the IANA time zone database.
func TestHead(t *testing.T) {
	cases := []struct{ zone, from, to, want string }{
		{"Europe/London", "2026-01-13T00:00:00Z", "2026-01-16T00:00:00Z", "Tue 13 Jan 2026 00:00 – Fri 16 Jan 2026 00:00, 3 days (Europe/London, UTC+0)"},
		{"Europe/London", "2026-03-28T00:00:00Z", "2026-03-30T00:00:00Z", "Sat 28 Mar 2026 00:00 – Mon 30 Mar 2026 01:00, 2 days (Europe/London, UTC+0, then UTC+1)"},
		{"Asia/Kolkata", "2025-12-31T18:00:00Z", "2025-12-31T19:00:00Z", "Wed 31 Dec 2025 23:30 – Thu 1 Jan 2026 00:30, 1 h (Asia/Kolkata, UTC+5:30)"},
		{"America/St_Johns", "2026-01-13T00:00:00Z", "2026-01-13T01:00:00Z", "Mon 12 Jan 2026 20:30 – Mon 12 Jan 2026 21:30, 1 h (America/St_Johns, UTC−3:30)"},
	}
	for _, c := range cases {
		zone, err := time.LoadLocation(c.zone)
		if err != nil {
			t.Fatal(err)
		}
		r := &analyse.Result{Job: "x", Facts: &episode.Facts{}}
		for at, text := range map[*time.Time]string{&r.From: c.from, &r.To: c.to} {
			if *at, err = time.Parse(time.RFC3339, text); err != nil {
				t.Fatal(err)
			}
		}
		if flat := asText(t, r, zone); !strings.Contains(flat, c.want) {
			t.Errorf("the head lacks %q:\n%s", c.want, flat)
		}
	}
}

// A record that holds nothing has no dates.
func TestHeadOfNothing(t *testing.T) {
	if flat := asText(t, &analyse.Result{Job: "x", Facts: &episode.Facts{}}, time.UTC); !strings.Contains(flat, "No record yet.") || strings.Contains(flat, "Jan") {
		t.Errorf("the text is\n%s", flat)
	}
}

// Nothing that a device or a file said can steer the terminal.
func TestTextCannotSteer(t *testing.T) {
	r := result()
	r.Job = "Mill\x1b[2J Row"
	r.Findings[0].Evidence[0].Note = "last line \x9b31m\xff\x07, then\nnothing"
	r.Facts.Silences[0].Source = "boiler\r"
	flat := asText(t, r, time.UTC)
	if i := strings.IndexFunc(flat, func(c rune) bool { return c != '\n' && unicode.IsControl(c) }); i >= 0 || !utf8.ValidString(flat) {
		t.Errorf("the text steers the terminal at %d: %q", i, flat)
	}
	for _, want := range []string{`Mill\x1b[2J Row`, `\xff\a, then\nnothing`, `boiler\r`} {
		if !strings.Contains(flat, want) {
			t.Errorf("the text lacks %q:\n%s", want, flat)
		}
	}
}

// asText is the text on one line.
func asText(t *testing.T, r *analyse.Result, zone *time.Location) string {
	t.Helper()
	var b strings.Builder
	if err := findings.WriteText(&b, r, zone, 76, findings.Options{Episodes: true}); err != nil {
		t.Fatal(err)
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// TestMarks: what people noted stands in both outputs, and a text cannot steer the terminal.
func TestMarks(t *testing.T) {
	r := result()
	r.Marks = []analyse.Mark{{At: start.Add(31 * time.Hour), Text: "reset \x1b[2J pressed"}}
	var b strings.Builder
	if err := findings.WriteJSON(&b, r, findings.Options{}); err != nil {
		t.Fatal(err)
	}
	var got struct{ Marks []struct{ At, Text string } }
	if err := json.Unmarshal([]byte(b.String()), &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Marks) != 1 || got.Marks[0].At != "2026-01-13T07:00:00Z" || got.Marks[0].Text != "reset \x1b[2J pressed" {
		t.Errorf("marks are %+v", got.Marks)
	}
	b.Reset()
	if err := findings.WriteText(&b, r, time.UTC, 76, findings.Options{}); err != nil {
		t.Fatal(err)
	}
	if text := b.String(); !strings.Contains(text, "WHAT PEOPLE NOTED") || !strings.Contains(text, "Tue 13 Jan 07:00: reset ") || strings.Contains(text, "\x1b") {
		t.Errorf("text is\n%s", text)
	}
}
