package recorder

import (
	"context"
	"sync"
	"testing"
	"time"

	"tundish/capture"
)

type observation = Look

// sink remembers what it was told, and when, on the clock of the bubble.
type sink struct {
	mu           sync.Mutex
	clock        capture.Clock
	records      []capture.Record
	observations []observation
	commits      []time.Duration
	committed    int // records before the last commit
	appendErr    func(n int) error
	commitErr    func() error
	slow         time.Duration // of each append
}

func (s *sink) Append(r capture.Record) error {
	time.Sleep(s.slow)
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.appendErr != nil {
		if err := s.appendErr(len(s.records)); err != nil {
			return err
		}
	}
	s.records = append(s.records, r)
	return nil
}

func (s *sink) Observe(l Look) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.observations = append(s.observations, l)
	return nil
}

func (s *sink) Commit() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.commitErr != nil {
		if err := s.commitErr(); err != nil {
			return err
		}
	}
	s.commits = append(s.commits, s.clock.Now())
	s.committed = len(s.records)
	return nil
}

// of lists the records of a source.
func (s *sink) of(source string) []capture.Record {
	s.mu.Lock()
	defer s.mu.Unlock()
	var list []capture.Record
	for _, r := range s.records {
		if r.Source == source {
			list = append(list, r)
		}
	}
	return list
}

// source is a source made of a function.
type source func(ctx context.Context, emit func(capture.Record) error) error

func (f source) Capture(ctx context.Context, emit func(capture.Record) error) error {
	return f(ctx, emit)
}

// every emits a payload at an interval, from one buffer that it overwrites, until stopped.
func every(name string, clock capture.Clock, interval time.Duration) source {
	return func(ctx context.Context, emit func(capture.Record) error) error {
		buf := make([]byte, 8)
		tick := time.NewTicker(interval)
		defer tick.Stop()
		for {
			select {
			case <-ctx.Done():
				return nil
			case <-tick.C:
			}
			copy(buf, " R12345\n")
			if err := emit(capture.Record{Source: name, At: clock.Now(), Payload: buf}); err != nil {
				return err
			}
			clear(buf)
		}
	}
}

// run starts a recorder in a bubble and returns its ending. Without a Synced or a Wall it gets fixed ones.
func run(t *testing.T, cfg Config) (r *Recorder, stop func(), result <-chan error) {
	t.Helper()
	if cfg.Synced == nil {
		cfg.Synced = func() bool { return true }
	}
	ctx, cancel := context.WithCancel(t.Context())
	r = New(cfg)
	done := make(chan error, 1)
	go func() { done <- r.Run(ctx) }()
	return r, cancel, done
}
