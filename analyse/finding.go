package analyse

import (
	"time"

	"tundish/decode"
)

// Severity ranks a finding by what it means for the people in the house.
type Severity uint8

const (
	Note   Severity = iota + 1 // worth knowing
	Advise                     // costs money or wears
	Act                        // no heat, harm or damage, or likely
)

func (s Severity) String() string { return [...]string{"", "note", "advise", "act"}[min(s, 3)] }

// Finding is a verdict with its evidence. A kind has at most one finding in a result; its occurrences are evidence.
type Finding struct {
	Kind     string
	Severity Severity
	From, To time.Time // first and last occurrence, UTC
	Summary  string    // one sentence that a customer can read
	Cause    string    // the commonest cause, where the kind has causes of its own; else ""
	Numbers  []Number  // in the order in which they should be read
	Evidence []Evidence
	Causes   []Cause // most likely first
	// Doubts are series that the finding says are not to be relied on while it lasts, both where it cannot tell which of
	// two is wrong. A sensor that is right between rare jumps is none of them. Of a check that judges sensors.
	Doubts []decode.Series
}

// Number is one figure of a finding. Its name carries the unit ("burn_s_median"), Label and Unit are for people.
type Number struct {
	Name  string
	Value float64
	Label string // "median burn"
	Unit  string // "s"
}

// Evidence is one stretch of the record that shows a finding.
type Evidence struct {
	From, To time.Time
	Note     string
	Cause    string   // for kinds with a cause for each event
	Before   []string // what happened before, oldest first, in words with times in the job's zone
}

// Cause is one explanation, weighed.
type Cause struct {
	Cause   string  // a word of the vocabulary: "oversized", "adapter"
	Support float64 // 0…1; the supports of one finding need not add up to 1
	Because string
	Settle  string // what would settle it on the next visit
}

// Outcome is one of the three answers of a check.
type Outcome uint8

const (
	NotAssessable Outcome = iota // the safe answer is the zero value
	Clear
	Found
)

func (o Outcome) String() string { return [...]string{"not-assessable", "clear", "found"}[min(o, 2)] }

// Checked is the answer of one check, with its because.
type Checked struct {
	Kind    string
	Outcome Outcome
	Because string
	Steps   []Step // the reasoning, in order
}

// Criterion is one threshold of a check: its value, its unit and where it comes from.
type Criterion struct {
	Kind   string // the check that uses it
	Name   string // "burn counts as short below"
	Value  float64
	Unit   string
	Source string // standard, reference, "common practice, no source", "own proposal"
}
