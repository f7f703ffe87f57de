package capturetest

import (
	"bytes"
	"context"
	"errors"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"tundish/capture"
)

func delivers(t *testing.T, rig Rig) {
	s := start(t, rig, nil)
	for i := range 5 {
		before := rig.Clock.Now()
		rig.Feed(t, rig.Good(i))
		r := s.awaitPayload(rig.Good(i))
		if r.Note != "" {
			t.Errorf("a sound delivery has the note %q", r.Note)
		}
		if r.At < before.Truncate(time.Microsecond) {
			t.Errorf("stamped %v, before it was sent at %v", r.At, before)
		}
	}
	s.stop()
}

func garbage(t *testing.T, rig Rig) {
	s := start(t, rig, nil)
	for i, g := range rig.Garbage {
		rig.Feed(t, g)
		s.awaitPayload(g)
		rig.Feed(t, rig.Good(i)) // and it goes on
		s.awaitPayload(rig.Good(i))
	}
	s.stop()
}

func cancels(t *testing.T, rig Rig) {
	s := start(t, rig, nil)
	rig.Feed(t, rig.Good(0))
	s.awaitPayload(rig.Good(0))
	s.stop()
	// The device is given back: the next call gets it.
	s = start(t, rig, nil)
	rig.Feed(t, rig.Good(1))
	s.awaitPayload(rig.Good(1))
	s.stop()
}

func cancelledBefore(t *testing.T, rig Rig) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	done := make(chan error, 1)
	go func() { done <- rig.Source.Capture(ctx, func(capture.Record) error { return nil }) }()
	select {
	case err := <-done:
		if err != nil && !errors.Is(err, context.Canceled) {
			t.Errorf("got %v", err)
		}
	case <-time.After(Prompt):
		t.Error("Capture did not return")
	}
}

// cancelsBlocked: while the consumer holds a record, the cancel waits for it, and for nothing else.
func cancelsBlocked(t *testing.T, rig Rig) {
	held, release := make(chan struct{}, 1), make(chan struct{})
	s := start(t, rig, func(capture.Record) error {
		select {
		case held <- struct{}{}:
		default:
		}
		<-release
		return nil
	})
	rig.Feed(t, rig.Good(0))
	<-held
	s.cancel()
	close(release)
	s.stop()
}

func emitError(t *testing.T, rig Rig) {
	full := errors.New("disk full")
	s := start(t, rig, func(capture.Record) error { return full })
	rig.Feed(t, rig.Good(0))
	if err := s.end(); err != full { // unchanged, not wrapped: that is the contract of Source
		t.Errorf("Capture returned %v, want emit's own error", err)
	}
}

func lostAndBack(t *testing.T, rig Rig) {
	s := start(t, rig, nil)
	rig.Feed(t, rig.Good(0))
	s.awaitPayload(rig.Good(0))
	rig.Lose(t)
	checkLost(t, rig, s.end())
	s = start(t, rig, nil) // still away
	checkLost(t, rig, s.end())
	rig.Restore(t)
	s = start(t, rig, nil)
	rig.Feed(t, rig.Good(1))
	s.awaitPayload(rig.Good(1))
	s.stop()
}

func checkLost(t *testing.T, rig Rig, err error) {
	t.Helper()
	if err == nil || errors.Is(err, context.Canceled) || !strings.Contains(err.Error(), rig.Device) {
		t.Errorf("the error of a lost device must name %q; got %v", rig.Device, err)
	}
}

func slowConsumer(t *testing.T, rig Rig) {
	const n = 200
	held, release := make(chan struct{}, 1), make(chan struct{})
	s := start(t, rig, func(capture.Record) error {
		select {
		case held <- struct{}{}:
		default:
		}
		<-release
		return nil
	})
	rig.Feed(t, rig.Good(0))
	<-held
	fed := make(chan struct{})
	go func() { // a stream device may block here until the consumer goes on
		defer close(fed)
		for i := 1; i < n; i++ {
			rig.Feed(t, rig.Good(i))
		}
	}()
	if rig.Repeats {
		<-fed
	}
	close(release)
	if rig.Repeats {
		s.awaitPayload(rig.Good(n - 1))
	} else {
		for i := range n {
			if r := s.await("a record", func(capture.Record) bool { return true }); !bytes.Equal(r.Payload, rig.Good(i)) {
				t.Fatalf("record %d is %q, want %q", i, r.Payload, rig.Good(i))
			}
		}
	}
	<-fed
	s.stop()
}

func overwritten(t *testing.T, rig Rig) {
	s := start(t, rig, func(r capture.Record) error {
		for i := range r.Payload {
			r.Payload[i] = '!'
		}
		return nil
	})
	for i := range 5 {
		rig.Feed(t, rig.Good(i))
		s.awaitPayload(rig.Good(i))
	}
	s.stop()
}

// bounded floods the source with a megabyte that holds no end of anything; checkRecord holds each payload to
// MaxPayload. Goroutines must not pile up either.
func bounded(t *testing.T, rig Rig) {
	s := start(t, rig, nil)
	rig.Feed(t, rig.Good(0))
	s.awaitPayload(rig.Good(0))
	goroutines := runtime.NumGoroutine()
	flood := slices.Repeat([]byte{0xA5}, 1<<16)
	for range 16 {
		rig.Feed(t, flood)
	}
	s.await("the flood", func(r capture.Record) bool { return bytes.Contains(r.Payload, []byte{0xA5, 0xA5}) })
	if now := runtime.NumGoroutine(); now > goroutines+10 {
		t.Errorf("%d goroutines after a flood, %d before", now, goroutines)
	}
	s.stop()
}
