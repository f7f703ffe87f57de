package findings_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"tundish/analyse"
	"tundish/analyse/fit"
	"tundish/dashboards/findings"
)

func summary() *fit.Summary {
	return &fit.Summary{Job: "Mill\x1b[2J Row", From: start, To: start.Add(3 * time.Hour),
		Items: []fit.Item{
			{Rank: fit.Now, About: "probes/return", What: "gave no reading", How: "look at its lead"},
			{Rank: fit.Soon, About: "outside", What: "no outside temperature"},
			{Rank: fit.Know, About: "clock", What: "was set once"},
		},
		Early: []string{"disk: later"}, Good: []string{"clock synchronised"},
		Kinds: []fit.Kind{
			{Kind: "lockout", State: fit.CannotDo, Because: "no fault signal"},
			{Kind: "low-delta-t", State: fit.CanTell, Because: "so far clear"},
			{Kind: "high-delta-t", State: fit.CanTell, Because: "so far clear"},
		},
		DaysLeft: analyse.Some(41.26)}
}

// What to do now stands first, then what can wait, then what is right, then the checks.
func TestFitText(t *testing.T) {
	for _, width := range []int{32, 76} {
		var b strings.Builder
		if err := findings.FitText(&b, summary(), time.UTC, width, []string{"block 3 is damaged"}); err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(b.String()) {
			if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > width {
				t.Errorf("at width %d a line has %d characters: %q", width, n, line)
			}
		}
		flat, at := strings.Join(strings.Fields(b.String()), " "), 0
		for _, want := range []string{`Mill\x1b[2J Row`, "3 h (UTC)", "block 3 is damaged", "DO NOW – probes/return: gave no reading. → look at its lead.",
			"WORTH DOING", "no outside temperature.", "GOOD TO KNOW", "was set once.", "TOO EARLY TO TELL", "disk: later", "RIGHT", "clock synchronised",
			"CHECKS: CAN BE TOLD", "low-delta-t, high-delta-t: so far clear", "CHECKS: NOT WITH THIS SET-UP", "lockout: no fault signal"} {
			i := strings.Index(flat[at:], want)
			if i < 0 {
				t.Fatalf("at width %d, %q is missing, or not in its place:\n%s", width, want, b.String())
			}
			at += i
		}
	}
}

func TestFitJSON(t *testing.T) {
	var b strings.Builder
	if err := findings.FitJSON(&b, summary(), nil); err != nil {
		t.Fatal(err)
	}
	var got struct {
		From     string
		Do       []struct{ Rank, About, What, How string }
		Early    []string `json:"too_early"`
		Right    []string
		Checks   []struct{ Kind, State, Because string }
		DaysLeft *float64 `json:"disk_days_left"`
	}
	if err := json.Unmarshal([]byte(b.String()), &got); err != nil {
		t.Fatal(err)
	}
	if got.From != "2026-01-12T00:00:00Z" || len(got.Do) != 3 || got.Do[0].Rank != "now" || got.Do[0].About != "probes/return" || len(got.Early) != 1 || len(got.Right) != 1 ||
		len(got.Checks) != 3 || got.Checks[0].State != "not with this set-up" || got.DaysLeft == nil || *got.DaysLeft != 41.3 {
		t.Errorf("JSON is %s", b.String())
	}
	b.Reset()
	if err := findings.FitJSON(&b, &fit.Summary{}, nil); err != nil || !strings.Contains(b.String(), `"disk_days_left": null`) || !strings.Contains(b.String(), `"do": []`) {
		t.Errorf("of nothing: %s, %v", b.String(), err)
	}
}
