// Package capture holds what every way of getting bytes off a heating system has in common: the record that a
// source delivers and the source itself. It decodes nothing; what a source delivered is kept untouched, and every
// number in a report leads back to records.
//
// Start at [Record] and [Source]. The ways of getting bytes are in the folders below; the file that keeps them is
// tundish/capture/capfile, the loop that runs sources into it is tundish/capture/recorder.
package capture

import (
	"context"
	"time"
)

// Record is one thing that one source delivered.
type Record struct {
	// Seq is the record's place in the capture, from 1, without holes. The capture file gives it; 0 before that.
	Seq uint64
	// Run is the run of the logger that took the record. The recorder gives it.
	Run uint32
	// At is the arrival of the last byte on the run's monotonic clock, resolution 1 µs. Never negative.
	At time.Duration
	// Time is UTC, computed from At and the run's clock observations when the capture is read back.
	// It is zero while capturing.
	Time time.Time
	// Source is the source's name in the job sheet.
	Source string
	// Channel says which part of the source: a probe's ROM ("28-0000a71c01f4"), a column. Empty for a bus.
	Channel string
	// Sweep is equal for values that were read in one go and share a tick; 0 where there are no sweeps.
	Sweep uint32
	// Payload is what arrived, as received: nothing trimmed, nothing repaired. It is valid until emit returns.
	Payload []byte
	// Note says in words why this is not a usable delivery: "lost: no such device", "probe gone". A record with a
	// note is kept and shown, never decoded into readings; Payload then holds the bytes concerned, if any.
	Note string
	// Stored, where it is set, is called once, when the record is lasting: after the commit that holds it. A source that
	// owes somebody a receipt (a broker keeps a message until it is acknowledged) gives it then and not before. It is
	// not called for a record that was not kept. It may be called from any goroutine and must return at once. It is nil
	// in a record that is read back.
	Stored func()
}

// Source yields records. It has no way to send: nothing behind it can write on a boiler's bus or command an
// appliance.
//
// Capture blocks until ctx is cancelled (it then returns nil or ctx's error), the device is lost (an error that
// says what is gone) or emit fails (emit's error, unchanged). The supervisor in tundish/capture/recorder calls it
// again after a loss. A source stamps At itself from the [Clock] it was made with, sets Source, and leaves Seq,
// Run and Time zero; it sets Stored where it owes a receipt. emit may be called from one goroutine only, and does not
// keep Payload.
type Source interface {
	Capture(ctx context.Context, emit func(Record) error) error
}

// Clock is the monotonic clock of one run of the logger. The zero Clock is not usable; see [StartClock].
type Clock struct{ start time.Time }

// StartClock begins a run's clock at zero.
func StartClock() Clock { return Clock{start: time.Now()} }

// Now is the time since the clock was started; wall-clock steps do not touch it.
func (c Clock) Now() time.Duration { return time.Since(c.start) }
