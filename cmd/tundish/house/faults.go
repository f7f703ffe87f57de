package house

import (
	"time"

	"tundish/analyse/episode"
)

const (
	// resetDefault is when a person resets a lockout that no scenario planned. Own assumption.
	resetDefault = time.Hour
)

// faults keeps which of the scenario's faults have been used up.
type faults struct {
	spec   *FaultSpec
	used   []int // sequences spoilt, one for each ignition fault
	losses []int // flames dropped, one for each flame-loss fault
	active int   // ignition fault of the present sequence, −1: none
}

func newFaults(spec *FaultSpec) *faults {
	return &faults{spec: spec, used: make([]int, len(spec.Ignition)), losses: make([]int, len(spec.FlameLoss)), active: -1}
}

// sequence begins an ignition sequence.
func (f *faults) sequence(now time.Duration, outside float64) {
	f.active = -1
	for i, g := range f.spec.Ignition {
		if g.contains(now) && outside <= g.BelowC && f.used[i] < g.Sequences {
			f.used[i]++
			f.active = i
			return
		}
	}
}

// attempt tells whether attempt n, from 1, of the present sequence fails, and how long a flame shows in it.
func (f *faults) attempt(n int) (fails bool, flame time.Duration) {
	if f.active < 0 {
		return false, 0
	}
	g := f.spec.Ignition[f.active]
	return n <= g.Fails, g.Flame
}

// reset tells when and how a person will reset the lockout that has just begun.
func (f *faults) reset() (time.Duration, episode.Reset) {
	if f.active < 0 || f.spec.Ignition[f.active].ResetAfter == 0 {
		return resetDefault, episode.ResetByHand
	}
	g := f.spec.Ignition[f.active]
	return g.ResetAfter, g.Reset
}

// drop tells whether a firing that has run for run loses its flame now.
func (f *faults) drop(now, run time.Duration) bool {
	for i, g := range f.spec.FlameLoss {
		if g.contains(now) && run >= g.After && f.losses[i] < g.Times {
			f.losses[i]++
			return true
		}
	}
	return false
}

// silent tells whether the bus adapter prints nothing at t.
func (f *faults) silent(t time.Duration) bool {
	for _, w := range f.spec.Adapter {
		if w.contains(t) {
			return true
		}
	}
	return false
}
