package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tundish/capture"
	"tundish/capture/capfile"
	"tundish/cmd/tundish/jobsheet"
)

// probeSheet is a job sheet with one probe, and what that is said to measure.
func probeSheet(point string) string {
	return "[job]\nname = \"Two runs\"\ntimezone = \"Europe/London\"\n[[source]]\nname = \"probes\"\nkind = \"one-wire\"\n" +
		"points = { \"28-0000a71c01f4\" = \"" + point + "\" }\n"
}

var firstRun = time.Date(2026, 1, 12, 6, 0, 0, 0, time.UTC)

// addRun adds a run of an hour to a capture, with one sweep of the probe a minute at 25.0625 °C.
func addRun(t *testing.T, path, sheet string, started time.Time, records int) {
	t.Helper()
	s, err := jobsheet.Parse("job.toml", []byte(sheet))
	if err != nil {
		t.Fatal(err)
	}
	w, err := openWriter(path)
	if err != nil {
		t.Fatal(err)
	}
	must := func(err error) {
		if t.Helper(); err != nil {
			t.Fatal(err)
		}
	}
	run, err := w.StartRun(capfile.RunInfo{Kind: capfile.Record, Program: "test", Started: started, Sources: []string{"probes"}})
	must(err)
	must(keepSheet(w, run, s))
	must(w.Observe(run, capfile.Observation{Wall: started, Synced: true}))
	for i := range records {
		must(w.Append(capture.Record{Run: run, At: time.Duration(i) * time.Minute, Source: "probes", Channel: "28-0000a71c01f4", Payload: []byte(probe25)}))
	}
	must(w.EndRun(run, time.Hour, "stopped"))
	must(w.Close())
}

// runs runs the program and gives what it said.
func runs(t *testing.T, want int, args ...string) (out, errs string) {
	t.Helper()
	var o, e bytes.Buffer
	if got := run(t.Context(), args, strings.NewReader(""), &o, &e); got != want {
		t.Fatalf("%v exits %d, want %d: %s", args, got, want, e.String())
	}
	return o.String(), e.String()
}

// Each run is read by the job sheet that was kept with it, and every output says that there are two.
func TestSheetOfEachRun(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "job.capture")
	addRun(t, path, probeSheet("flow"), firstRun, 3)
	addRun(t, path, "# the same again\n"+probeSheet("flow"), firstRun.Add(2*time.Hour), 3)
	addRun(t, path, probeSheet("return"), firstRun.Add(4*time.Hour), 3)
	csv, html, amending := filepath.Join(dir, "x.csv"), filepath.Join(dir, "x.html"), filepath.Join(dir, "amending.toml")
	if err := os.WriteFile(amending, []byte(probeSheet("cylinder")), 0o644); err != nil {
		t.Fatal(err)
	}
	changed := `the job sheet changed between runs 2 and 3: source probes: points.28-0000a71c01f4 was "flow", is "return"`

	out, errs := runs(t, exitDone, "export", path, "-o", csv)
	for _, said := range []string{out, errs} {
		if !strings.Contains(said, changed) {
			t.Errorf("%q lacks %q", said, changed)
		}
	}
	rows := readFile(t, csv)
	for want, n := range map[string]int{"06:01:00Z,probes/flow,25.0625": 1, "08:01:00Z,probes/flow,25.0625": 1, "10:01:00Z,probes/return,25.0625": 1,
		"probes/flow": 6, "probes/return": 3} {
		if got := strings.Count(rows, want); got != n {
			t.Errorf("%q stands %d times in the export, want %d:\n%s", want, got, n, rows)
		}
	}
	for _, args := range [][]string{{"analyse", path}, {"analyse", path, "--json"}} {
		out, _ = runs(t, exitDone, args...)
		if flat := strings.Join(strings.Fields(out), " "); !strings.Contains(strings.ReplaceAll(flat, `\"`, `"`), changed) {
			t.Errorf("%v lacks %q:\n%s", args, changed, out)
		}
	}
	runs(t, exitDone, "report", path, "-o", html)
	if !strings.Contains(readFile(t, html), "ob sheet changed between runs 2 and 3") {
		t.Error("the report does not tell that the job sheet changed")
	}

	out, errs = runs(t, exitDone, "export", path, "-o", csv, "--job", amending)
	for _, said := range []string{out, errs} {
		if !strings.Contains(said, "amending.toml stands in for the job sheet recorded with the capture") {
			t.Errorf("%q does not tell of the amended sheet", said)
		}
	}
	if got := strings.Count(readFile(t, csv), "probes/cylinder"); got != 9 {
		t.Errorf("%d rows are read by the amending sheet, want 9", got)
	}
}

