package recorder

import "time"

const (
	// ObserveEvery is the longest time from clock observation to clock observation. Own choice: a crystal of
	// 100 ppm is 30 ms off after it.
	ObserveEvery = 5 * time.Minute
	// StepSeen is how far the wall clock must have moved against the run's clock to be observed at once. Own choice:
	// above the slewing of a time server within ObserveEvery (500 ppm: 150 ms; Linux adjtimex(2)).
	StepSeen = 500 * time.Millisecond
)

// wallWatch is what was last observed of the wall clock.
type wallWatch struct {
	at     time.Duration
	offset time.Time // wall time at zero of the run's clock
	synced bool
}

// lookAgain records an observation where one is due: after ObserveEvery, after a step, or when the clock has become
// or ceased to be synchronised.
func (r *Recorder) lookAgain() (seen bool, err error) {
	now, wall, synced := r.readClocks()
	moved := wall.Add(-now).Sub(r.clock.offset).Abs()
	if now-r.clock.at < ObserveEvery && moved <= StepSeen && synced == r.clock.synced {
		return false, nil
	}
	return true, r.observe(now, wall, synced)
}

// look records an observation.
func (r *Recorder) look() error { return r.observe(r.readClocks()) }

// readClocks gives the run's clock and the wall clock at the same moment. The wall clock's own monotonic reading is
// taken off, since it would hide a step.
func (r *Recorder) readClocks() (now time.Duration, wall time.Time, synced bool) {
	return r.now(), r.cfg.Wall().Round(0).UTC(), r.cfg.Synced()
}

func (r *Recorder) observe(now time.Duration, wall time.Time, synced bool) error {
	if err := r.cfg.Sink.Observe(now, wall, synced); err != nil {
		return err
	}
	r.clock = wallWatch{now, wall.Add(-now), synced}
	r.mu.Lock()
	defer r.mu.Unlock()
	r.status.Started, r.status.Synced = r.clock.offset, synced
	return nil
}
