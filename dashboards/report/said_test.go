package report

import (
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

// textOf is the text of all blocks of a section.
func textOf(t *testing.T, in Input, id string) string {
	t.Helper()
	doc, err := compose(in)
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, s := range doc.sections {
		if s.id != id {
			continue
		}
		for _, x := range s.blocks {
			switch x := x.(type) {
			case para:
				b.WriteString(x.text + "\n")
			case list:
				for _, i := range x.items {
					b.WriteString(i.strong + " " + i.text + "\n")
				}
			case pairs:
				for _, i := range x {
					b.WriteString(i.label + ": " + i.value + "\n")
				}
			case table:
				for _, r := range x.rows {
					b.WriteString(strings.Join(r, " | ") + "\n")
				}
			}
		}
	}
	return b.String()
}

// TestSimulatedIsToldOnEveryPage: a demonstration must not pass for evidence.
func TestSimulatedIsToldOnEveryPage(t *testing.T) {
	in := millRow(t, 2)
	in.Sources[0].Kind, in.Amended = "simulated", "other.toml"
	for i, lines := range pagesOf(t, in) {
		if top := strings.Join(lines[:2], " "); !strings.Contains(top, "no real plant was measured") || !strings.Contains(top, "other.toml") {
			t.Errorf("page %d begins with %q", i+1, top)
		}
	}
	if v := textOf(t, in, "verdict"); !strings.Contains(v, simulatedWarning) {
		t.Error(v)
	}
	if v := textOf(t, millRow(t, 2), "verdict"); strings.Contains(v, "simulation") {
		t.Error("a real record is called a simulation")
	}
}

// TestBrokenChainHasNoHead: where checking stopped, the zeros that stand for no hash must not look like one.
func TestBrokenChainHasNoHead(t *testing.T) {
	in := millRow(t, 2)
	in.Proof = Proof{File: "a.capture", Head: strings.Repeat("0", 64), Problem: "chain broken at block 71"}
	in.Damaged = []string{"block 71: 13 Jan 2026 19:20 to 19:54"}
	text := pdfText(t, pdfOf(t, in))
	if strings.Contains(text, "000000000000") || strings.Contains(text, "Sealed blocks") {
		t.Error("figures of a chain that was not followed to its end are printed")
	}
	wantAll(t, text, "chain head not known", "What could not be read, and is missing from the analysis: – Block 71: 13 Jan 2026 19:20 to 19:54",
		"may itself look like a fault")
}

// TestVerdictWords: notes are no faults, and little looked for is no clean bill.
func TestVerdictWords(t *testing.T) {
	note, fault := analyse.Finding{Kind: "bus-silence", Severity: analyse.Note}, analyse.Finding{Kind: "lockout", Severity: analyse.Act}
	checked := func(clear, not int) []analyse.Checked {
		var out []analyse.Checked
		for range clear {
			out = append(out, analyse.Checked{Kind: "lockout", Outcome: analyse.Clear, Because: "none seen"})
		}
		for range not {
			out = append(out, analyse.Checked{Kind: "oversized", Outcome: analyse.NotAssessable, Because: "no output known"})
		}
		return out
	}
	idle := []analyse.Checked{{Kind: "bus-silence", Outcome: analyse.Clear, Because: "does not apply: no bus is connected"},
		{Kind: "lockout", Outcome: analyse.NotAssessable, Because: "no fault signal"}}
	for _, c := range []struct {
		name     string
		findings []analyse.Finding
		checked  []analyse.Checked
		want     string
	}{
		{"a fault", []analyse.Finding{fault}, nil, "1 fault was found.\n"},
		{"a note", []analyse.Finding{note}, nil, "No fault was found; 1 thing is worth knowing.\n"},
		{"both", []analyse.Finding{fault, fault, note, note}, nil, "2 faults were found, and 2 things worth knowing.\n"},
		{"nothing", nil, checked(3, 1), "Nothing was found.\n"},
		{"little looked for", nil, checked(1, 3), "Nothing was found, but little could be looked for: only 1 of 4 checks could be made. This is no clean bill of health.\n"},
		{"nothing looked for", nil, checked(0, 2), "Nothing can be said of this plant: of 2 checks none that applies could be made.\n"},
		{"what cannot apply was not looked for", nil, idle, "Nothing can be said of this plant: of 2 checks none that applies could be made.\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := Input{Result: &analyse.Result{Findings: c.findings, Checked: c.checked}, Proof: Proof{Intact: true}}
			if got := textOf(t, in, "verdict"); !strings.HasPrefix(got, c.want) {
				t.Errorf("got  %swant %s", got, c.want)
			}
		})
	}
}

