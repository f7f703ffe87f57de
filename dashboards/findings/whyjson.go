package findings

import (
	"encoding/json"
	"io"

	"tundish/analyse"
)

// jsonNeed is one thing that a check cannot do without: a reading of any of the points.
type jsonNeed struct {
	Points []string     `json:"points"`
	Series []jsonSeries `json:"series"`            // with readings; none: it is missing
	Missed string       `json:"missing,omitempty"` // how to get it
}

type jsonSeries struct {
	Series    string  `json:"series"`
	Share     float64 `json:"share"`
	IntervalS float64 `json:"interval_s"`
	Readings  uint64  `json:"readings"`
	Doubtful  uint64  `json:"doubtful"`
	Min       float64 `json:"min"`
	Max       float64 `json:"max"`
}

type jsonCriterion struct {
	Kind   string  `json:"kind"`
	Name   string  `json:"name"`
	Value  float64 `json:"value"`
	Unit   string  `json:"unit"`
	Source string  `json:"source"`
}

type jsonStep struct {
	Topic string `json:"topic"` // "measured", "ruled out", "left open"
	What  string `json:"what"`
	Text  string `json:"text"`
}

// checked is one answer, with its reasoning where why is its check.
func checked(r *analyse.Result, c analyse.Checked, why *analyse.Check) jsonChecked {
	out := jsonChecked{Kind: c.Kind, Outcome: c.Outcome.String(), Because: c.Because}
	if why == nil || why.Kind != c.Kind {
		return out
	}
	needs, criteria, steps := []jsonNeed{}, criteriaOf([]analyse.Check{*why}), []jsonStep{}
	for _, n := range why.Needs {
		x := jsonNeed{Points: []string{}, Series: []jsonSeries{}}
		for _, p := range n.Points {
			x.Points = append(x.Points, p.String())
		}
		for _, s := range usable(r, n.Points) {
			x.Series = append(x.Series, jsonSeries{s.Series.String(), round(s.Share, 4), round(s.Interval.Seconds(), 1), s.Readings, s.Doubtful, s.Min, s.Max})
		}
		if len(x.Series) == 0 {
			x.Missed = n.Say
		}
		needs = append(needs, x)
	}
	for _, s := range c.Steps {
		steps = append(steps, jsonStep{string(s.Topic), s.What, s.Text})
	}
	out.Data, out.Criteria, out.Steps = &needs, &criteria, &steps
	return out
}

func criteriaOf(checks []analyse.Check) []jsonCriterion {
	out := []jsonCriterion{}
	for _, c := range checks {
		for _, k := range c.Criteria {
			out = append(out, jsonCriterion{c.Kind, k.Name, k.Value, k.Unit, k.Source})
		}
	}
	return out
}

// CriteriaJSON writes the table of all criteria of the checks.
func CriteriaJSON(w io.Writer, checks []analyse.Check) error { return writeJSON(w, criteriaOf(checks)) }

func writeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}
