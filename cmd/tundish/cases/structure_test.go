package cases

import (
	"bytes"
	"math"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"tundish/cmd/tundish/house"
)

// The library is as large as it says: every kind has five ways and three look-alikes, sound homes are of twelve builds,
// six homes have several faults; names are unique and of the form that people type.
func TestLibraryIsWhole(t *testing.T) {
	t.Parallel()
	kebab := regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*$`)
	seen, on := map[string]bool{}, map[string]bool{}
	kinds := map[string]bool{}
	for _, k := range Kinds() {
		kinds[k] = true
	}
	count := map[string]int{}
	probesOnly, busOnly, switched := 0, 0, 0
	for _, c := range All() {
		if seen[c.Name] || !kebab.MatchString(c.Name) {
			t.Errorf("name %q is taken or not of the form", c.Name)
		}
		seen[c.Name] = true
		b, ok := FindBuild(c.Build)
		if !ok {
			t.Fatalf("%s: no build %q", c.Name, c.Build)
		}
		sample := b.Scenario(1)
		if c.needs != nil && !c.needs(&sample) {
			t.Errorf("%s does not fit its own build %s", c.Name, c.Build)
		}
		if c.Days < 2 || c.Days > 14 || c.Doc == "" {
			t.Errorf("%s: %d days, doc %q", c.Name, c.Days, c.Doc)
		}
		for _, k := range c.Intended {
			if !kinds[k] {
				t.Errorf("%s: no kind %q", c.Name, k)
			}
		}
		if (len(c.Intended) > 0) != (c.Severity != "") || c.LookAlikeOf != "" && (len(c.Intended) > 0 || !kinds[c.LookAlikeOf]) {
			t.Errorf("%s: intended %v, severity %q, look-alike of %q", c.Name, c.Intended, c.Severity, c.LookAlikeOf)
		}
		switch {
		case sample.NoBus:
			probesOnly++
		case sample.NoProbes:
			busOnly++
		case sample.SwitchedLive:
			switched++
		}
		if strings.HasPrefix(c.Name, "several-") && len(c.Intended) < 2 {
			t.Errorf("%s has %v", c.Name, c.Intended)
		}
		if c.Healthy() {
			on[c.Build] = true
		}
	}
	for _, w := range ways() {
		if w.lookAlike {
			count["like "+w.kind]++
		} else {
			count[w.kind]++
			count[w.kind+" "+string(w.severity)]++
		}
	}
	for k := range kinds {
		if count[k] < 5 || count["like "+k] < 3 || count[k+" slight"] == 0 || count[k+" severe"] == 0 {
			t.Errorf("%s: %d ways (%d slight, %d severe), %d look-alikes", k, count[k], count[k+" slight"], count[k+" severe"], count["like "+k])
		}
	}
	if len(on) < 12 || len(several()) < 6 || probesOnly < 6 || busOnly < 6 || switched < 6 {
		t.Errorf("%d sound builds, %d homes with several faults, %d probes only, %d bus only, %d switched live", len(on), len(several()), probesOnly, busOnly, switched)
	}
	t.Logf("%d cases of %d ways on %d builds", len(seen), len(ways()), len(Builds()))
}

// A name and a seed give one scenario for ever; another seed another home.
func TestScenarioIsDeterministic(t *testing.T) {
	t.Parallel()
	for _, c := range All() {
		a, b, other := c.Scenario(7), c.Scenario(7), c.Scenario(8)
		if d := cmp.Diff(a, b); d != "" {
			t.Fatalf("%s: %s", c.Name, d)
		}
		if cmp.Equal(a.Building, other.Building) {
			t.Errorf("%s: seeds 7 and 8 give the same building", c.Name)
		}
		if a.Name != c.Name || a.Days != c.Days || a.JobName == "" {
			t.Errorf("%s: scenario %q of %d days, job %q", c.Name, a.Name, a.Days, a.JobName)
		}
	}
}

// A way goes on every build that it fits, and says so where it does not.
func TestOnOtherBuilds(t *testing.T) {
	t.Parallel()
	fits := 0
	for _, w := range ways() {
		c := w.cases()[0]
		for _, b := range Builds() {
			on, ok := c.On(b.Name)
			sample := b.Scenario(1)
			if ok != (w.needs == nil || w.needs(&sample)) {
				t.Errorf("%s on %s: %v", c.Name, b.Name, ok)
			}
			if ok {
				fits++
				if s := on.Scenario(3); s.Name != c.Name+"-on-"+b.Name || s.NoBus != sample.NoBus {
					t.Errorf("%s on %s is %s", c.Name, b.Name, s.Name)
				}
			}
		}
	}
	if _, ok := (Case{}).On("castle"); ok {
		t.Error("fits a build that there is not")
	}
	if fits < 5*len(ways()) {
		t.Errorf("%d fits for %d ways", fits, len(ways()))
	}
}

// Every kind has its criterion with quantity, border and source; the verdicts turn at the borders.
func TestCriteria(t *testing.T) {
	t.Parallel()
	has := map[string]int{}
	for _, c := range Criteria() {
		has[c.Kind]++
		if c.Quantity == "" || c.Unit == "" || c.Source == "" || c.Present == c.Absent {
			t.Errorf("%+v", c)
		}
		for _, x := range []struct {
			v    float64
			want Verdict
		}{{c.Present, Present}, {c.Absent, Absent}, {c.Severe, Present}, {2*c.Absent - c.Present, Absent}, {2*c.Present - c.Absent, Present}} {
			if v, s := c.judge(x.v); v != x.want || (v == Present) != (s != "") {
				t.Errorf("%s: %g is %s %s, want %s", c.Kind, x.v, v, s, x.want)
			}
		}
		if _, s := c.judge(c.Severe); s != Severe {
			t.Errorf("%s: %g is %s", c.Kind, c.Severe, s)
		}
		mid := (c.Present + c.Absent) / 2
		if v, _ := c.judge(mid); v != Arguable {
			t.Errorf("%s: %g is %s, want arguable", c.Kind, mid, v)
		}
	}
	for _, k := range Kinds() {
		if has[k] == 0 {
			t.Errorf("%s has no criterion", k)
		}
	}
	var b bytes.Buffer
	if err := WriteCriteria(&b); err != nil || strings.Count(b.String(), "\n") != len(Criteria()) {
		t.Errorf("%v: %s", err, b.String())
	}
}

// The table of dew points against stoichiometry with the Magnus formula (coefficients of Alduchov and Eskridge 1996) in
// place of IF97: CH4 + 2λ(O2 + 3.774 N2), C3H8 + 5λ(…), combustion air of 10 °C and 80 % RH.
func TestDewPoint(t *testing.T) {
	t.Parallel()
	magnus := func(c float64) float64 { return 0.61094 * math.Exp(17.625*c/(c+243.04)) } // kPa
	moist := 0.8 * magnus(10) / (101.325 - 0.8*magnus(10))                               // mol by mol of dry air
	for fuel, f := range map[house.Fuel]struct{ o2, co2, h2o float64 }{house.NaturalGas: {2, 1, 2}, house.LPG: {5, 3, 4}} {
		for lambda := 1.0; lambda < 1.51; lambda += 0.05 {
			air := lambda * f.o2 * 4.774
			water := f.h2o + air*moist
			share := water / (f.co2 + water + air - f.o2)
			p := math.Log(share * 101.325 / 0.61094)
			want := 243.04 * p / (17.625 - p)
			if got := DewPointC(fuel, lambda); math.Abs(got-want) > 0.35 {
				t.Errorf("fuel %d at λ %.2f: %.1f °C, want %.1f", fuel, lambda, got, want)
			}
		}
	}
}

// Ways leave the builds' shared parts alone: a fault given to one scenario never shows in another.
func TestWaysShareNothing(t *testing.T) {
	t.Parallel()
	for _, b := range Builds() {
		before := b.Scenario(5)
		for _, w := range ways() {
			if s := b.make(rand.New(rand.NewPCG(5, 5))); w.needs == nil || w.needs(&s) {
				w.change(&s, rand.New(rand.NewPCG(1, 1)))
			}
		}
		if d := cmp.Diff(before, b.Scenario(5)); d != "" {
			t.Errorf("%s: %s", b.Name, d)
		}
	}
}
