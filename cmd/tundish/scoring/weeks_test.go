package scoring

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"tundish/analyse"
	"tundish/cmd/tundish/cases"
)

// week is the answers of one sound home.
func week(seed uint64, kinds ...string) (list []Told) {
	for _, k := range kinds {
		x := told(k, cases.Absent, true, analyse.Found, "wrong")
		x.Seed = seed
		if k == lockoutKind {
			x.Finding.Severity = analyse.Act
		}
		list = append(list, x)
	}
	return append(list, told("oversized", cases.Absent, true, analyse.Clear, ""), told("bus-silence", cases.Arguable, true, analyse.Found, ""),
		told("cylinder-too-cool", cases.Absent, false, analyse.Clear, "warm"))
}

func emptyWeeks(n int) *Weeks {
	return &Weeks{WeeksConfig: WeeksConfig{Weeks: n, Builds: []string{"terrace", "bungalow"}, Seeds: []uint64{7001, 7002, 7003}},
		Answers: map[string]*Counts{}, False: map[string][analyse.Act + 1]int{}}
}

func TestWeeksCount(t *testing.T) {
	w := emptyWeeks(4)
	w.add(0, week(7001))
	w.add(1, week(7001, "lockout", "oversized"))
	w.add(2, week(7002, "low-delta-t"))
	w.add(3, week(7002))
	if w.Any != 2 || w.Act != 1 || w.False["lockout"] != [4]int{analyse.Act: 1} || w.False["low-delta-t"] != [4]int{analyse.Advise: 1} {
		t.Errorf("%d with any, %d to act on, %v", w.Any, w.Act, w.False)
	}
	text := w.Markdown("`x`")
	for _, line := range []string{
		"| lockout           |     1 |    0 |      0 |    1 |     0 |    0 |           0 |           0 |",
		"| oversized         |     1 |    0 |      1 |    0 |     4 |    0 |           0 |           0 |",
		"| bus-silence       |     0 |    0 |      0 |    0 |     0 |    0 | 4 (4 found) |           0 |",
		"| cylinder-too-cool |     0 |    0 |      0 |    0 |     0 |    0 |           0 | 4 (4 clear) |",
		"* Seeds: 7001, 7002. No check was tuned on these seeds",
		"* Weeks: 4, on 2 builds. Builds: of these, bungalow were left out of all tuning",
		"Weeks with a false finding: 2 of 4 (with 95 % confidence at most",
		"* terrace, seed 7001: lockout (act): wrong\n* terrace, seed 7001: oversized (advise): wrong\n* terrace, seed 7002: low-delta-t (advise): wrong\n",
	} {
		if !strings.Contains(text, line) {
			t.Errorf("%q is not in\n%s", line, text)
		}
	}
}

// Whatever order the weeks come in, the same examples are kept, and not more than there is room for.
func TestWeeksKeepTheFirstExamples(t *testing.T) {
	var texts []string
	for range 3 {
		w := emptyWeeks(400)
		for _, i := range rand.Perm(400) {
			w.add(i, week(uint64(i), "lockout", "low-delta-t"))
		}
		if len(w.examples) != mostExamples || w.Any != 400 {
			t.Fatalf("%d examples, %d weeks", len(w.examples), w.Any)
		}
		texts = append(texts, fmt.Sprint(w.examples))
	}
	if texts[0] != texts[1] || texts[1] != texts[2] {
		t.Error("the examples depend on the order")
	}
}

// One-sided 95 % bounds: none of n by its closed form, 1 − 0.05^(1/n), which is the rule of three for many; 2 of 10
// and 5 of 20 as in tables of Clopper and Pearson's 90 % intervals.
func TestMostShare(t *testing.T) {
	for _, c := range []struct {
		n, of int
		want  float64
	}{{0, 1, 0.95}, {0, 30, 1 - math.Pow(0.05, 1.0/30)}, {0, 1000, 0.002991}, {2, 10, 0.5069}, {5, 20, 0.4556}} {
		if got := mostShare(c.n, c.of); math.Abs(got-c.want) > 1e-4 {
			t.Errorf("%d of %d: %.5f, want %.5f", c.n, c.of, got, c.want)
		}
	}
	if bound(3, 3) != "" || bound(0, 0) != "" {
		t.Error("a bound where there is none")
	}
}
