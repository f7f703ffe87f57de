package jobsheet

import (
	"errors"
	"strings"
	"testing"
)

const editable = `# keep me
[job]
name = "Mill Row 3" # and me
notes = """
[[source]]
points = { no } # in a text
"""

[[source]] # the bus
name = "boiler"
kind = "opentherm"

# probes
[[source]]
name   = "probes"
points = { "28-0000a71c01f4" = "flow", "28-0000a71c039b" = { point = "return", offset_k = -0.19 } } # strapped
kind   = "one-wire"

[[source]]
name = "more"
kind = "one-wire" # at the end
# end
`

func TestEditProbes(t *testing.T) {
	pair := []Key{{"offset_k", Number(-0.204)}, {"paired_k", Number(0.06)}, {"paired_on", `"2026-11-25"`}}
	got, err := EditProbes("job.toml", []byte(editable), []ProbeEdit{
		{Source: "probes", Probe: "28-0000a71c039b", Keys: pair},
		{Source: "probes", Probe: "28-0000a71c01f4", Keys: pair},
		{Source: "probes", Probe: "28-000000000001", Keys: []Key{{"point", `"outside"`}}},
		{Source: "more", Probe: "28-000000000002", Keys: []Key{{"point", `"room"`}}},
	})
	if err != nil {
		t.Fatal(err)
	}
	want := strings.Replace(editable, `{ "28-0000a71c01f4" = "flow", "28-0000a71c039b" = { point = "return", offset_k = -0.19 } }`,
		`{ "28-0000a71c01f4" = { point = "flow", offset_k = -0.20, paired_k = 0.06, paired_on = "2026-11-25" }, `+
			`"28-0000a71c039b" = { point = "return", offset_k = -0.20, paired_k = 0.06, paired_on = "2026-11-25" }, "28-000000000001" = "outside" }`, 1)
	want = strings.Replace(want, "# at the end\n", "# at the end\npoints = { \"28-000000000002\" = \"room\" }\n", 1)
	if string(got) != want {
		t.Errorf("got\n%s", got)
	}
	// Out again, and the point back: the sheet as it was.
	s, err := Parse("job.toml", got)
	if err != nil || s.Sources[1].Points["28-0000a71c039b"].PairedOn.Format("2006-01-02") != "2026-11-25" {
		t.Errorf("%+v, %v", s, err)
	}
}

func TestEditSwapsAndRemoves(t *testing.T) {
	got, err := EditProbes("job.toml", []byte("\ufeff"+editable), []ProbeEdit{
		{Source: "probes", Probe: "28-0000a71c01f4", Remove: true},
		{Source: "probes", Probe: "28-0000a71c039b", Keys: []Key{{"point", `"flow"`}}},
	})
	want := "\ufeff" + strings.Replace(editable, `{ "28-0000a71c01f4" = "flow", "28-0000a71c039b" = { point = "return", offset_k = -0.19 } }`,
		`{ "28-0000a71c039b" = { point = "flow", offset_k = -0.19 } }`, 1)
	if err != nil || string(got) != want {
		t.Errorf("%v, got\n%s", err, got)
	}
}

func TestEditRefuses(t *testing.T) {
	head := "[job]\nname = \"x\"\n[[source]]\nname = \"probes\"\nkind = \"one-wire\"\n"
	edit := []ProbeEdit{{Source: "probes", Probe: "28-000000000001", Keys: []Key{{"point", `"flow"`}}}}
	for name, text := range map[string]string{
		"a table of its own": head + "[source.points]\n\"28-000000000001\" = \"return\"\n",
		"dotted":             head + "points.\"28-000000000001\" = \"return\"\n",
		"several lines":      head + "points = {\n\"28-000000000001\" = \"return\" }\n",
	} {
		if _, err := EditProbes("job.toml", []byte(text), edit); !errors.Is(err, ErrLayout) && name != "several lines" || err == nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	twice := head + "points = { \"28-000000000002\" = \"flow\" }\n"
	if _, err := EditProbes("job.toml", []byte(twice), edit); err == nil || !strings.Contains(err.Error(), "measured by") {
		t.Errorf("two probes of one point: %v", err)
	}
	// No line end at the end of the file, and a key whose text looks like the end of a table.
	odd := strings.TrimSuffix(head, "\n") + "\nat = '}\"#' # \" }"
	got, err := EditProbes("job.toml", []byte(odd), edit)
	if err != nil || string(got) != odd+"\npoints = { \"28-000000000001\" = \"flow\" }\n" {
		t.Errorf("%v\n%s", err, got)
	}
}

// FuzzEditProbes: an edit of any sheet gives a sheet that differs in what was asked alone, or an error.
func FuzzEditProbes(f *testing.F) {
	f.Add([]byte(editable))
	f.Add([]byte("[job]\nname='x'\n[[source]]\nname='probes'\nkind='one-wire'\npoints={'28-000000000001'='flow'}"))
	f.Fuzz(func(t *testing.T, text []byte) {
		edit := []ProbeEdit{{Source: "probes", Probe: "28-000000000001", Keys: []Key{{"point", `"room"`}}}}
		got, err := EditProbes("job.toml", text, edit)
		if err != nil {
			return
		}
		s, err := Parse("job.toml", got)
		if err != nil {
			t.Fatalf("%v\n%s", err, got)
		}
		if src, ok := s.Source("probes"); ok && src.Points["28-000000000001"].Point.String() != "room" {
			t.Errorf("%s", got)
		}
	})
}

func TestProbeOfTwoSources(t *testing.T) {
	text := strings.Replace(editable, "# at the end\n", "\npoints = { \"28-0000a71c01f4\" = \"room\" }\n", 1)
	_, err := Parse("job.toml", []byte(text))
	if err == nil || !strings.Contains(err.Error(), `job.toml:22: source[2].points.28-0000a71c01f4: source "probes" reads this probe already`) {
		t.Errorf("%v", err)
	}
	if _, err := Parse("job.toml", []byte(strings.Replace(text, "kind = \"one-wire\" \n", "kind = \"one-wire\"\nroot = \"/elsewhere\"\n", 1))); err != nil {
		t.Errorf("another root: %v", err)
	}
}

// A source whose own tables follow, and one behind them: each line goes where it belongs.
func TestEditBesideTables(t *testing.T) {
	head := "[job]\nname = \"x\"\n[[source]]\nname = \"radio\"\nkind = \"mqtt\"\nbroker = \"mqtt://192.0.2.1\"\n[[source.topic]]\ntopic = \"a\"\npoint = \"room\"\n" +
		"\n[[source]]\nname = \"probes\"\n\n# said\nkind = \"one-wire\" # kind\n\n[light]\n"
	got, err := EditProbes("job.toml", []byte(head), []ProbeEdit{{Source: "probes", Probe: "28-000000000001", Keys: []Key{{"point", `"flow"`}}}})
	want := strings.Replace(head, "# kind\n", "# kind\npoints = { \"28-000000000001\" = \"flow\" }\n", 1)
	if err != nil || string(got) != want {
		t.Errorf("%v\n%s", err, got)
	}
}
