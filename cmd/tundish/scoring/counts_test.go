package scoring

import (
	"math"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/cmd/tundish/cases"
)

// Precision, recall and F1 by the textbook's formulas (Manning, Raghavan and Schütze, Introduction to Information
// Retrieval, 8.3), with what stands apart left out: 6 right of 8 found, 6 of 12 there.
func TestCounts(t *testing.T) {
	c := Counts{hit: 6, missedClear: 2, missedOpen: 4, falseAlarm: 2, rightClear: 50, rightOpen: 9, unseenFound: 7, unseenOpen: 7,
		unseenClear: 7, spared: 7, arguedFound: 7, arguedClear: 7, arguedOpen: 7}
	if c.There() != 12 || c.Precision() != 0.75 || c.Recall() != 0.5 || math.Abs(c.F1()-0.6) > 1e-12 {
		t.Errorf("%d there, precision %g, recall %g, F1 %g", c.There(), c.Precision(), c.Recall(), c.F1())
	}
	var none Counts
	if !math.IsNaN(none.Precision()) || !math.IsNaN(none.Recall()) || !math.IsNaN(none.F1()) {
		t.Error("nothing gives a figure")
	}
	none.Add(c)
	none.Add(c)
	if none[hit] != 12 || none[arguedOpen] != 14 || none[unseenClear] != 14 {
		t.Errorf("added: %v", none)
	}
}

// caused is a true finding with the words that may stand first as its cause and what was told of it.
func caused(kind, really, cause string, ranked ...string) Told {
	x := told(kind, cases.Present, true, analyse.Found, "")
	x.Label.Causes, x.Finding.Cause = strings.Fields(really), cause
	for _, r := range ranked {
		x.Finding.Causes = append(x.Finding.Causes, analyse.Cause{Cause: r})
	}
	return x
}

func TestCausesBy(t *testing.T) {
	missed := told("short-cycling", cases.Present, true, analyse.Clear, "")
	missed.Label.Causes = []string{"oversized"}
	got := causesBy([]Told{
		caused("short-cycling", "oversized", "", "oversized", "control"),
		caused("short-cycling", "oversized", "", "control", "oversized"),
		caused("short-cycling", "oversized", "", "control"),
		caused("short-cycling", "oversized", ""),
		caused("short-cycling", "control oversized", "", "oversized"), // either word is right
		caused("short-cycling", "", "", "control"),                    // no word for the true cause
		caused("lockout", "ignition", "ignition", "electrode"),
		missed,
	})
	if want := (CauseCount{5, 2, 3}); len(got) != 2 || *got["short-cycling"] != want {
		t.Errorf("short cycling: %+v, want %+v", got["short-cycling"], want)
	}
	if want := (CauseCount{1, 1, 1}); *got["lockout"] != want {
		t.Errorf("lockout: %+v, want %+v", got["lockout"], want)
	}
}

func TestLockoutEvents(t *testing.T) {
	start := time.Date(2026, 1, 10, 0, 0, 0, 0, time.UTC)
	really := cases.Evidence{From: secs(1000), To: secs(2000), Cause: "ignition"}
	second := cases.Evidence{From: secs(9000), To: secs(9900), Cause: "sensor", Open: true}
	heard := func(from, to int, cause string) analyse.Evidence {
		return analyse.Evidence{From: start.Add(secs(from)), To: start.Add(secs(to)), Cause: cause}
	}
	for _, c := range []struct {
		name  string
		label []cases.Evidence
		told  []analyse.Evidence
		want  Events // counts only
	}{
		{"both at their time", []cases.Evidence{really, second}, []analyse.Evidence{heard(1005, 1995, "ignition"), heard(8999, 9999, "sensor")},
			Events{Tally: Tally{True: 2, Found: 2, Matched: 2}, OnsetIn: 2, EndIn: 1, Ended: 1, CauseRight: 2}},
		{"late, and for another cause", []cases.Evidence{really}, []analyse.Evidence{heard(1006, 2006, "unknown")},
			Events{Tally: Tally{True: 1, Found: 1, Matched: 1}, Ended: 1}},
		{"another time", []cases.Evidence{really}, []analyse.Evidence{heard(5000, 6000, "ignition")},
			Events{Tally: Tally{True: 1, Found: 1}, Ended: 1}},
		{"one run over two", []cases.Evidence{really, {From: secs(2100), To: secs(2200), Cause: "ignition"}}, []analyse.Evidence{heard(1000, 2200, "ignition")},
			Events{Tally: Tally{True: 2, Found: 1, Matched: 1}, OnsetIn: 1, Ended: 2, CauseRight: 1}},
		{"not found", []cases.Evidence{really}, nil, Events{Tally: Tally{True: 1}, Ended: 1}},
		{"found where none is", nil, []analyse.Evidence{heard(1, 2, "ignition")}, Events{Tally: Tally{Found: 1}}},
	} {
		x := told(lockoutKind, cases.Present, true, analyse.Found, "")
		x.Start, x.Label.Evidence, x.Finding.Evidence = start, c.label, c.told
		if c.told == nil {
			x.Finding = nil
		}
		unheard := x
		unheard.HasBus = false
		got := lockoutEvents([]Told{x, unheard, told("sensor-fault", cases.Present, true, analyse.Found, "")})
		got.Onset, got.End = Edges{}, Edges{}
		if got.Tally != c.want.Tally || got.OnsetIn != c.want.OnsetIn || got.EndIn != c.want.EndIn || got.Ended != c.want.Ended || got.CauseRight != c.want.CauseRight {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
}