func readFile(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// Records of a run whose clock is not known are left out and told, never timed in year 1.
func TestRecordsWithoutTime(t *testing.T) {
	dir := t.TempDir()
	path, csv, job := filepath.Join(dir, "job.capture"), filepath.Join(dir, "x.csv"), filepath.Join(dir, "job.toml")
	addRun(t, path, probeSheet("flow"), firstRun, 3)
	addRun(t, path, probeSheet("flow"), firstRun.Add(2*time.Hour), 4)
	if err := os.WriteFile(job, []byte(probeSheet("flow")), 0o644); err != nil {
		t.Fatal(err)
	}
	damage(t, path, `"started":"2026-01-12T06:00:00Z"`)
	out, _ := runs(t, exitDone, "analyse", path)
	if flat := strings.Join(strings.Fields(out), " "); !strings.Contains(flat, "the clock of run 1 is damaged; its records (3) have no time and were left out") ||
		!strings.Contains(flat, "Mon 12 Jan 2026 08:00 – Mon 12 Jan 2026 09:00") {
		t.Errorf("the text is\n%s", out)
	}
	runs(t, exitDone, "export", path, "-o", csv)
	if rows := readFile(t, csv); strings.Count(rows, "\n") != 5 || strings.Contains(rows, "0001-01-01") {
		t.Errorf("the export is\n%s", rows)
	}
	html := filepath.Join(dir, "x.html")
	runs(t, exitDone, "report", path, "-o", html)
	if r := readFile(t, html); strings.Contains(r, "Jan 0001") || !strings.Contains(r, "its records (3) have no time") {
		t.Error("the report times a run whose clock is not known, or does not tell of it")
	}

	damage(t, path, `"started":"2026-01-12T08:00:00Z"`)
	_, errs := runs(t, exitFail, "analyse", path, "--job", job)
	if !strings.Contains(errs, "the time of no record is known") {
		t.Errorf("the error is %q", errs)
	}
	runs(t, exitFail, "export", path, "--job", job, "-o", filepath.Join(dir, "none.csv"))
	if _, err := os.Stat(filepath.Join(dir, "none.csv")); err == nil {
		t.Error("a file is left")
	}
}

// damage changes a byte of a text that stands in a file.
func damage(t *testing.T, path, text string) {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	at := bytes.Index(b, []byte(text))
	if at < 0 {
		t.Fatalf("%s does not hold %q", path, text)
	}
	b[at+2] ^= 1
	if err := os.WriteFile(path, b, 0o644); err != nil {
		t.Fatal(err)
	}
}

// A capture in which nothing stands yet can be looked at: no check is clear by it.
func TestNoRecordYet(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.capture")
	addRun(t, path, probeSheet("flow"), firstRun, 0)
	out, _ := runs(t, exitDone, "analyse", path, "--episodes")
	if !strings.Contains(out, "! no record yet") || strings.Contains(out, "CHECKED AND CLEAR") || strings.Contains(out, "0001") {
		t.Errorf("the text is\n%s", out)
	}
	out, _ = runs(t, exitDone, "analyse", path, "--json")
	if n := strings.Count(out, `"not-assessable"`); n != len(checks()) {
		t.Errorf("%d kinds are not assessable, want all %d:\n%s", n, len(checks()), out)
	}
	runs(t, exitDone, "report", path, "-o", path+".html")
}

// Where the job sheet names no zone, the logger's counts, not that of the machine that reads the capture.
func TestZoneOfTheLogger(t *testing.T) {
	tokyo, err := time.LoadLocation("Asia/Tokyo")
	if err != nil {
		t.Fatal(err)
	}
	bare := strings.Replace(probeSheet("flow"), "timezone = \"Europe/London\"\n", "", 1)
	for _, c := range []struct {
		name string
		zone *time.Location
		want string
	}{
		{"kept", tokyo, "(Asia/Tokyo, UTC+9)"},
		{"nameless", time.FixedZone("Local", 3600), "no timezone in the job sheet, and none was kept with the capture"},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "job.capture")
			w, err := capfile.Create(path, capfile.Options{})
			if err != nil {
				t.Fatal(err)
			}
			sheet, err := jobsheet.Parse("job.toml", []byte(bare))
			if err != nil {
				t.Fatal(err)
			}
			sheet.Job.Zone = c.zone // of the machine that records
			number, err := beginRun(w, sheet)
			if err != nil {
				t.Fatal(err)
			}
			if err := w.Append(capture.Record{Run: number, Source: "probes", Channel: "28-0000a71c01f4", Payload: []byte(probe25)}); err != nil {
				t.Fatal(err)
			}
			if err := w.Close(); err != nil {
				t.Fatal(err)
			}
			out, _ := runs(t, exitDone, "analyse", path)
			if flat := strings.Join(strings.Fields(out), " "); !strings.Contains(flat, c.want) {
				t.Errorf("the text lacks %q:\n%s", c.want, out)
			}
		})
	}
}
