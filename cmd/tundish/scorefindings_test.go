package main

import (
	"path/filepath"
	"slices"
	"testing"

	"tundish/cmd/tundish/cases"
	"tundish/cmd/tundish/scoring"
)

// Every check has labels to be held against, in the same order.
func TestEveryCheckHasLabels(t *testing.T) {
	t.Parallel()
	var kinds []string
	for _, c := range checks() {
		kinds = append(kinds, c.Kind)
	}
	if !slices.Equal(kinds, cases.Kinds()) {
		t.Errorf("checks %v, labels %v", kinds, cases.Kinds())
	}
}

// A home is judged in memory as its capture is judged: the same answers in the same words.
func TestScoreSaysWhatTheCaptureSays(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"lockout-brief", "sound-probes-only"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			const seed = 5
			c, _ := cases.Find(name)
			c.Days = 2
			f, err := scoring.MakeFindings(t.Context(), scoring.FindingsConfig{Wiring: wiring(), Cases: []cases.Case{c}, Seeds: []uint64{seed}})
			if err != nil {
				t.Fatal(err)
			}
			path := filepath.Join(t.TempDir(), "job.capture")
			if _, err := simulate(t.Context(), path, c.Scenario(seed), seed, nil); err != nil {
				t.Fatal(err)
			}
			kept, err := openCapture(path, "")
			if err != nil {
				t.Fatal(err)
			}
			defer kept.close()
			result, _, err := kept.analyse(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			if len(f.Told) != len(result.Checked) {
				t.Fatalf("%d answers, the capture has %d", len(f.Told), len(result.Checked))
			}
			for i, want := range result.Checked {
				if got := f.Told[i].Checked; got.Kind != want.Kind || got.Outcome != want.Outcome || got.Because != want.Because {
					t.Errorf("%s: %s: %s\nthe capture: %s: %s: %s", got.Kind, got.Outcome, got.Because, want.Kind, want.Outcome, want.Because)
				}
			}
		})
	}
}
