package recorder

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"tundish/capture"
)

// receipts counts what was told to be lasting, and holds it to what the sink had committed at that moment.
type receipts struct {
	t    *testing.T
	sink *sink
	mu   sync.Mutex
	n    int
	at   []time.Duration
}

// told is how many were told, and when.
func (r *receipts) told() (int, []time.Duration) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.n, slices.Clone(r.at)
}

// want is the Stored of the i-th record.
func (r *receipts) want(i int, clock capture.Clock) func() {
	return func() {
		r.sink.mu.Lock()
		committed := r.sink.committed
		r.sink.mu.Unlock()
		r.mu.Lock()
		defer r.mu.Unlock()
		if i != r.n || committed <= i {
			r.t.Errorf("record %d told as lasting after %d others, %d committed", i, r.n, committed)
		}
		r.n++
		r.at = append(r.at, clock.Now())
	}
}

// TestStored: a receipt comes after the commit that holds the record and not before; few wait for the usual commit, many
// bring it forward.
func TestStored(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		clock := capture.StartClock()
		s := &sink{clock: clock}
		got := &receipts{t: t, sink: s}
		src := source(func(ctx context.Context, emit func(capture.Record) error) error {
			put := func(i int) error {
				return emit(capture.Record{Source: "broker", At: clock.Now(), Payload: fmt.Append(nil, i), Stored: got.want(i, clock)})
			}
			time.Sleep(time.Second)
			for i := range 3 { // few: with the commit at 5 s
				if err := put(i); err != nil {
					return err
				}
			}
			time.Sleep(6 * time.Second)
			for i := 3; i < 3+4*WaitingMost; i++ { // many, one a 10 ms: early, and not too often
				if err := put(i); err != nil {
					return err
				}
				time.Sleep(10 * time.Millisecond)
			}
			<-ctx.Done()
			return nil
		})
		_, stop, done := run(t, Config{Sources: []Named{{"broker", src}}, Sink: s, Clock: clock})
		time.Sleep(6 * time.Second)
		if n, at := got.told(); n != 3 || at[0] != 5*time.Second {
			t.Errorf("%d told at %v", n, at)
		}
		time.Sleep(3 * time.Second)
		if n, _ := got.told(); n != 3+4*WaitingMost {
			t.Errorf("%d told", n)
		}
		stop()
		if err := <-done; err != nil {
			t.Fatal(err)
		}
		for i := 1; i < len(s.commits)-1; i++ { // the last one is of the end
			if apart := s.commits[i] - s.commits[i-1]; apart < CommitApart {
				t.Errorf("commits at %v", s.commits)
			}
		}
	})
}

// TestStoredWhileStopping: a source that waits for its receipts before it ends gets them.
func TestStoredWhileStopping(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		clock := capture.StartClock()
		s := &sink{clock: clock}
		got := &receipts{t: t, sink: s}
		src := source(func(ctx context.Context, emit func(capture.Record) error) error {
			told := make(chan struct{})
			stored := got.want(0, clock)
			if err := emit(capture.Record{Source: "broker", At: clock.Now(), Stored: func() { stored(); close(told) }}); err != nil {
				return err
			}
			<-ctx.Done()
			<-told
			return nil
		})
		_, stop, done := run(t, Config{Sources: []Named{{"broker", src}}, Sink: s, Clock: clock})
		time.Sleep(time.Second)
		stop()
		if err := <-done; err != nil {
			t.Fatal(err)
		}
		if n, at := got.told(); n != 1 || at[0] != time.Second {
			t.Errorf("%d told at %v", n, at)
		}
	})
}

// TestNotStored: what was not committed is never told as lasting.
func TestNotStored(t *testing.T) {
	full := errors.New("disk full")
	synctest.Test(t, func(t *testing.T) {
		clock := capture.StartClock()
		s := &sink{clock: clock, commitErr: func() error { return full }}
		src := source(func(ctx context.Context, emit func(capture.Record) error) error {
			err := emit(capture.Record{Source: "broker", At: clock.Now(), Stored: func() { t.Error("told as lasting") }})
			<-ctx.Done()
			return err
		})
		_, _, done := run(t, Config{Sources: []Named{{"broker", src}}, Sink: s, Clock: clock})
		if err := <-done; !errors.Is(err, full) {
			t.Errorf("ended with %v", err)
		}
	})
}
