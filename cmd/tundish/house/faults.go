package house

import (
	"math"
	"math/rand/v2"
	"time"

	"tundish/analyse/episode"
)

const (
	// resetDefault is when a person resets a lockout that no scenario planned. Own assumption.
	resetDefault = time.Hour
	// personSoonest and personLatest bound when a person resets after an overheat. Own assumptions.
	personSoonest, personLatest = 15 * time.Minute, 4 * time.Hour
	// streamFaults is the stream of random numbers for what fails by chance; far from those of the other parts.
	streamFaults = 101
)

// faults keeps which of the scenario's faults have been used up.
type faults struct {
	spec   *FaultSpec
	rng    *rand.Rand
	used   []int           // sequences spoilt, one for each ignition fault
	cold   []time.Duration // since when it has been as cold as each ignition fault wants
	losses []int           // flames dropped, one for each flame-loss fault
	ails   []ailingSensor  // one for each fault of the boiler's own sensors
	active int             // ignition fault of the present sequence, −1: none
	lost   int             // flame-loss fault that dropped the last flame, −1: none
}

func newFaults(spec *FaultSpec, seed uint64) *faults {
	f := &faults{spec: spec, rng: rand.New(rand.NewPCG(seed, streamFaults)), used: make([]int, len(spec.Ignition)),
		cold: make([]time.Duration, len(spec.Ignition)), losses: make([]int, len(spec.FlameLoss)),
		ails: make([]ailingSensor, len(spec.OwnSensor)), active: -1, lost: -1}
	for i := range f.cold {
		f.cold[i] = math.MaxInt64
	}
	return f
}

// weather lets the frost work: it notes since when it has been cold. outside is in °C.
func (f *faults) weather(now time.Duration, outside float64) {
	for i := range f.spec.Ignition {
		switch {
		case outside > f.spec.Ignition[i].BelowC:
			f.cold[i] = math.MaxInt64
		case f.cold[i] == math.MaxInt64:
			f.cold[i] = now
		}
	}
}

// sequence begins an ignition sequence.
func (f *faults) sequence(now time.Duration, outside float64) {
	f.active = -1
	for i := range f.spec.Ignition {
		g := &f.spec.Ignition[i]
		long := g.ColdFor == 0 || f.cold[i] != math.MaxInt64 && now-f.cold[i] >= g.ColdFor
		if g.contains(now) && outside <= g.BelowC && long && f.used[i] < g.Sequences {
			f.used[i]++
			f.active = i
			return
		}
	}
}

// attempt tells whether attempt n, from 1, of the present sequence fails, and how long a flame shows in it. It is asked
// once for each.
func (f *faults) attempt(n int) (fails bool, flame time.Duration) {
	if f.active < 0 {
		return false, 0
	}
	g := &f.spec.Ignition[f.active]
	if g.Chance > 0 {
		return f.rng.Float64() < g.Chance, g.Flame
	}
	return n <= g.Fails, g.Flame
}

// reset tells when and how a person will reset the lockout that has just begun.
func (f *faults) reset(now time.Duration, cause string) (time.Duration, episode.Reset) {
	switch cause {
	case episode.CauseIgnition:
		if f.active >= 0 && f.spec.Ignition[f.active].ResetAfter > 0 {
			g := &f.spec.Ignition[f.active]
			if g.Reset == "" {
				return now + g.ResetAfter, episode.ResetByHand
			}
			return now + g.ResetAfter, g.Reset
		}
	case episode.CauseFlameLoss:
		if f.lost >= 0 && f.spec.FlameLoss[f.lost].ResetAfter > 0 {
			return now + f.spec.FlameLoss[f.lost].ResetAfter, episode.ResetByHand
		}
	case episode.CauseOverheat:
		span := math.Log(float64(personLatest) / float64(personSoonest))
		after := time.Duration(float64(personSoonest) * math.Exp(span*f.rng.Float64()))
		return now + after.Truncate(time.Second), episode.ResetByHand
	case episode.CauseAirPressure:
		if _, _, to := f.blocked(now, BlockAirPressure); to > now {
			return to, episode.ResetByHand
		}
	case episode.CauseSensor:
		for i := range f.spec.OwnSensor {
			g := &f.spec.OwnSensor[i]
			if !g.Return && g.contains(now) && (g.Ails == OpenWire || g.Ails == ShortWire) {
				return g.To, episode.ResetByHand // mended, and reset by who mended it
			}
		}
	}
	return now + resetDefault, episode.ResetByHand
}

// drop tells whether a firing that has run for run loses its flame now.
func (f *faults) drop(now, run time.Duration) bool {
	for i, g := range f.spec.FlameLoss {
		if g.contains(now) && run >= g.After && f.losses[i] < g.Times {
			f.losses[i]++
			f.lost = i
			return true
		}
	}
	return false
}

// blocked tells whether a fault of that cause keeps the burner from starting now, whether the control makes a lockout
// of it, and until when.
func (f *faults) blocked(now time.Duration, cause BlockCause) (is, lockout bool, to time.Duration) {
	for i := range f.spec.Blocked {
		if g := &f.spec.Blocked[i]; g.Cause == cause && g.contains(now) {
			return true, g.Lockout, g.To
		}
	}
	return false, false, 0
}

func within(list []Window, t time.Duration) bool {
	for i := range list {
		if list[i].contains(t) {
			return true
		}
	}
	return false
}

// supplyCut tells whether there are no mains at t.
func (f *faults) supplyCut(t time.Duration) bool { return within(f.spec.Supply, t) }

// unlogged tells whether no logger ran at t.
func (f *faults) unlogged(t time.Duration) bool { return within(f.spec.LoggerOff, t) }

// silent tells whether the bus adapter prints nothing at t, and whether the logger saw it go.
func (f *faults) silent(t time.Duration) (silent, noted bool) {
	for i := range f.spec.Adapter {
		if w := &f.spec.Adapter[i]; w.contains(t) {
			return true, w.Noted
		}
	}
	return false, false
}
