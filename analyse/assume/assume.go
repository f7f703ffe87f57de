// Package assume has the one form in which every computed answer tells what nobody gave: a default that was filled in, a
// rule that was followed, a limit that a result was held against.
package assume

// Assumption is such a figure with its unit and where it comes from: a standard, "from memory" beside it where its text was
// not at hand, "common practice, no source", or "own proposal".
type Assumption struct {
	What   string
	Value  float64
	Unit   string
	Source string
}
