package analyse

import (
	"slices"

	"tundish/decode"
)

// judge asks all checks and keeps their answers in the checks' order. Checks that judge sensors are asked first: what
// they doubt the others can ask for, see [Pass.Doubted].
func (r *Result) judge(checks []Check, pass Pass) {
	answers, found := make([]Checked, len(checks)), make([]*Finding, len(checks))
	for _, sensors := range []bool{true, false} {
		for i := range checks {
			if c := &checks[i]; c.Sensors == sensors {
				answers[i], found[i] = c.run(pass)
			}
		}
		for _, f := range found {
			if sensors && f != nil {
				for _, s := range f.Doubts {
					pass.doubts = append(pass.doubts, doubt{s, f.Kind})
				}
			}
		}
	}
	r.Checked = answers
	for i := range checks {
		if found[i] != nil {
			r.Findings = append(r.Findings, *found[i])
		}
		for _, k := range checks[i].Criteria {
			k.Kind = checks[i].Kind
			r.Criteria = append(r.Criteria, k)
		}
	}
}

// doubt is a series and the finding that says it is wrong.
type doubt struct {
	series decode.Series
	kind   string
}

// Doubted gives the kind of the finding that says that a series is not to be relied on, "" where none does. What is
// measured by such a series is no ground for a finding, nor for a clear answer.
func (p *Pass) Doubted(s decode.Series) (kind string) {
	if i := slices.IndexFunc(p.doubts, func(d doubt) bool { return d.series == s }); i >= 0 {
		return p.doubts[i].kind
	}
	return ""
}
