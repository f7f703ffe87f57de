package scoring

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"sync"

	"tundish/analyse"
	"tundish/cmd/tundish/cases"
)

const (
	weekDays = 7
	// mostExamples bounds how many findings are kept in words. Own proposal.
	mostExamples = 200
)

// WeeksConfig is what a score of sound home-weeks is made of.
type WeeksConfig struct {
	Wiring
	Builds []string
	Seeds  []uint64
	Weeks  int // at most one of each build and seed; seed by seed
	// Progress is told how many of the weeks are judged; may be nil. It is called by one goroutine at a time.
	Progress func(done, total int)
}

// Weeks is what was found at sound homes. Its size does not grow with their number.
type Weeks struct {
	WeeksConfig
	Any, Act int                             // weeks with a finding that is not true, and with one of severity act
	Answers  map[string]*Counts              // by kind
	False    map[string][analyse.Act + 1]int // findings that are not true, by kind and severity

	examples []example // the first ones in the order of weeks
}

type example struct {
	week int
	text string
}

// MakeWeeks judges sound homes, each for a week, on all cores, and keeps counts only. The outcome does not depend on how
// many cores there are.
func MakeWeeks(ctx context.Context, c WeeksConfig) (*Weeks, error) {
	w := &Weeks{WeeksConfig: c, Answers: map[string]*Counts{}, False: map[string][analyse.Act + 1]int{}}
	var mu sync.Mutex
	err := onAllCores(ctx, c.Weeks, c.Progress, func(ctx context.Context, i int) error {
		build, seed := c.Builds[i%len(c.Builds)], c.Seeds[i/len(c.Builds)]
		x, ok := cases.Find("sound-" + build)
		if !ok {
			return fmt.Errorf("no case has the build %q sound", build)
		}
		x.Days = weekDays
		told, err := c.hear(ctx, x, x.Scenario(seed), seed)
		if err != nil {
			return err
		}
		mu.Lock()
		defer mu.Unlock()
		w.add(i, told)
		return nil
	})
	return w, err
}

// add takes one week.
func (w *Weeks) add(week int, told []Told) {
	any, act := false, false
	for i := range told {
		t := &told[i]
		k, v := t.Label.Kind, t.verdict()
		if w.Answers[k] == nil {
			w.Answers[k] = &Counts{}
		}
		w.Answers[k].note(v)
		if v != falseAlarm {
			continue
		}
		s := t.Finding.Severity
		any, act = true, act || s == analyse.Act
		n := w.False[k]
		n[s]++
		w.False[k] = n
		w.keep(example{week, fmt.Sprintf("%s, seed %d: %s (%s): %s", t.Case.Build, t.Seed, k, s, t.Finding.Summary)})
	}
	if any {
		w.Any++
	}
	if act {
		w.Act++
	}
}

// keep keeps the examples of the first weeks.
func (w *Weeks) keep(x example) {
	at, _ := slices.BinarySearchFunc(w.examples, x, func(a, b example) int {
		if a.week != b.week {
			return a.week - b.week
		}
		return strings.Compare(a.text, b.text)
	})
	w.examples = slices.Insert(w.examples, at, x)
	if len(w.examples) > mostExamples {
		w.examples = w.examples[:mostExamples]
	}
}
