package scoring

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"tundish/analyse"
	"tundish/cmd/tundish/cases"
)

const weeksPreface = `## Sound home-weeks

Homes of the library's sound builds with nothing done to them, a week each, judged by all checks.

* Made by: %s
* Seeds: %s. %s
* Weeks: %d, on %s. %s
* **false**: found although the truth is absent, by severity (note, advise, act). **clear** and **n/a**: the other answers
  where the truth is absent. **arguable**: the truth lies between, with those found; they count as neither.
  **unseen**: what was recorded cannot show it, with those called clear all the same.

`

// Markdown writes what was found for people. command is the command line that makes it.
func (w *Weeks) Markdown(command string) string {
	var b strings.Builder
	fmt.Fprintf(&b, weeksPreface, command, seedList(w.used()), untuned(w.used()), w.Weeks, amount(len(w.Builds), "build"), leftOutWords(w.Builds))
	t := lines{{"kind", "false", "note", "advise", "act", "clear", "n/a", "arguable", "unseen"}}
	for _, k := range cases.Kinds() {
		c := w.Answers[k]
		if c == nil {
			continue
		}
		t = append(t, []string{k, strconv.Itoa(c[falseAlarm]), strconv.Itoa(w.False[k][analyse.Note]), strconv.Itoa(w.False[k][analyse.Advise]),
			strconv.Itoa(w.False[k][analyse.Act]), strconv.Itoa(c[rightClear]), strconv.Itoa(c[rightOpen]),
			having(c[arguedFound]+c[arguedClear]+c[arguedOpen], c[arguedFound], "found"),
			having(c[unseenOpen]+c[spared]+c[unseenFound]+c[unseenClear], c[unseenClear], "clear")})
	}
	t.write(&b)
	fmt.Fprintf(&b, "\nWeeks with a false finding: %d of %d%s. With one to act on: %d of %d%s.\n", w.Any, w.Weeks, bound(w.Any, w.Weeks), w.Act, w.Weeks, bound(w.Act, w.Weeks))
	if len(w.examples) > 0 {
		b.WriteString("\n")
	}
	for _, x := range w.examples {
		b.WriteString("* " + x.text + "\n")
	}
	return b.String()
}

// used are the seeds that the weeks came to.
func (w *Weeks) used() []uint64 {
	return w.Seeds[:min(len(w.Seeds), (w.Weeks+len(w.Builds)-1)/len(w.Builds))]
}

func having(n, some int, word string) string {
	if some == 0 {
		return strconv.Itoa(n)
	}
	return fmt.Sprintf("%d (%d %s)", n, some, word)
}

// bound says what a count means for other weeks of such homes: the greatest share at which so few would still be seen
// once in twenty times (Clopper and Pearson, Biometrika 26, 1934; one-sided 95 %).
func bound(n, of int) string {
	if of == 0 || n >= of {
		return ""
	}
	return fmt.Sprintf(" (with 95 %% confidence at most %.2g %% of such weeks)", 100*mostShare(n, of))
}

// mostShare is the share p at which n or fewer of so many come with a chance of 5 %.
func mostShare(n, of int) float64 {
	low, high := 0.0, 1.0
	for range 60 {
		p := (low + high) / 2
		if atMost(n, of, p) > 0.05 {
			low = p
		} else {
			high = p
		}
	}
	return high
}

// atMost is the binomial chance of n or fewer.
func atMost(n, of int, p float64) (sum float64) {
	all, _ := math.Lgamma(float64(of + 1))
	for k := range n + 1 {
		a, _ := math.Lgamma(float64(k + 1))
		b, _ := math.Lgamma(float64(of - k + 1))
		sum += math.Exp(all - a - b + float64(k)*math.Log(p) + float64(of-k)*math.Log1p(-p))
	}
	return sum
}
