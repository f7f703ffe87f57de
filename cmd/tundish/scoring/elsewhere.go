package scoring

import (
	"regexp"

	"tundish/cmd/tundish/cases"
)

// LeftOut are the builds whose results are not looked at while checks are tuned.
func LeftOut() []string { return []string{"bungalow", "lpg-cottage", "slow-master"} }

// firstUntuned is the first of the seeds that are not looked at while checks are tuned.
const firstUntuned = 7000

// numbered is the name of a way's second case and later ones.
var numbered = regexp.MustCompile(`^(.+)-[0-9]+$`)

// Elsewhere puts every way of the library on builds: the cases that are theirs, and of every other way one case on each
// build that it fits.
func Elsewhere(builds []string) (list []cases.Case) {
	all := cases.All()
	named := map[string]bool{}
	for _, c := range all {
		named[c.Name] = true
	}
	wayOf := func(c cases.Case) string {
		if m := numbered.FindStringSubmatch(c.Name); m != nil && named[m[1]] {
			return m[1]
		}
		return c.Name
	}
	for _, b := range builds {
		own := map[string]bool{} // ways
		for _, c := range all {
			if c.Build == b {
				own[wayOf(c)] = true
				list = append(list, c)
			}
		}
		for _, c := range all {
			if w := wayOf(c); !own[w] && !c.Healthy() {
				if on, ok := c.On(b); ok {
					own[w] = true
					list = append(list, on)
				}
			}
		}
	}
	return list
}
