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
// together with failed or lost, and where a limit trips with out, failed or alone.
type happened struct {
	lit    bool          // an attempt succeeded; a heat pump's compressor started
	out    bool          // stopped on purpose
	lost   bool          // flame lost while running
	failed bool          // an attempt failed
	flame  time.Duration // flame seen in the failed attempt
	gaveUp bool          // the sequence ended because nobody wanted heat any more
	locked bool
}

// burner is the automatic burner control: purge, spark, prove, run; repeat; lockout. In a heat pump it is the
// compressor's control, which knows off, the pump's run before the start, run and lockout.
type burner struct {
	spec     *BoilerSpec
	phase    phase
	since    time.Duration // when the phase began
	litAt    time.Duration
	attempts int // in this sequence
	losses   int // flames lost without a steady one between

	fails bool          // this attempt is to fail
	brief time.Duration // with a flame as long as this

	icing     float64       // of a heat pump: 0 clear … 1 to be defrosted
	defrostTo time.Duration // of a heat pump
}

// flame tells whether a flame burns.
func (b *burner) flame() bool { return b.spec.Kind != HeatPump && b.running() }

// running tells whether heat is made: a flame, or a compressor.
func (b *burner) running() bool { return b.phase == phaseRun || b.phase == phaseFail }

// gas tells whether the gas valve is open.
func (b *burner) gas() bool { return b.spec.Kind != HeatPump && (b.phase == phaseSpark || b.running()) }

func (b *burner) enter(p phase, now time.Duration) { b.phase, b.since = p, now }

// reset ends a lockout.
func (b *burner) reset(now time.Duration) {
	b.attempts, b.losses = 0, 0
	b.enter(phaseOff, now)
}

// step moves the sequence by one second.
func (b *burner) step(now time.Duration, want bool, outside float64, f *faults) (h happened) {
	if b.phase != phaseRun {
		b.thaw(outside)
	}
	switch {
	case b.phase == phaseLocked:
		return h
	case !want:
		return b.stop(now)
	case b.spec.Kind == HeatPump:
		return b.compress(now, outside)
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
			b.fails, b.brief = f.attempt(b.attempts)
			b.enter(phaseSpark, now)
		}
	case phaseSpark:
		return b.spark(now, in)
	case phaseFail:
		if in >= b.brief {
			return b.fail(now, b.brief)
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

// spark is a second of the safety time: spark and gas, until a flame shows or the time is over.
func (b *burner) spark(now, in time.Duration) (h happened) {
	shows := in >= b.spec.LightAfter
	switch {
	case shows && b.fails && b.brief > 0:
		b.enter(phaseFail, now)
	case shows && !b.fails:
		b.litAt = now
		b.enter(phaseRun, now)
		h.lit = true
	case in >= b.spec.SafetyTime:
		return b.fail(now, 0)
	}
	return h
}

// stop ends the sequence because nobody wants heat.
func (b *burner) stop(now time.Duration) (h happened) {
	switch b.phase {
	case phaseRun:
		h.out, b.losses = true, 0
	case phaseFail: // counts as a failed attempt: it would not have held
		h.failed, h.flame = true, now-b.since
	}
	if b.phase != phaseOff {
		h.gaveUp = b.attempts > 0 && !h.out
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
