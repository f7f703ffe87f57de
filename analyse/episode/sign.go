package episode

import "fmt"

// Sign is what a sign of the appliance's indicator light means, by the engineer's table from the maker's instructions.
type Sign struct {
	Shown string // "4 flashes"
	Words string
	Cause string // of the lockout that it tells, a word of the vocabulary; empty: not said
}

func (s Sign) String() string {
	if s.Words == "" {
		return s.Shown
	}
	return fmt.Sprintf("%s, by the job sheet “%s”", s.Shown, s.Words)
}
