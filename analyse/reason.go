package analyse

import "fmt"

// Topic is what one step of a check's reasoning is about.
type Topic string

const (
	Measured Topic = "measured"  // a value that the check took from the facts
	Excluded Topic = "ruled out" // a look-alike that the facts speak against
	Open     Topic = "open"      // a look-alike that could not be ruled out, and what is missing
)

// Step is one step of the reasoning behind an answer.
type Step struct {
	Topic Topic
	What  string // "settled ΔT", "mild weather"
	Text  string // "14.7 K by boiler", "the output was near design for 3 h"
}

// Measured keeps a value that the answer rests on, for whoever asks why.
func (p *Pass) Measured(what, format string, args ...any) {
	p.steps = append(p.steps, Step{Measured, what, fmt.Sprintf(format, args...)})
}

// RuledOut keeps a look-alike that the facts speak against.
func (p *Pass) RuledOut(what, format string, args ...any) {
	p.steps = append(p.steps, Step{Excluded, what, fmt.Sprintf(format, args...)})
}

// LeftOpen keeps a look-alike that the record can neither confirm nor rule out, and what would be needed.
func (p *Pass) LeftOpen(what, format string, args ...any) {
	p.steps = append(p.steps, Step{Open, what, fmt.Sprintf(format, args...)})
}
