package scoring

import (
	"testing"

	"tundish/analyse"
	"tundish/cmd/tundish/cases"
)

// told is an answer with its label, by hand.
func told(kind string, v cases.Verdict, seen bool, o analyse.Outcome, because string) Told {
	t := Told{Case: cases.Case{Name: "home", Build: "terrace"}, Seed: 1, HasBus: true, Label: cases.Label{Kind: kind, Verdict: v, Visible: seen},
		Checked: analyse.Checked{Kind: kind, Outcome: o, Because: because}}
	if o == analyse.Found {
		t.Finding = &analyse.Finding{Kind: kind, Severity: analyse.Advise, Summary: because}
	}
	return t
}

func TestJudge(t *testing.T) {
	const spare = "does not apply: there is no cylinder"
	for _, c := range []struct {
		truth   cases.Verdict
		seen    bool
		told    analyse.Outcome
		because string
		want    verdict
		wrong   bool
		wanted  string
	}{
		{cases.Present, true, analyse.Found, "", hit, false, "found"},
		{cases.Present, true, analyse.Clear, "", missedClear, true, "found"},
		{cases.Present, true, analyse.Clear, spare, missedClear, true, "found"},
		{cases.Present, true, analyse.NotAssessable, "", missedOpen, true, "found"},
		{cases.Absent, true, analyse.Found, "", falseAlarm, true, "clear"},
		{cases.Absent, true, analyse.Clear, "", rightClear, false, "clear"},
		{cases.Absent, true, analyse.Clear, spare, rightClear, false, "clear"},
		{cases.Absent, true, analyse.NotAssessable, "", rightOpen, false, "clear"},
		{cases.Arguable, true, analyse.Found, "", arguedFound, false, "arguable"},
		{cases.Arguable, true, analyse.Clear, "", arguedClear, false, "arguable"},
		{cases.Arguable, true, analyse.NotAssessable, "", arguedOpen, false, "arguable"},
		// what the capture does not hold
		{cases.Present, false, analyse.Found, "", unseenFound, false, "not-assessable"},
		{cases.Present, false, analyse.Clear, "", unseenClear, true, "not-assessable"},
		{cases.Present, false, analyse.Clear, spare, unseenClear, true, "not-assessable"},
		{cases.Present, false, analyse.NotAssessable, "", unseenOpen, false, "not-assessable"},
		{cases.Absent, false, analyse.Found, "", falseAlarm, true, "not-assessable"},
		{cases.Absent, false, analyse.Clear, "steady", unseenClear, true, "not-assessable"},
		{cases.Absent, false, analyse.Clear, spare, spared, false, "not-assessable"},
		{cases.Absent, false, analyse.NotAssessable, "", unseenOpen, false, "not-assessable"},
		{cases.Arguable, false, analyse.Clear, "", unseenClear, true, "not-assessable"},
		{cases.Arguable, false, analyse.NotAssessable, "", unseenOpen, false, "not-assessable"},
	} {
		x := told("lockout", c.truth, c.seen, c.told, c.because)
		if got := x.verdict(); got != c.want || got.wrong() != c.wrong || x.wanted() != c.wanted {
			t.Errorf("%s, seen %v, told %s %q: %d (wrong %v), wanted %q; want %d (%v), %q", c.truth, c.seen, c.told, c.because, got, got.wrong(),
				x.wanted(), c.want, c.wrong, c.wanted)
		}
	}
}
