package scoring

import (
	"regexp"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tundish/cmd/tundish/cases"
)

// A worse set-up leaves the heating alone, changes what is fitted, and shares nothing with another home.
func TestVariantsChangeTheSetUpOnly(t *testing.T) {
	seen := map[string]bool{}
	for _, v := range Variants() {
		if seen[v.Name] || v.Doc == "" {
			t.Errorf("%q is there twice, or says nothing", v.Name)
		}
		seen[v.Name] = true
		for _, b := range cases.Builds() {
			was, s := b.Scenario(3), b.Scenario(3)
			changed := v.Change(&s)
			if changed == cmp.Equal(was, s) {
				t.Errorf("%s on %s: says changed %v", v.Name, b.Name, changed)
			}
			if was.NoBus && !cmp.Equal(was.Bus, s.Bus) || was.NoProbes && v.Name != "noise" && !cmp.Equal(was.Probes, s.Probes) {
				t.Errorf("%s on %s changes a part that is not fitted", v.Name, b.Name)
			}
			s.Bus, s.Probes = was.Bus, was.Probes
			s.Faults.BadParity, s.Faults.Garbage, s.Faults.LostReply = was.Faults.BadParity, was.Faults.Garbage, was.Faults.LostReply
			if d := cmp.Diff(was, s); d != "" {
				t.Errorf("%s on %s changes the heating: %s", v.Name, b.Name, d)
			}
			if d := cmp.Diff(b.Scenario(3), was); d != "" {
				t.Errorf("%s on %s changed another home: %s", v.Name, b.Name, d)
			}
		}
	}
}

// Elsewhere has every way that fits once on each build, under its own name, and the build's own cases.
func TestElsewhere(t *testing.T) {
	builds := []string{"flat", "heat-pump-underfloor"}
	names, onFlat := map[string]bool{}, 0
	for _, c := range Elsewhere(builds) {
		if names[c.Name] {
			t.Errorf("%s is there twice", c.Name)
		}
		names[c.Name] = true
		if !slices.Contains(builds, c.Build) {
			t.Errorf("%s is on %s", c.Name, c.Build)
		}
		if c.Build == "flat" {
			onFlat++
		}
		again := regexp.MustCompile(`-[0-9]+-on-`)
		if again.MatchString(c.Name) {
			t.Errorf("%s is a way's second case", c.Name)
		}
	}
	for _, c := range cases.All() {
		if c.Build == "flat" && !names[c.Name] {
			t.Errorf("%s is left out", c.Name)
		}
		s := c.Scenario(1)
		if _, fits := c.On("flat"); fits && c.Build == "terrace" && len(c.Intended) == 1 && !names[c.Name+"-on-flat"] && !onItsOwn(c, "flat") &&
			!regexp.MustCompile(`-[0-9]+$`).MatchString(c.Name) {
			t.Errorf("%s fits and is left out (%s)", c.Name, s.Name)
		}
	}
	if !names["sound-flat"] || names["sound-terrace-on-flat"] || onFlat < 50 {
		t.Errorf("%d cases on the flat", onFlat)
	}
}

// onItsOwn tells that a later case of the same way has the build.
func onItsOwn(c cases.Case, build string) bool {
	return slices.ContainsFunc(cases.All(), func(o cases.Case) bool {
		return o.Build == build && regexp.MustCompile(`^`+c.Name+`-[0-9]+$`).MatchString(o.Name)
	})
}
