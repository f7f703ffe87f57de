package recorder

import "time"

const (
	// ObserveEvery is the longest time from clock observation to clock observation. Own choice: a crystal of
	// 100 ppm is 30 ms off after it.
	ObserveEvery = 5 * time.Minute
	// StepSeen is how far the wall clock must have moved against the run's clock to be observed at once. Own choice:
	// above the slewing of a time server within ObserveEvery (500 ppm: 150 ms; Linux adjtimex(2)).
	StepSeen = 500 * time.Millisecond
	// SleepSeen is the shortest suspension of the machine that is observed. Own choice: well above what two readings of
	// the kernel's clocks can be apart.
	SleepSeen = 100 * time.Millisecond
)

// Look is one look at the clocks.
type Look struct {
	At     time.Duration // of the run
	Wall   time.Time     // what the wall clock said
	Synced bool          // it was synchronised with a time server
	// Slept is how long the machine was suspended since the run's zero: the run's clock stood still meanwhile.
	Slept time.Duration
}

// offset is the wall time at zero of the run's clock, had the machine never slept more nor less.
func (l Look) offset() time.Time { return l.Wall.Add(-l.At) }

// clocks are what is known of them: the last look that was recorded, and the last one of all.
type clocks struct {
	recorded, last Look
	zero           time.Duration // what the machine had slept at the run's zero
	begun          bool
}

// lookAgain records an observation where one is due: after ObserveEvery, after a step, when the clock has become or
// ceased to be synchronised, or when the machine has slept.
func (r *Recorder) lookAgain() (seen bool, err error) {
	now := r.readClocks()
	before := r.clocks.recorded
	moved := now.offset().Sub(before.offset()).Abs()
	switch {
	case now.Slept-before.Slept >= SleepSeen:
		return true, r.woke(now)
	case now.At-before.At < ObserveEvery && moved <= StepSeen && now.Synced == before.Synced:
		r.clocks.last = now
		return false, nil
	}
	return true, r.observe(now)
}

// lookAsleep looks whether the machine has slept, before a record is kept that may have come after it. It is done for each
// record, so that no more than what came at the very moment is dated to the wrong side of the sleep.
func (r *Recorder) lookAsleep() error {
	now := Look{At: r.now(), Wall: r.cfg.Wall().Round(0).UTC(), Synced: r.clocks.last.Synced, Slept: r.clocks.recorded.Slept}
	if r.slept()-now.Slept >= SleepSeen {
		return r.woke(r.readClocks())
	}
	r.clocks.last = now
	return nil
}

// woke records where the run's clock stood when the machine was last seen awake, and where it stands now.
func (r *Recorder) woke(now Look) error {
	if last := r.clocks.last; last.At > r.clocks.recorded.At {
		if err := r.observe(last); err != nil {
			return err
		}
	}
	r.log.Info("the machine was suspended: the record has a gap", "for", (now.Slept - r.clocks.recorded.Slept).Round(time.Second))
	return r.observe(now)
}

// look records the first observation.
func (r *Recorder) look() error { return r.observe(r.readClocks()) }

// readClocks gives the run's clock and the wall clock at the same moment. The wall clock's own monotonic reading is
// taken off, since it would hide a step.
func (r *Recorder) readClocks() Look {
	return Look{At: r.now(), Wall: r.cfg.Wall().Round(0).UTC(), Synced: r.cfg.Synced(), Slept: r.slept()}
}

// slept is how long the machine was suspended since the run's zero.
func (r *Recorder) slept() time.Duration {
	now := r.cfg.Slept()
	if !r.clocks.begun { // the run's zero was a moment ago
		r.clocks.zero, r.clocks.begun = now, true
	}
	return max(0, now-r.clocks.zero).Truncate(tick)
}

func (r *Recorder) observe(l Look) error {
	if l.Slept < r.clocks.recorded.Slept+SleepSeen { // what is less is the reading of the clocks, not sleep
		l.Slept = r.clocks.recorded.Slept
	}
	if err := r.cfg.Sink.Observe(l); err != nil {
		return err
	}
	r.clocks.recorded, r.clocks.last = l, l
	r.mu.Lock()
	defer r.mu.Unlock()
	r.status.Started, r.status.Synced = l.offset(), l.Synced
	return nil
}
