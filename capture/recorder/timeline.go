package recorder

import (
	"math"
	"time"
)

const (
	// StepBack is how far a file's times may go back and still be disorder of the program that wrote it. Own choice:
	// files written by several threads, or stamped to the second, go back by a second or two again and again; each
	// taken for a step of the clock would move all before it.
	StepBack = 5 * time.Second
	// StepForward is how far apart two successive times of a file may be and still be a gap. Own choice: a logger
	// stays for days or weeks; a year and more is a clock that was set, as of a small box that booted in 1970.
	StepForward = 366 * 24 * time.Hour
	// tick is the resolution of a record's time.
	tick = time.Microsecond
	// mostRun is the longest run that a timeline gives, so that no sum overflows.
	mostRun = math.MaxInt64 / 4
)

// Timeline turns the successive wall times of a file into the monotonic time of a run, which a file does not have.
// Time that goes forward goes forward by as much; time that goes back by no more than [StepBack] is held; anything
// else is a step of the clock that wrote the file, and becomes a clock observation. After a step the run's time is
// one tick further, so that records before and after it are told apart. The zero value is ready.
type Timeline struct {
	begun  bool
	anchor time.Time     // wall time at the last observation
	base   time.Duration // run time at the last observation
	at     time.Duration // run time given last
}

// Place gives the run time of the next record's wall time. observe says that the two must be recorded as a clock
// observation, not synchronised, before the record: at the first call and at each step.
func (tl *Timeline) Place(wall time.Time) (at time.Duration, observe bool) {
	wall = wall.Round(0)
	if !tl.begun {
		tl.begun, tl.anchor = true, wall
		return 0, true
	}
	// Sub saturates, so that the farthest times still compare rightly.
	since := wall.Sub(tl.anchor)
	latest := tl.at - tl.base
	switch ahead := since - latest; {
	case since < latest-StepBack, since > latest && (ahead < 0 || ahead > StepForward), tl.base > mostRun-max(since, 0):
		tl.at += tick
		tl.anchor, tl.base = wall, tl.at
		return tl.at, true
	case ahead > 0:
		tl.at = (tl.base + since).Truncate(tick)
	}
	return tl.at, false
}
