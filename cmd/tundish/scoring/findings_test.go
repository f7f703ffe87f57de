package scoring

import (
	"context"
	"errors"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"tundish/analyse"
	"tundish/cmd/tundish/cases"
)

// byHand is a score of two kinds at three homes, one of them sound, with one worse set-up.
func byHand() *Findings {
	home := func(c cases.Case, list ...Told) (out []Told) {
		for _, t := range list {
			t.Case = c
			out = append(out, t)
		}
		return out
	}
	leaky := cases.Case{Name: "leaky", Build: "terrace", Intended: []string{"lockout"}}
	alike := cases.Case{Name: "alike", Build: "bungalow", LookAlikeOf: "lockout"}
	sound := cases.Case{Name: "sound-flat", Build: "flat"}
	right := told("lockout", cases.Present, true, analyse.Found, "The boiler locked out once.")
	right.Label.Severity, right.Label.Causes, right.Finding.Cause = cases.Severe, []string{"low-pressure"}, "ignition"
	missed := told("oversized", cases.Present, true, analyse.NotAssessable, "no heat loss is known")
	missed.Label.Severity, missed.Label.Because = cases.Slight, "24 kW on 9 kW"
	wrong := told("oversized", cases.Absent, true, analyse.Found, "Far too large.")
	all := slices.Concat(
		home(leaky, right, missed),
		home(alike, told("lockout", cases.Absent, true, analyse.Found, "It locked out."), told("oversized", cases.Absent, true, analyse.Clear, "fits")),
		home(sound, told("lockout", cases.Absent, false, analyse.NotAssessable, "no bus"), wrong))
	worse := slices.Clone(all)
	worse[0] = home(leaky, told("lockout", cases.Present, true, analyse.Clear, "nothing seen"))[0]
	worse[0].Worse = "deaf"
	return &Findings{FindingsConfig: FindingsConfig{Cases: []cases.Case{leaky, alike, sound}, Seeds: []uint64{9001},
		Worse: []Variant{{Name: "deaf", Doc: "nobody listens"}}}, Told: all, Variant: [][]Told{worse}}
}

func TestFindingsMarkdown(t *testing.T) {
	f := byHand()
	text := f.Markdown("`tundish score findings`")
	for _, line := range []string{
		"* Made by: `tundish score findings`\n",
		"* Seeds: 9001. No check was tuned on these seeds",
		"* Homes: 3 of the library's cases on 3 builds, each with every seed: 3 records.",
		"of these, bungalow were left out of all tuning",
		"| lockout   |    1 |        0 |      0 |    1 |    0 |      0 |     0.500 |  1.000 | 0.666 |        0 |          1 |            0 |",
		"| oversized |    0 |        0 |      1 |    1 |    1 |      0 |     0.000 |  0.000 | 0.000 |        0 |          0 |            0 |",
		"| **all**   |    1 |        0 |      1 |    2 |    1 |      0 |     0.333 |  0.500 | 0.400 |        0 |          1 |            0 |",
		"| lockout   |      – |        – |    1/1 |                       1/1 |",
		"| oversized |    0/1 |        – |      – |                         – |",
		"| lockout |   0/1 |   0/1 |",
		"| 1           |                1 |                  0 |",
		"* sound-flat, seed 1: oversized (advise): Far too large.",
		"| bungalow * |    0 |",
		"* **deaf**: nobody listens.",
		"| lockout         |      0.66 |  0.00 |",
		"| missed as clear |         0 |     1 |",
	} {
		if !strings.Contains(text, line) {
			t.Errorf("%q is not in\n%s", line, text)
		}
	}
	if text != byHand().Markdown("`tundish score findings`") {
		t.Error("the same score makes other bytes")
	}
	f.Seeds, f.Cases = []uint64{3, 9001}, f.Cases[:1]
	if text := f.Markdown("`x`"); !strings.Contains(text, "the figures may flatter") || !strings.Contains(text, "only such as checks are tuned on") {
		t.Error("tuned seeds and builds are not told")
	}
}

func TestWrong(t *testing.T) {
	want := "leaky\tseed 1\tlockout\twanted cause low-pressure\tgot cause ignition\tThe boiler locked out once.\t[truth: ]\n" +
		"leaky\tseed 1\toversized\twanted found\tgot not-assessable\tno heat loss is known\t[truth: 24 kW on 9 kW]\n" +
		"alike\tseed 1\tlockout\twanted clear\tgot found\tIt locked out.\t[truth: ]\n" +
		"sound-flat\tseed 1\toversized\twanted clear\tgot found\tFar too large.\t[truth: ]\n" +
		"leaky (deaf)\tseed 1\tlockout\twanted found\tgot clear\tnothing seen\t[truth: ]\n"
	if got := byHand().Wrong(); !strings.HasPrefix(got, want) {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// All work is done once, in any order; the first error or a cancelled context ends it.
func TestOnAllCores(t *testing.T) {
	var sum atomic.Int64
	last := 0
	err := onAllCores(t.Context(), 100, func(done, total int) { last = done }, func(_ context.Context, i int) error {
		sum.Add(int64(i))
		return nil
	})
	if err != nil || sum.Load() != 4950 || last != 100 {
		t.Errorf("%v, sum %d, %d done", err, sum.Load(), last)
	}
	defect := errors.New("defect")
	var ran atomic.Int64
	err = onAllCores(t.Context(), 10000, nil, func(_ context.Context, i int) error {
		ran.Add(1)
		return defect
	})
	if err != defect || ran.Load() > 1000 {
		t.Errorf("%v after %d", err, ran.Load())
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := onAllCores(ctx, 5, nil, func(context.Context, int) error { return nil }); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	c, _ := cases.Find("sound-terrace")
	_, err = MakeFindings(ctx, FindingsConfig{Cases: []cases.Case{c}, Seeds: []uint64{1}})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

func TestLongestFirst(t *testing.T) {
	days := []int{3, 14, 2, 3, 8}
	if got := longestFirst(len(days), func(i int) int { return days[i] }); !slices.Equal(got, []int{1, 4, 0, 3, 2}) {
		t.Errorf("order %v", got)
	}
}
