package main

import (
	"html"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Every criterion of every check is printed by the command and stands in the report, with its source.
func TestCriteriaEverywhere(t *testing.T) {
	dir := t.TempDir()
	path, page := filepath.Join(dir, "job.capture"), filepath.Join(dir, "x.html")
	addRun(t, path, probeSheet("flow"), firstRun, 3)
	runs(t, exitDone, "report", path, "-o", page)
	written, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	flat := func(s string) string { return strings.Join(strings.Fields(strings.ReplaceAll(s, "\u00a0", " ")), " ") }
	out, _ := runs(t, exitDone, "criteria")
	text, report := flat(out), flat(html.UnescapeString(string(written)))
	n := 0
	for _, c := range checks() {
		for _, k := range c.Criteria {
			n++
			if k.Name == "" || k.Source == "" {
				t.Errorf("%s: criterion %q has no name or no source", c.Kind, k.Name)
			}
			for where, said := range map[string]string{"the table": text, "the report": report} {
				if !strings.Contains(said, flat(k.Name)) || !strings.Contains(said, flat(k.Source)) {
					t.Errorf("%s: %s lacks %q (%s)", c.Kind, where, k.Name, k.Source)
				}
			}
		}
	}
	if n < 10 {
		t.Errorf("only %d criteria were seen", n)
	}
}
