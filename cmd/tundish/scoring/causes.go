package scoring

import (
	"slices"

	"tundish/analyse"
)

// CauseCount is how well the causes of findings were told, where the true one has a word.
type CauseCount struct{ Known, First, Named int }

// causesBy counts the causes of what was rightly found, by kind.
func causesBy(told []Told) map[string]*CauseCount {
	all := map[string]*CauseCount{}
	for i := range told {
		t := &told[i]
		if t.verdict() != hit || len(t.Label.Causes) == 0 {
			continue
		}
		if all[t.Label.Kind] == nil {
			all[t.Label.Kind] = &CauseCount{}
		}
		c := all[t.Label.Kind]
		c.Known++
		if slices.Contains(t.Label.Causes, firstCause(t.Finding)) {
			c.First++
		}
		if slices.ContainsFunc(t.Label.Causes, func(c string) bool { return names(t.Finding, c) }) {
			c.Named++
		}
	}
	return all
}

// firstCause is what a finding puts first: the commonest cause of events that have one each, else the cause ranked first.
func firstCause(f *analyse.Finding) string {
	switch {
	case f == nil:
		return ""
	case f.Cause != "":
		return f.Cause
	case len(f.Causes) > 0:
		return f.Causes[0].Cause
	}
	return ""
}

func names(f *analyse.Finding, cause string) bool {
	if firstCause(f) == cause {
		return true
	}
	if f != nil {
		for _, c := range f.Causes {
			if c.Cause == cause {
				return true
			}
		}
	}
	return false
}
