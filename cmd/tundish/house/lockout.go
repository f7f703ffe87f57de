package house

import (
	"time"

	"tundish/analyse/episode"
)

// Fault flags of data id 5 (OpenTherm Protocol Specification v2.2, 5.3.1).
const (
	flagResetAllowed = 1 << 1
	flagLowPressure  = 1 << 2
	flagGasFlame     = 1 << 3
	flagAirPressure  = 1 << 4
	flagOverheat     = 1 << 5
)

// shows are the flags and the code that go with a cause; code is what is added to the house's own ignition code. The
// additions are invented, as the code is; a house without a code shows none.
var shows = map[string]struct{ flags, code uint8 }{
	episode.CauseIgnition:    {flagGasFlame, 0},
	episode.CauseFlameLoss:   {flagGasFlame, 0},
	episode.CauseOverheat:    {flagOverheat, 2},
	episode.CauseLowPressure: {flagLowPressure, 3},
	episode.CauseAirPressure: {flagAirPressure, 4},
	episode.CauseSensor:      {0, 5},
}

// lockout is the present one, and when and how a person will end it.
type lockout struct {
	cause     string
	resetAt   time.Duration
	resetHow  episode.Reset
	commanded time.Duration // when the room unit was told to reset; 0: not yet
}

// lock notes why the burner, which stands in lockout now, is there.
func (b *boiler) lock(now time.Duration, cause string, f *faults) {
	b.want = false
	b.lockout = lockout{cause: cause}
	b.resetAt, b.resetHow = f.reset(now, cause)
}

// unlock ends a lockout.
func (b *boiler) unlock(now time.Duration) {
	b.burner.reset(now)
	b.lockout = lockout{}
	b.offAt, b.rail = never, 0
}

// fault is what data id 5 holds: flags and code of the lockout or block that is shown; all 0 without one. Whether a
// lockout may be reset over the bus is told with it.
func (b *boiler) fault() (flags, code uint8) {
	if b.locked() {
		flags, code = b.spec.shows(b.cause)
		return flags | flagResetAllowed, code
	}
	cause, _ := b.block()
	return b.spec.shows(cause)
}

// shows are the flags and the code that go with a cause; none for what is not shown.
func (s *BoilerSpec) shows(cause string) (flags, code uint8) {
	w, known := shows[cause]
	if known && s.FaultCode != 0 {
		code = s.FaultCode + w.code
	}
	return w.flags, code
}

// volatile tells whether an interruption of the supply ends the present lockout. A limiter is reset by hand always.
func (b *boiler) volatile() bool { return b.spec.VolatileLockout && b.cause != episode.CauseOverheat }

// ready tells whether a person who resets now succeeds.
func (b *boiler) ready() bool {
	return b.cause != episode.CauseOverheat || b.exchanger < orUsual(b.spec.OverheatC, overheatUsual)-overheatBackK
}
