package house

import "time"

// phase is where the burner stands in its sequence (terms of EN 298, in own words).
type phase uint8

const (
	phaseOff   phase = iota
	phasePurge       // fan clears the chamber
	phaseSpark       // spark and gas, within the safety time
	phaseFail        // a short flame of an attempt that fails
	phaseRun         // flame proved
	phasePause       // after a failed attempt
	phaseLocked
)

const (
	// steadyFlame is how long a flame must burn before earlier flame losses are forgotten. Own assumption.
	steadyFlame = 10 * time.Minute
)

// happened is what one second of the burner brought. At most one of lit, out, lost and failed is set; locked comes
// together with failed or lost.
type happened struct {
	lit    bool          // an attempt succeeded
	out    bool          // stopped on purpose
	lost   bool          // flame lost while running
	failed bool          // an attempt failed
	flame  time.Duration // flame seen in the failed attempt
	locked bool
}

// burner is the automatic burner control: purge, spark, prove, run; repeat; lockout.
type burner struct {
	spec     *BoilerSpec
	phase    phase
	since    time.Duration // when the phase began
	litAt    time.Duration
	attempts int // in this sequence
	losses   int // flames lost without a steady one between
	short    time.Duration
}

func (b *burner) flame() bool { return b.phase == phaseRun || b.phase == phaseFail }

func (b *burner) enter(p phase, now time.Duration) { b.phase, b.since = p, now }

// reset ends a lockout.
func (b *burner) reset(now time.Duration) {
	b.attempts, b.losses = 0, 0
	b.enter(phaseOff, now)
}

// step moves the sequence by one second.
func (b *burner) step(now time.Duration, want bool, outside float64, f *faults) (h happened) {
	if b.phase == phaseLocked {
		return h
	}
	if !want {
		return b.stop(now)
	}
	in := now - b.since
	switch b.phase {
	case phaseOff:
		b.attempts = 0
		f.sequence(now, outside)
		b.enter(phasePurge, now)
	case phasePurge:
		if in >= b.spec.Prepurge {
			b.attempts++
			b.enter(phaseSpark, now)
		}
	case phaseSpark:
		fails, flame := f.attempt(b.attempts)
		switch {
		case fails && flame > 0 && in >= b.spec.LightAfter:
			b.short = flame
			b.enter(phaseFail, now)
		case fails && in >= b.spec.SafetyTime:
			return b.fail(now, 0)
		case !fails && in >= b.spec.LightAfter:
			b.litAt = now
			b.enter(phaseRun, now)
			h.lit = true
		}
	case phaseFail:
		if in >= b.short {
			return b.fail(now, b.short)
		}
	case phasePause:
		switch {
		case in < b.spec.RetryPause:
		case b.attempts == 0: // after a flame loss: a new sequence
			b.enter(phaseOff, now)
		default:
			b.enter(phasePurge, now)
		}
	case phaseRun:
		run := now - b.litAt
		if run >= steadyFlame {
			b.losses = 0
		}
		if f.drop(now, run) {
			return b.lose(now)
		}
	}
	return h
}

// stop ends the sequence because nobody wants heat.
func (b *burner) stop(now time.Duration) (h happened) {
	switch b.phase {
	case phaseRun:
		h.out = true
	case phaseFail: // counts as a failed attempt: it would not have held
		h.failed, h.flame = true, now-b.since
	}
	if b.phase != phaseOff {
		b.attempts = 0
		b.enter(phaseOff, now)
	}
	return h
}

func (b *burner) fail(now, flame time.Duration) happened {
	h := happened{failed: true, flame: flame}
	if b.attempts >= b.spec.Attempts {
		h.locked = true
		b.enter(phaseLocked, now)
	} else {
		b.enter(phasePause, now)
	}
	return h
}

// lose is a flame lost in the run: the control recycles, until it has happened as often as attempts are allowed.
func (b *burner) lose(now time.Duration) happened {
	h := happened{lost: true}
	b.losses++
	b.attempts = 0
	if b.losses >= b.spec.Attempts {
		h.locked = true
		b.enter(phaseLocked, now)
	} else {
		b.enter(phasePause, now)
	}
	return h
}
