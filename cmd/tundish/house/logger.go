package house

import (
	"slices"
	"time"
)

// Listening tells whether a logger runs at a time since the scenario's start.
func (s Scenario) Listening(at time.Duration) bool {
	return !slices.ContainsFunc(s.Faults.LoggerOff, func(w Window) bool { return w.contains(at) })
}

// run is the number of the logger's run, from 1: one more after each time without a logger.
func (s *Scenario) run(at time.Duration) uint32 {
	n := uint32(1)
	for _, w := range s.Faults.LoggerOff {
		if w.From > 0 && at >= w.To {
			n++
		}
	}
	return n
}

// Wall is what the logger's clock shows at a time since the scenario's start, UTC. A step of the clock is a
// correction: after the last one the clock is right, before it the clock is off by all the steps still to come.
func (s Scenario) Wall(at time.Duration) time.Time {
	t := s.Start.Add(at)
	for _, c := range s.Faults.Clock {
		if at < c.At {
			t = t.Add(-c.By)
		}
	}
	return t.UTC()
}
