package scoring

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tundish/cmd/tundish/cases"
)

const findingPreface = `# How right the findings are

What the sixteen checks say of simulated homes, held against what is true of those homes by the criteria of package
cases, which knows nothing of the checks.

* Made by: %s
* Seeds: %s. %s
* Homes: %s on %s, each with every seed: %d records.
* %s
* Way: the home's records go through the same decoders, the same analysis and the same checks as a capture does, with the
  job sheet that says what the plant is, and with the bus and the probes that the case has. Same program and command,
  same bytes (on amd64; other machines may round the last place differently).
* The homes are models of our own: a home that behaves as none of these does may be judged worse.

## What the numbers mean

* **TP**: it is there, and was found. **FN clear**: it is there, and was said to be clear: the worst mistake.
  **FN n/a**: it is there and the points that show it were recorded, but the answer was "not assessable".
* **FP**: it is not there, and was found. **TN**: it is not there, and was said to be clear. **TN n/a**: it is not there,
  and the answer was "not assessable": no mistake, but no help either.
* **precision** = TP / (TP + FP): how much of what is found is true. **recall** = TP / (TP + both FN): how much of what is
  there is found; "not assessable" counts as missed. **F1** = 2·TP / (2·TP + FP + both FN): both in one figure. Shares are
  cut off, not rounded: 1.000 means all of them. The line **all** adds up the answers of all kinds (micro-average).
* **arguable**: the true figure lies between "present" and "absent": two engineers may differ, and any answer is let pass.
  These stand in no other column.
* **unseen**: what was recorded cannot show the kind: pressure without a bus, say. "Not assessable" is right there, and so
  is "does not apply" where the plant cannot have it; **unseen clear** counts those that were called clear all the same,
  each a mistake even where it happens to be true. Found where it is not is an FP. These stand in no other column.
* – : nothing to count.
`

const (
	severityWords = `
## By severity

Found, of those that are there and can be seen, by how far the true figure lies beyond the border (slight: the first third
of the way to severe). Look-alikes are homes with something that resembles the kind and is not it.

`
	causeWords = `
## Causes

Of what was rightly found, and where the library has a word for the true cause: how often the finding puts that cause first
(of lockouts: the commonest), and how often it names it at all.

`
	eventWords = `
## Times of lockouts

Single lockouts, where a bus was recorded. **In time**: told within %s of the true moment, of all true ones (ends: of those
that ended within the record). **onset**, **end**: error in s as median / 95th percentile / bias of those matched; a
positive bias is late.

`
	soundWords = `
## Sound homes

Findings at homes to which nothing was done; "to act on" is the severity for no heat, harm or damage.

`
	buildWords = `
## By build

Builds marked * are left out while checks are tuned: what is said of them is no memory of the same home.

`
	worseWords = `
## Worse set-ups

The same homes and seeds, told of less well; the truth is the same but for what can be seen at all. F1 by kind, then what
becomes of all answers.

`
)

func (f *Findings) preface(b *strings.Builder, command string) {
	fmt.Fprintf(b, findingPreface, command, seedList(f.Seeds), untuned(f.Seeds), f.homes(), amount(len(f.onBuilds()), "build"),
		len(f.Cases)*len(f.Seeds), leftOutWords(f.onBuilds()))
}

func (f *Findings) homes() string {
	if f.Moved {
		return fmt.Sprintf("%d: the builds' own cases, and every other way of the library once on each build that it fits,", len(f.Cases))
	}
	return fmt.Sprintf("%d of the library's cases", len(f.Cases))
}

func amount(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// onBuilds are the builds of the cases, in the library's order.
func (f *Findings) onBuilds() (list []string) {
	for _, x := range cases.Builds() {
		if slices.ContainsFunc(f.Cases, func(c cases.Case) bool { return c.Build == x.Name }) {
			list = append(list, x.Name)
		}
	}
	return list
}

func seedList(seeds []uint64) string {
	list := make([]string, len(seeds))
	for i, s := range seeds {
		list[i] = strconv.FormatUint(s, 10)
	}
	return strings.Join(list, ", ")
}

// untuned says whether checks may have been tuned on the seeds.
func untuned(seeds []uint64) string {
	if slices.Min(seeds) >= firstUntuned {
		return "No check was tuned on these seeds, and their results are not looked at while tuning."
	}
	return "Checks may have been tuned on some of these seeds: the figures may flatter."
}

// leftOutWords says which builds checks were not tuned on.
func leftOutWords(builds []string) string {
	var out []string
	for _, b := range builds {
		if slices.Contains(LeftOut(), b) {
			out = append(out, b)
		}
	}
	switch {
	case len(out) == 0:
		return "Builds: only such as checks are tuned on."
	case len(out) == len(builds):
		return "Builds: " + strings.Join(out, ", ") + ". No check was tuned on these builds."
	}
	return "Builds: of these, " + strings.Join(out, ", ") + " were left out of all tuning; checks were tuned on homes of the others."
}
