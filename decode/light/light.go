// Package light reads an appliance's indicator light: flashes counted between pauses, a steady light, a light that is
// off, a light that flashes on without a pause. What a sign means stands in the maker's instructions, and not here.
//
// The light is a series of 0 and 1, from any source that gives one: told at each change, or sampled.
package light

import (
	"fmt"
	"time"
)

// Sign is what the light shows. From 1 to [MostFlashes] it is the number of flashes between two pauses.
type Sign int

// The signs besides counts.
const (
	Off      Sign = 0
	Steady   Sign = 30
	Flashing Sign = 31 // on and on, slow enough to be counted
	Rapid    Sign = 32 // on and on, too fast to be counted by eye
)

// MostFlashes is the highest count. Own proposal: nobody counts further.
const MostFlashes = 20

func (s Sign) String() string {
	switch {
	case s == Off:
		return "off"
	case s == Steady:
		return "steady"
	case s == Flashing:
		return "flashing"
	case s == Rapid:
		return "rapid"
	case s == 1:
		return "1 flash"
	case s > 1 && s <= MostFlashes:
		return fmt.Sprintf("%d flashes", int(s))
	}
	return "unknown"
}

const (
	// longestFlash is how long a light may be on within a flash; on for longer, it is steady. Own proposal: the slowest
	// flashing, 0.3 times a second, is on for half of 3.3 s.
	longestFlash = 2500 * time.Millisecond
	// longestPause is how long it may be off between two groups; off for longer, it is off. Own proposal.
	longestPause = 8 * time.Second
	// shortest is the shortest change that is one, ms: a contact that bounces, or stray light. Own proposal: a third of a
	// flash at 10 Hz.
	shortest = 15 * time.Millisecond
	// pauseRatio is how many times as long as the dark between flashes a pause is, at the least. Own proposal: a pause
	// that is shorter is told from it by nobody who counts.
	pauseRatio = 1.8
	// darkRatio is how many times as long as a flash the dark is where each flash is a group of its own, and not a light
	// that goes on and off evenly. Own proposal.
	darkRatio = 3.0
	// apartPeriod is the shortest time from one such flash to the next. Own proposal.
	apartPeriod = time.Second
	// rapidPeriod is the longest period of flashes that are too fast to count. Own proposal: about 3 in a second can be
	// counted by eye.
	rapidPeriod = 350 * time.Millisecond
	// rapidLeast is the number of such flashes that are no count, unless the same number comes again. Own proposal.
	rapidLeast = 8
	// again is how often a sign that stands is told again, as long as the light is looked at.
	again = 30 * time.Second
	// forgets is after what silence nothing is known of the rhythm any more. Own proposal.
	forgets = 10 * time.Minute
)

// Seen is a sign with the time at which it began.
type Seen struct {
	From time.Time
	Sign Sign
	// Why says what makes the sign doubtful; empty: nothing.
	Why string
}
