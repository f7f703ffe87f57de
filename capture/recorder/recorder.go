// Package recorder runs the sources of a job into one sink, for as long as it takes.
//
//	source ─▶ supervisor ─┐
//	source ─▶ supervisor ─┼─▶ bounded queue ─▶ one goroutine ─▶ sink: append, observe, commit every 5 s
//	source ─▶ supervisor ─┘
//
// A source that is lost is tried again with a back-off and never stops the others; its outage is told by two
// records with a note. The wall clock is looked at against the run's clock and what is found is recorded. A slow
// sink holds the sources up, and loses nothing. A sink that fails ends the run: nothing more can be kept.
package recorder

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"tundish/capture"
)

const (
	// CommitEvery is the time from commit to commit: what a power cut may cost. Own choice, measured: committing
	// each second writes five times as much to a memory card.
	CommitEvery = 5 * time.Second
	// QueueLength is how many records may wait for the sink. Own choice: some minutes of a bus, so that a card
	// that stalls during a commit does not make the sources late.
	QueueLength = 1024
	// WaitingMost is how many records may wait for being lasting, where their source wants to be told of it, before the
	// next commit comes early. Own choice: half of the 20 messages that a common broker sends ahead of their receipts
	// (mosquitto.conf(5), max_inflight_messages), so that it is never held up by the pace of commits.
	WaitingMost = 10
	// CommitApart is the least time between commits that come early. Own choice: with 20 messages ahead it lets 40 a
	// second through, more than the sensors of a home send.
	CommitApart = 500 * time.Millisecond
	// StopWithin is how long a source has to return after a cancel, before the run ends without it. Own choice.
	StopWithin = 5 * time.Second
)

// Sink keeps what is recorded. The recorder calls it from one goroutine. Records are in the order of arrival;
// within a source, At never goes back.
type Sink interface {
	// Append takes a record. It may keep Payload.
	Append(rec capture.Record) error
	// Observe takes a look at the clocks.
	Observe(l Look) error
	// Commit makes all before it lasting.
	Commit() error
}

// Named is a source with its name in the job sheet.
type Named struct {
	Name   string
	Source capture.Source
}

// Config says what to run. Sink, Clock and Sources are needed.
type Config struct {
	Sources []Named
	Sink    Sink
	Clock   capture.Clock // the run's; the sources were made with it too
	Run     uint32        // set in every record
	// Wall is the wall clock; nil: the machine's.
	Wall func() time.Time
	// Synced tells whether the wall clock is synchronised; nil: [ClockSynced].
	Synced func() bool
	// Slept tells how long the machine was suspended since some fixed moment; nil: [Slept].
	Slept func() time.Duration
	// Due tells whether the sink has something besides records to make lasting; nil: never.
	Due func() bool
	// Log gets what happens to sources; nil: nobody.
	Log *slog.Logger
}

// Recorder is one run of the logger.
type Recorder struct {
	cfg      Config
	queue    chan capture.Record
	finished chan struct{} // closed, once, when the sink takes no more
	finish   func()
	clocks   clocks   // pump's alone
	waiting  []func() // Stored of the records that the next commit makes lasting; pump's alone
	log      *slog.Logger

	mu     sync.Mutex
	status Status
	states []*sourceState // as cfg.Sources
}

// errFinished is what emit says once the run is over.
var errFinished = errors.New("the run of the logger is over")

// New makes a recorder for one Run.
func New(cfg Config) *Recorder {
	if cfg.Wall == nil {
		cfg.Wall = time.Now
	}
	if cfg.Synced == nil {
		cfg.Synced = ClockSynced
	}
	if cfg.Slept == nil {
		cfg.Slept = Slept
	}
	if cfg.Due == nil {
		cfg.Due = func() bool { return false }
	}
	r := &Recorder{cfg: cfg, queue: make(chan capture.Record, QueueLength), finished: make(chan struct{}), log: cfg.Log}
	r.finish = sync.OnceFunc(func() { close(r.finished) })
	if r.log == nil {
		r.log = slog.New(slog.DiscardHandler)
	}
	for _, n := range cfg.Sources {
		r.states = append(r.states, &sourceState{name: n.Name})
	}
	return r
}