// TestOneReasonOneRow: kinds that cannot be judged for one reason share a row, and none is lost.
func TestOneReasonOneRow(t *testing.T) {
	in := millRow(t, 2)
	in.Result.Checked = []analyse.Checked{
		{Kind: "oversized", Outcome: analyse.NotAssessable, Because: "no flame signal"},
		{Kind: "pressure-loss", Outcome: analyse.NotAssessable, Because: "no pressure"},
		{Kind: "short-cycling", Outcome: analyse.NotAssessable, Because: "no flame signal"},
	}
	want := "Output far above the need; short cycling | No flame signal\nSystem pressure falls | No pressure\n"
	if got := textOf(t, in, "not-assessable"); got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// TestInstrumentsAreNamed: what measured, by its own number, and what was added to it.
func TestInstrumentsAreNamed(t *testing.T) {
	in := millRow(t, 2)
	in.Sources = []Source{
		{Name: "boiler", Kind: "opentherm", Port: "/dev/serial/by-id/usb-adapter, 9600 baud", Points: []string{"flow", "return", "flame", "fault", "pressure", "room", "outside"}},
		{Name: "probes", Kind: "one-wire", At: "300 mm below the casing", Points: []string{"flow", "return"},
			Probes: []Probe{{ID: "28-0000a71c01f4", Point: "flow"}, {ID: "28-0000a71c03aa", Point: "room", Offset: 0.5},
				{ID: "28-0000a71c039b", Point: "return", Offset: -0.19, Paired: "paired on 9 January 2026, offset -0.19 K known to ± 0.07 K, spread 0.05 K"}}},
	}
	got := textOf(t, in, "measured")
	for _, want := range []string{
		"boiler | OpenTherm bus, through an adapter | not stated | /dev/serial/by-id/usb-adapter, 9600 baud | 7 series, listed below",
		"probes | 1-Wire temperature probes | 300 mm below the casing |  | flow, return",
		"28-0000a71c01f4 | probes | flow | none | not stated",
		"28-0000a71c039b | probes | return | −0.19\u00a0K | paired on 9 January 2026, offset", "spread 0.05", "28-0000a71c03aa | probes | room | +0.50\u00a0K",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("missing %q in:\n%s", want, got)
		}
	}
}

func TestStretchesWithoutReadings(t *testing.T) {
	in := millRow(t, 2)
	want := "13 Jan 2026 02:00:00 | 40\u00a0min | boiler | not explained\n13 Jan 2026 12:00:00 | 1\u00a0h 25\u00a0min | all | the logger was not running\n"
	if got := textOf(t, in, "absent"); got != want {
		t.Errorf("got  %q\nwant %q", got, want)
	}
	in.Result.Facts = &episode.Facts{}
	if got := textOf(t, in, "absent"); !strings.HasPrefix(got, "No break in the recording") {
		t.Error(got)
	}
}

// TestOldClock: in London the clocks go forward at 01:00 GMT, in autumn back at 02:00 BST; Lord Howe Island's go
// forward by half an hour at 02:00 (IANA time zone database).
func TestOldClock(t *testing.T) {
	for zone, wants := range map[string][]string{"Europe/London": {"01:00", "02:00"}, "Australia/Lord_Howe": {"02:00", "02:00"}} {
		z, err := time.LoadLocation(zone)
		if err != nil {
			t.Fatal(err)
		}
		for i, c := range clockChanges(time.Date(2026, 1, 1, 0, 0, 0, 0, z), time.Date(2027, 1, 1, 0, 0, 0, 0, z), z) {
			if got := c.oldClock(); got != wants[i] {
				t.Errorf("%s, change %d: %s, want %s", zone, i+1, got, wants[i])
			}
		}
	}
}

