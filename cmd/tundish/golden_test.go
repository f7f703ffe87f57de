package main

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestGoldenCaptures imports each folder of the project's testdata (job.toml, and a file NAME.log or NAME.csv for
// each source NAME) and holds what the analysis says to findings.json beside it. -update rewrites that; the review
// asks whether the new numbers are right.
func TestGoldenCaptures(t *testing.T) {
	jobs, err := filepath.Glob("../../testdata/*/job.toml")
	if err != nil || len(jobs) == 0 {
		t.Fatalf("no golden captures: %v", err)
	}
	for _, job := range jobs {
		dir := filepath.Dir(job)
		t.Run(filepath.Base(dir), func(t *testing.T) {
			out := filepath.Join(t.TempDir(), "job.capture")
			args := []string{"import", job, "-o", out}
			files, err := filepath.Glob(filepath.Join(dir, "*.[lc][os][gv]"))
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range files {
				name := strings.TrimSuffix(filepath.Base(f), filepath.Ext(f))
				args = append(args, name+"="+f)
			}
			var got, errs bytes.Buffer
			if s := run(t.Context(), args, strings.NewReader(""), io.Discard, &errs); s != exitDone {
				t.Fatalf("import exits %d: %s", s, errs.String())
			}
			if s := run(t.Context(), []string{"analyse", out, "--json", "--episodes"}, strings.NewReader(""), &got, &errs); s != exitDone {
				t.Fatalf("analyse exits %d: %s", s, errs.String())
			}
			golden := filepath.Join(dir, "findings.json")
			if *update {
				if err := os.WriteFile(golden, got.Bytes(), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(got.Bytes(), want) {
				t.Errorf("the analysis now says\n%s\nand %s says\n%s", got.Bytes(), golden, want)
			}
		})
	}
}