// Run records until ctx is cancelled or every source has ended by itself (nil), or the sink fails (its error,
// wrapped). What came before a cancel is kept and committed. Run is called once.
func (r *Recorder) Run(ctx context.Context) error {
	sources, stop := context.WithCancel(ctx)
	defer stop()
	var all sync.WaitGroup
	for i := range r.cfg.Sources {
		all.Go(func() { r.supervise(sources, i) })
	}
	ended := make(chan struct{})
	go func() { all.Wait(); close(ended) }()

	err := r.pump(ctx, ended)
	stop()
	if err != nil {
		r.finish() // before waiting: a supervisor may be held up by the full queue
		r.await(ended)
		return fmt.Errorf("nothing more can be kept: %w; what was committed before stays", err)
	}
	return nil
}

// pump moves records from the queue into the sink until the run is over. It alone touches the sink.
func (r *Recorder) pump(ctx context.Context, ended <-chan struct{}) error {
	if err := r.look(); err != nil {
		return err
	}
	tick := time.NewTicker(CommitEvery)
	defer tick.Stop()
	dirty := true // the first observation
	last := time.Now()
	var early <-chan time.Time
	for {
		if len(r.waiting) >= WaitingMost && early == nil {
			early = time.After(CommitApart - time.Since(last))
		}
		select {
		case rec := <-r.queue:
			if err := r.keep(rec); err != nil {
				return err
			}
			dirty = true
		case <-early:
			if err := r.commit(); err != nil {
				return err
			}
			early, dirty, last = nil, false, time.Now()
		case <-tick.C:
			seen, err := r.lookAgain()
			if err != nil {
				return err
			}
			if dirty || seen || r.cfg.Due() {
				if err := r.commit(); err != nil {
					return err
				}
				last = time.Now()
			}
			early, dirty = nil, false
		case <-ctx.Done():
			return r.drain(ended)
		case <-ended:
			return r.drain(ended)
		}
	}
}

// drain takes what the sources still give while they stop, what waits in the queue, and commits. A source that is to be
// told what is lasting is told while it stops, so that it can still give its receipts.
func (r *Recorder) drain(ended <-chan struct{}) error {
	limit := time.NewTimer(StopWithin)
	defer limit.Stop()
	for open := true; open; {
		if len(r.waiting) > 0 && len(r.queue) == 0 {
			if err := r.commit(); err != nil {
				return err
			}
		}
		select {
		case rec := <-r.queue:
			if err := r.keep(rec); err != nil {
				return err
			}
		case <-ended:
			open = false
		case <-limit.C:
			r.log.Error("a source does not stop; the run ends without it")
			open = false
		}
	}
	r.finish()
	for {
		select {
		case rec := <-r.queue:
			if err := r.keep(rec); err != nil {
				return err
			}
		default:
			if _, err := r.lookAgain(); err != nil {
				return err
			}
			return r.commit()
		}
	}
}

func (r *Recorder) await(ended <-chan struct{}) {
	limit := time.NewTimer(StopWithin)
	defer limit.Stop()
	select {
	case <-ended:
	case <-limit.C:
	}
}

func (r *Recorder) keep(rec capture.Record) error {
	if err := r.lookAsleep(); err != nil {
		return err
	}
	if err := r.cfg.Sink.Append(rec); err != nil {
		return err
	}
	if rec.Stored != nil {
		r.waiting = append(r.waiting, rec.Stored)
	}
	r.noteKept(rec)
	return nil
}

func (r *Recorder) commit() error {
	if err := r.cfg.Sink.Commit(); err != nil {
		return err
	}
	r.mu.Lock()
	r.status.Committed, r.status.CommittedAt = r.status.Records, r.now()
	r.mu.Unlock()
	for i, stored := range r.waiting {
		r.waiting[i] = nil
		stored()
	}
	r.waiting = r.waiting[:0]
	return nil
}

// now is the run's clock at the resolution of a record.
func (r *Recorder) now() time.Duration { return r.cfg.Clock.Now().Truncate(tick) }
