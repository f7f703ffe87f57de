package mbus

import (
	"context"
	"errors"
	"fmt"
	"time"

	"tundish/capture"
)

const (
	// DefaultBaud is the rate that most meters have, Bd (MB 5.1).
	DefaultBaud = 2400
	// DefaultInterval is from one read of a meter to its next. Own proposal: meters with a battery measure and answer
	// sparingly, and many makers' manuals allow a read in some minutes.
	DefaultInterval = 5 * time.Minute
	// Retries is how often a request is sent again that was not answered (MB 5.4).
	Retries = 2
	// MostTelegrams is the most telegrams taken for one answer. Own choice: more than any meter with monthly values
	// needs, and an end for one that always says that more follow.
	MostTelegrams = 16
)

// Meter is one meter on the bus.
type Meter struct {
	Name string // the channel of its records
	// Address is its primary address, 0 to 250. With a Secondary it is not used.
	Address   byte
	Secondary Secondary
}

// Config says which meters to read.
type Config struct {
	Port     string        // device path, best a stable one: /dev/serial/by-id/…
	Baud     int           // Bd; 0: DefaultBaud
	Source   string        // the source's name in the job sheet
	Interval time.Duration // from one read of a meter to its next; 0: DefaultInterval
	Meters   []Meter
}

// Source is the [capture.Source] of the meters on one bus.
type Source struct {
	cfg    Config
	clock  capture.Clock
	spare  time.Duration // added to what the standard gives for an answer
	meters []meter

	// What follows lives on from one Capture to the next, as the meters do, so that none is read too often.
	last  time.Duration // At of the last record
	sweep uint32
	away  bool // the port was lost
}

// meter is one meter and what is known of it. It belongs to the goroutine that runs Capture.
type meter struct {
	Meter
	due    time.Duration // it is not asked before, on the run's clock
	linked bool          // its link was reset, and fcb is what it expects next
	fcb    bool
	silent bool // that it does not answer was noted
}

// AnswerSpare is how much longer than the standard's limit an answer may take to come. Own choice: serial adapters on USB
// deliver up to 16 ms late, the rest is for a busy machine.
const AnswerSpare = 150 * time.Millisecond

// New makes a source; nothing is sent before Capture.
func New(cfg Config, clock capture.Clock) *Source {
	if cfg.Baud == 0 {
		cfg.Baud = DefaultBaud
	}
	if cfg.Interval <= 0 {
		cfg.Interval = DefaultInterval
	}
	s := &Source{cfg: cfg, clock: clock, spare: AnswerSpare}
	for _, m := range cfg.Meters {
		s.meters = append(s.meters, meter{Meter: m})
	}
	return s
}

// Capture reads the meters, each in its turn, until ctx is cancelled (nil), the port cannot be opened or is lost (an
// error that names it), or emit fails. It must not be called twice at the same time.
func (s *Source) Capture(ctx context.Context, emit func(capture.Record) error) error {
	if ctx.Err() != nil {
		return nil
	}
	if s.cfg.Baud < 0 || len(s.meters) == 0 {
		return fmt.Errorf("m-bus port %s: %d Bd and %d meters cannot be", s.cfg.Port, s.cfg.Baud, len(s.meters))
	}
	line, err := open(s.cfg)
	if err != nil {
		s.away = true
		return named(s.cfg.Port, err)
	}
	defer line.close() // what it says of a port that is lost or no longer wanted changes nothing
	b := &bus{Source: s, ctx: ctx, line: line, emit: emit}
	for i := range s.meters { // what came while nobody listened may have moved a link on
		s.meters[i].linked = false
	}
	if s.away { // a meter's turn may be hours away
		s.away = false
		s.last = max(s.last, s.now())
		if err := emit(capture.Record{Source: s.cfg.Source, At: s.last, Note: capture.Reached}); err != nil {
			return err
		}
	}
	err = b.run()
	switch {
	case b.failed != nil:
		return b.failed
	case ctx.Err() != nil || errors.Is(err, context.Canceled):
		return nil
	}
	s.away = true
	return named(s.cfg.Port, err)
}

// bit is the time of one bit on the line.
func (s *Source) bit() time.Duration { return time.Second / time.Duration(s.cfg.Baud) }

const (
	bitsAChar   = 11  // 8E1 (MB 5.1)
	bitsAnswer  = 330 // an answer begins after them and 50 ms at the latest (MB 5.4)
	bitsBetween = 33  // least silence between telegrams (MB 5.4)
	answerFixed = 50 * time.Millisecond
	// gapSpare is how much longer than the silence between telegrams one inside a telegram may last. The standard has
	// none at all; own choice, for adapters that deliver in bursts.
	gapSpare = 50 * time.Millisecond
)

// now is the run's clock at the resolution of a record.
func (s *Source) now() time.Duration { return s.clock.Now().Truncate(time.Microsecond) }

// next is the meter whose turn comes first.
func (s *Source) next() *meter {
	first := &s.meters[0]
	for i := range s.meters {
		if s.meters[i].due < first.due {
			first = &s.meters[i]
		}
	}
	return first
}
