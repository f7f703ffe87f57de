package capturetest

import (
	"bytes"
	"context"
	"errors"
	"sync/atomic"
	"testing"
	"time"

	"tundish/capture"
)

// session is one call of Capture in the background.
type session struct {
	t      *testing.T
	rig    Rig
	got    chan capture.Record // copies of what was emitted
	done   chan error
	cancel context.CancelFunc
}

// start runs Capture; before, when not nil, is called in emit ahead of anything else and its error is returned.
// What every record must hold is checked on the way.
func start(t *testing.T, rig Rig, before func(capture.Record) error) *session {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	s := &session{t, rig, make(chan capture.Record, 1<<16), make(chan error, 1), cancel}
	var inside atomic.Bool
	last := time.Duration(-1)
	go func() {
		s.done <- rig.Source.Capture(ctx, func(r capture.Record) error {
			if inside.Swap(true) {
				t.Error("emit was called from two goroutines at once")
			}
			defer inside.Store(false)
			checkRecord(t, rig, r, last)
			last = r.At
			kept := r
			kept.Payload = bytes.Clone(r.Payload)
			if before != nil {
				if err := before(r); err != nil {
					return err
				}
			}
			s.got <- kept
			if r.Stored != nil { // here what was taken is as good as committed
				r.Stored()
			}
			return nil
		})
	}()
	t.Cleanup(func() {
		cancel()
		select {
		case <-s.done:
		case <-time.After(Patience):
			t.Error("Capture did not return at the end of the test")
		}
	})
	return s
}

func checkRecord(t *testing.T, rig Rig, r capture.Record, last time.Duration) {
	switch now := rig.Clock.Now(); {
	case r.Source != rig.Name:
		t.Errorf("record of source %q, want %q", r.Source, rig.Name)
	case r.Seq != 0 || r.Run != 0 || !r.Time.IsZero():
		t.Errorf("a source leaves Seq, Run and Time zero: %+v", r)
	case r.At < 0 || r.At > now:
		t.Errorf("At %v is not between 0 and now (%v)", r.At, now)
	case r.At%time.Microsecond != 0:
		t.Errorf("At %d ns is finer than 1 µs", r.At)
	case r.At < last:
		t.Errorf("At went back from %v to %v", last, r.At)
	case len(r.Payload) > rig.MaxPayload:
		t.Errorf("payload of %d bytes, longest is %d", len(r.Payload), rig.MaxPayload)
	}
}

// await returns the next record that is wanted.
func (s *session) await(what string, wanted func(capture.Record) bool) capture.Record {
	s.t.Helper()
	timeout := time.After(Patience)
	for {
		select {
		case r := <-s.got:
			if wanted(r) {
				return r
			}
		case err := <-s.done:
			s.done <- err
			s.t.Fatalf("Capture returned (%v) before %s", err, what)
		case <-timeout:
			s.t.Fatalf("%s did not come", what)
		}
	}
}

// awaitPayload waits for a payload, byte for byte.
func (s *session) awaitPayload(p []byte) capture.Record {
	s.t.Helper()
	return s.await(string(p[:min(len(p), 40)]), func(r capture.Record) bool { return bytes.Equal(r.Payload, p) })
}

// end waits for Capture to return and gives its error; it must take no longer than Prompt.
func (s *session) end() error {
	s.t.Helper()
	begun := time.Now()
	select {
	case err := <-s.done:
		s.done <- err
		if took := time.Since(begun); took > Prompt {
			s.t.Errorf("Capture took %v to return", took)
		}
		return err
	case <-time.After(Patience):
		s.t.Fatal("Capture did not return")
		return nil
	}
}

// stop cancels and checks the ending: nil or the context's error.
func (s *session) stop() {
	s.t.Helper()
	s.cancel()
	if err := s.end(); err != nil && !errors.Is(err, context.Canceled) {
		s.t.Errorf("after a cancel Capture returned %v", err)
	}
}
