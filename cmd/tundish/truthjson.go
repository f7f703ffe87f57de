package main

import (
	"encoding/json"
	"io"
	"math"
	"time"

	"tundish/cmd/tundish/cases"
	"tundish/cmd/tundish/house"
)

// truthJSON is what truly happened in a simulated house, for programs. Times are true time in UTC, also where the
// logger's clock was wrong. Energies and temperatures carry their unit in their name.
type truthJSON struct {
	Case     string        `json:"case"`
	Doc      string        `json:"doc"`
	Seed     uint64        `json:"seed"`
	Job      string        `json:"job"`
	From     time.Time     `json:"from"`
	To       time.Time     `json:"to"`
	Firings  []firingJSON  `json:"firings"`
	Demands  []spanJSON    `json:"demands"`
	Draws    []spanJSON    `json:"draws"` // hot water was being made
	Attempts []attemptJSON `json:"attempts"`
	Lockouts []lockoutJSON `json:"lockouts"`
	Blocks   []blockJSON   `json:"blocks"`
	Silences []silenceJSON `json:"silences"`
	Overruns []overrunJSON `json:"overruns"`
	Refills  []time.Time   `json:"refills"`
	Labels   []labelJSON   `json:"labels,omitempty"` // of the kinds of finding; none for a plain scenario
}

type spanJSON struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
	Open bool      `json:"open,omitempty"` // the record ended first
}

type firingJSON struct {
	spanJSON
	Use       string  `json:"use"`
	End       string  `json:"end"`
	OverMaxK  float64 `json:"over_setpoint_max_k"`
	OutputKW  float64 `json:"output_kw_mean"`
	OutputMin float64 `json:"output_kw_min"`
}

type attemptJSON struct {
	At     time.Time `json:"at"`
	FlameS float64   `json:"flame_s"`
	Then   string    `json:"then"`
}

type lockoutJSON struct {
	spanJSON
	Cause    string `json:"cause"`
	Attempts int    `json:"attempts"`
	Flags    uint8  `json:"fault_flags"`
	Code     uint8  `json:"fault_code"`
	Reset    string `json:"reset"`
}

type blockJSON struct {
	spanJSON
	Cause string `json:"cause"`
	Shown bool   `json:"shown"`
}

type silenceJSON struct {
	spanJSON
	Reason string `json:"reason"`
}

type overrunJSON struct {
	spanJSON
	After string `json:"after"`
}

// labelJSON is what a case is, in truth, for one kind of finding.
type labelJSON struct {
	Kind     string         `json:"kind"`
	Verdict  string         `json:"verdict"` // present, absent, arguable
	Because  string         `json:"because"`
	Severity string         `json:"severity,omitempty"`
	Cause    string         `json:"cause,omitempty"`
	Visible  bool           `json:"visible"` // the points that would show it are in the files
	Evidence []evidenceJSON `json:"evidence,omitempty"`
}

type evidenceJSON struct {
	spanJSON
	Cause string `json:"cause,omitempty"`
}

// newLabels writes the labels of a case down for programs.
func newLabels(s house.Scenario, list []cases.Label) []labelJSON {
	out := make([]labelJSON, len(list))
	for i, l := range list {
		out[i] = labelJSON{Kind: l.Kind, Verdict: string(l.Verdict), Because: l.Because, Severity: string(l.Severity), Cause: l.Cause,
			Visible: l.Visible}
		for _, e := range l.Evidence {
			span := spanJSON{s.Start.Add(e.From).UTC(), s.Start.Add(e.To).UTC(), e.Open}
			out[i].Evidence = append(out[i].Evidence, evidenceJSON{span, e.Cause})
		}
	}
	return out
}

// attemptThen are the words for what came of an attempt.
var attemptThen = [...]string{house.ThenUnknown: "unknown", house.ThenLit: "lit", house.ThenLockout: "lockout", house.ThenGivenUp: "given up"}

// newTruthJSON writes the truth down for programs.
func newTruthJSON(what simCase, seed uint64, s house.Scenario, t house.Truth) *truthJSON {
	at := func(d time.Duration) time.Time { return s.Start.Add(d).UTC() }
	span := func(x house.Span) spanJSON { return spanJSON{at(x.From), at(x.To), x.Open} }
	out := &truthJSON{Case: what.name, Doc: what.doc, Seed: seed, Job: s.JobName, From: at(0), To: at(t.Ended),
		Firings: []firingJSON{}, Demands: []spanJSON{}, Draws: []spanJSON{}, Attempts: []attemptJSON{}, Lockouts: []lockoutJSON{},
		Blocks: []blockJSON{}, Silences: []silenceJSON{}, Overruns: []overrunJSON{}, Refills: []time.Time{}}
	for _, f := range t.Firings {
		out.Firings = append(out.Firings, firingJSON{span(f.Span), string(f.Use), string(f.End), thousandths(f.MaxK),
			thousandths(f.Mean), thousandths(f.Least)})
	}
	for _, d := range t.Demands {
		out.Demands = append(out.Demands, span(d))
	}
	for _, d := range t.Draws {
		out.Draws = append(out.Draws, span(d))
	}
	for _, a := range t.Attempts {
		out.Attempts = append(out.Attempts, attemptJSON{at(a.At), a.Flame.Seconds(), attemptThen[a.Next]})
	}
	for _, l := range t.Lockouts {
		out.Lockouts = append(out.Lockouts, lockoutJSON{span(l.Span), l.Cause, l.Attempts, l.Flags, l.Code, string(l.Reset)})
	}
	for _, b := range t.Blocks {
		out.Blocks = append(out.Blocks, blockJSON{span(b.Span), b.Cause, b.Shown})
	}
	for _, x := range t.Silences {
		out.Silences = append(out.Silences, silenceJSON{span(x.Span), string(x.Reason)})
	}
	for _, o := range t.Overruns {
		out.Overruns = append(out.Overruns, overrunJSON{span(o.Span), string(o.After)})
	}
	for _, r := range t.Refills {
		out.Refills = append(out.Refills, at(r))
	}
	return out
}

// thousandths rounds to what is worth telling of a kW or a K.
func thousandths(x float64) float64 { return math.Round(x*1000) / 1000 }

func (t *truthJSON) write(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(t)
}