// TestNumbersAsTheSentencesHaveThem: a figure reads the same in the sentence and in the list below it.
func TestNumbersAsTheSentencesHaveThem(t *testing.T) {
	for _, c := range []struct {
		v    float64
		unit string
		want string
	}{
		{176, "min", "2\u00a0h 56\u00a0min"}, {69, "s", "69\u00a0s"}, {190, "s", "3\u00a0min 10\u00a0s"}, {40.7, "h", "40.7\u00a0h"}, {20, "K", "20.0\u00a0K"},
		{0.71, "K", "0.71\u00a0K"}, {1580, "", "1\u00a0580"}, {-3, "s", "−3\u00a0s"}, {1e300, "min", withUnit(1e300, "min")},
	} {
		if got := numberText(c.v, c.unit); got != c.want {
			t.Errorf("%v %s: %q, want %q", c.v, c.unit, got, c.want)
		}
	}
	for _, c := range []struct {
		v    float64
		p    decode.Point
		want string
	}{
		{75, decode.Flow, "75.0\u00a0°C"}, {-6, decode.Outside, "−6.0\u00a0°C"}, {1.6, decode.Pressure, "1.60\u00a0bar"}, {0, decode.Flame, "off"},
		{1, decode.Fault, "on"}, {18342, decode.BurnerStarts, "18\u00a0342"}, {33, decode.ModulationMin, "33\u00a0%"}, {6120, decode.BurnerHours, "6\u00a0120\u00a0h"},
	} {
		if got := valueText(c.v, c.p); got != c.want {
			t.Errorf("%v of %v: %q, want %q", c.v, c.p, got, c.want)
		}
	}
}

// TestDecisiveHours: of a long stretch of short cycling the hours with the most starts are shown, few enough to
// tell single cycles apart; a lockout's chart stands below what went before it.
func TestDecisiveHours(t *testing.T) {
	from := time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)
	in := Input{Result: &analyse.Result{From: from, To: from.Add(24 * time.Hour), Facts: &episode.Facts{}}, Proof: Proof{Intact: true}}
	for at := from; at.Before(from.Add(20 * time.Hour)); {
		in.Result.Facts.Firings = append(in.Result.Facts.Firings, episode.Firing{Span: episode.Span{From: at, To: at.Add(time.Minute)}})
		step := 12 * time.Minute
		if h := at.Sub(from).Hours(); h >= 9 && h < 12 {
			step = 5 * time.Minute
		}
		at = at.Add(step)
	}
	in.Result.Findings = []analyse.Finding{{Kind: "short-cycling", Severity: analyse.Advise, From: from, To: from.Add(20 * time.Hour),
		Evidence: []analyse.Evidence{{From: from, To: from.Add(20 * time.Hour)}}}}
	doc, err := compose(in)
	if err != nil {
		t.Fatal(err)
	}
	p := doc.plots()[0]
	if p.to.Sub(p.from) != cycleWindow || p.from.Before(from.Add(8*time.Hour+30*time.Minute)) || p.to.After(from.Add(12*time.Hour+30*time.Minute)) {
		t.Errorf("%s: %v to %v", p.title, p.from, p.to)
	}
	in = millRow(t, 2)
	if doc, err = compose(in); err != nil {
		t.Fatal(err)
	}
	for _, s := range doc.sections {
		if s.id != "finding-1-before" {
			continue
		}
		var order []string
		for _, b := range s.blocks {
			switch b.(type) {
			case para:
				order = append(order, "para")
			case list:
				order = append(order, "list")
			case figure:
				order = append(order, "figure")
			}
		}
		if got := strings.Join(order, " "); got != "para list figure para list figure" {
			t.Error(got)
		}
		return
	}
	t.Error("nothing is said of what went before the lockouts")
}
