// Package findings writes the result of an analysis for programs (JSON) and for a person at a terminal (text).
package findings

import (
	"io"
	"math"
	"time"

	"tundish/analyse"
)

// Options say what goes out besides the findings.
type Options struct {
	Episodes bool
	// Why is the check whose reasoning is told; nil: none. Text then tells of it alone.
	Why *analyse.Check
	// Amended says with what the job sheet was amended after recording; empty: it was not.
	Amended string
	// Warnings are things about the capture itself that a reader must know: damaged blocks, a clock never set.
	Warnings []string
	// Sensors are told with what their comparison in the same water left, those that were compared.
	Sensors []analyse.Sensor
}

type jsonResult struct {
	Job      string             `json:"job"`
	From     string             `json:"from"`
	To       string             `json:"to"`
	Amended  string             `json:"amended,omitempty"`
	Warnings []string           `json:"warnings,omitempty"`
	Coverage map[string]float64 `json:"coverage"`
	Findings []jsonFinding      `json:"findings"`
	Checked  []jsonChecked      `json:"checked"`
	Marks    []jsonMark         `json:"marks,omitempty"`
	Episodes *[]jsonEpisode     `json:"episodes,omitempty"`
	Sights   *[]jsonSight       `json:"sights,omitempty"`
}

type jsonFinding struct {
	Kind     string             `json:"kind"`
	Severity string             `json:"severity"`
	From     string             `json:"from"`
	To       string             `json:"to"`
	Summary  string             `json:"summary"`
	Cause    string             `json:"cause"`
	Numbers  map[string]float64 `json:"numbers"`
	Evidence []jsonEvidence     `json:"evidence"`
	Causes   []jsonCause        `json:"causes"`
}

type jsonEvidence struct {
	From   string   `json:"from"`
	To     string   `json:"to"`
	Note   string   `json:"note"`
	Cause  string   `json:"cause,omitempty"`
	Before []string `json:"before,omitempty"`
}

type jsonCause struct {
	Cause   string  `json:"cause"`
	Support float64 `json:"support"`
	Because string  `json:"because"`
	Settle  string  `json:"settle,omitempty"`
}

type jsonChecked struct {
	Kind    string `json:"kind"`
	Outcome string `json:"outcome"`
	Because string `json:"because"`
	// Of the kind whose reasoning was asked for only.
	Data     *[]jsonNeed      `json:"data,omitempty"`
	Criteria *[]jsonCriterion `json:"criteria,omitempty"`
	Steps    *[]jsonStep      `json:"steps,omitempty"`
}

type jsonEpisode struct {
	Kind   string `json:"kind"`
	From   string `json:"from"`
	To     string `json:"to"`
	Use    string `json:"use,omitempty"`
	End    string `json:"end,omitempty"`
	Cause  string `json:"cause,omitempty"`
	Reset  string `json:"reset,omitempty"`
	Source string `json:"source,omitempty"`
	Reason string `json:"reason,omitempty"`
	Basis  string `json:"basis,omitempty"`
	Unsure string `json:"unsure,omitempty"`
	Open   bool   `json:"open,omitempty"` // its end was not seen
	Cut    bool   `json:"cut,omitempty"`  // its beginning was not seen
}

// jsonMark is what a person noted.
type jsonMark struct {
	At   string `json:"at"`
	Text string `json:"text"`
}

// jsonSight says how well firings could be told over a stretch; an empty basis: not at all.
type jsonSight struct {
	From      string  `json:"from"`
	To        string  `json:"to"`
	Basis     string  `json:"basis"`
	Source    string  `json:"source"`
	IntervalS float64 `json:"interval_s"`
	LagS      float64 `json:"lag_s,omitempty"`
	ShortestS float64 `json:"shortest_s"`
	Because   string  `json:"because"`
}

// WriteJSON writes the result as one JSON object. The same result gives the same bytes.
func WriteJSON(w io.Writer, r *analyse.Result, o Options) error {
	out := jsonResult{Job: r.Job, From: stamp(r.From), To: stamp(r.To), Amended: o.Amended, Warnings: o.Warnings,
		Coverage: map[string]float64{}, Findings: []jsonFinding{}, Checked: []jsonChecked{}}
	for _, c := range r.Coverage {
		out.Coverage[c.Series.String()] = round(c.Share, 4)
	}
	for _, f := range r.Findings {
		out.Findings = append(out.Findings, finding(f))
	}
	for _, c := range r.Checked {
		out.Checked = append(out.Checked, checked(r, c, o.Why))
	}
	for _, m := range r.Marks {
		out.Marks = append(out.Marks, jsonMark{stamp(m.At), m.Text})
	}
	if o.Episodes {
		list := []jsonEpisode{}
		for _, e := range happenings(r.Facts) {
			list = append(list, jsonEpisode{e.kind, stamp(e.From), stamp(e.To), e.use, e.end, e.cause, e.reset, e.source, e.reason, e.basis, e.unsure, e.Open, e.Cut})
		}
		out.Episodes = &list
		sights := []jsonSight{}
		for _, x := range r.Facts.Sights {
			sights = append(sights, jsonSight{stamp(x.From), stamp(x.To), string(x.Basis), x.Source, round(x.Interval.Seconds(), 1),
				round(x.Lag.Seconds(), 0), round(x.Shortest.Seconds(), 0), x.Because})
		}
		out.Sights = &sights
	}
	return writeJSON(w, out)
}

func finding(f analyse.Finding) jsonFinding {
	out := jsonFinding{Kind: f.Kind, Severity: f.Severity.String(), From: stamp(f.From), To: stamp(f.To),
		Summary: f.Summary, Cause: f.Cause, Numbers: map[string]float64{}, Evidence: []jsonEvidence{}, Causes: []jsonCause{}}
	for _, n := range f.Numbers {
		out.Numbers[n.Name] = n.Value
	}
	for _, e := range f.Evidence {
		out.Evidence = append(out.Evidence, jsonEvidence{stamp(e.From), stamp(e.To), e.Note, e.Cause, e.Before})
	}
	for _, c := range f.Causes {
		out.Causes = append(out.Causes, jsonCause{c.Cause, round(c.Support, 2), c.Because, c.Settle})
	}
	return out
}

// stamp is UTC, RFC 3339, to the millisecond where there are any. A time that is not known is empty.
func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Round(time.Millisecond).Format(time.RFC3339Nano)
}

func round(v float64, places int) float64 {
	p := math.Pow10(places)
	return math.Round(v*p) / p
}
