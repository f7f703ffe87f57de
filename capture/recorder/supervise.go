package recorder

import (
	"bytes"
	"context"
	"fmt"
	"runtime/debug"
	"time"

	"tundish/capture"
)

const (
	// BackOffFirst is the pause before a lost source is tried again, doubled at each attempt up to BackOffMost. Own
	// choice: an adapter that was knocked out and put back shall be found at once, one that is away for the night
	// shall cost nothing.
	BackOffFirst = time.Second
	BackOffMost  = 30 * time.Second
)

// supervision is the state of one supervised source. It belongs to its goroutine.
type supervision struct {
	r       *Recorder
	i       int
	lostAt  time.Duration
	reason  string // why it is lost, as told; empty: it is not
	backOff time.Duration
	last    time.Duration // At of its latest record
	reached time.Duration // when an outage ended without a delivery; negative: it did not
}

// supervise runs a source again and again until ctx ends, the run is over, or the source ends by itself.
func (r *Recorder) supervise(ctx context.Context, i int) {
	s := supervision{r: r, i: i, backOff: BackOffFirst, reached: -1}
	name := r.cfg.Sources[i].Name
	for {
		err := s.capture(ctx)
		switch {
		case ctx.Err() != nil || r.over():
			return
		case err == nil:
			r.log.Info("source ended by itself", "source", name)
			r.setLost(i, "ended by itself", r.now())
			s.put(capture.Record{Source: name, At: r.now(), Note: "ended: the source stopped by itself"})
			return
		}
		if s.reached >= 0 && r.now()-s.reached >= BackOffMost { // it stood for long, though nothing was delivered
			s.backOff = BackOffFirst
		}
		s.reached = -1
		s.lost(err)
		pause := time.NewTimer(s.backOff)
		s.backOff = min(2*s.backOff, BackOffMost)
		select {
		case <-ctx.Done():
			pause.Stop()
			return
		case <-r.finished:
			pause.Stop()
			return
		case <-pause.C:
		}
	}
}

// capture runs the source once. A bug in one source must not end the record of the others: its panic is a loss.
func (s *supervision) capture(ctx context.Context) (err error) {
	src := s.r.cfg.Sources[s.i]
	defer func() {
		if p := recover(); p != nil {
			s.r.log.Error("source panicked", "source", src.Name, "panic", p, "stack", string(debug.Stack()))
			err = fmt.Errorf("%s: a bug in this source: %v", src.Name, p)
		}
	}()
	return src.Source.Capture(ctx, s.emit)
}

// emit passes a record on, and tells before the first one after an outage that the source is back. A record with a
// note is no sign of that: a source may still have something to say of what is gone. But [capture.Reached] is one.
func (s *supervision) emit(rec capture.Record) error {
	if rec.Note == capture.Reached {
		s.reached = rec.At
		return s.back(rec.At)
	}
	if rec.Note == "" {
		s.backOff, s.reached = BackOffFirst, -1
		if err := s.back(rec.At); err != nil {
			return err
		}
	}
	return s.put(rec)
}

// back ends an outage, if there is one.
func (s *supervision) back(at time.Duration) error {
	if s.reason == "" {
		return nil
	}
	away, name := (at - s.lostAt).Round(time.Second), s.r.cfg.Sources[s.i].Name
	s.r.log.Info("source back", "source", name, "after", away)
	s.reason = ""
	s.r.setLost(s.i, "", at)
	return s.put(capture.Record{Source: name, At: at, Note: "back after " + away.String()})
}

// lost tells once an outage, and once more where its reason changes.
func (s *supervision) lost(err error) {
	at, name := s.r.now(), s.r.cfg.Sources[s.i].Name
	if s.reason == "" {
		s.lostAt = at
	}
	if s.reason == err.Error() {
		return
	}
	s.reason = err.Error()
	s.r.log.Warn("source lost", "source", name, "err", err)
	s.r.setLost(s.i, s.reason, s.lostAt)
	// An error here is the end of the run, which supervise sees by itself.
	_ = s.put(capture.Record{Source: name, At: at, Note: "lost: " + s.reason})
}

// put queues a copy of a record; it waits while the queue is full.
func (s *supervision) put(rec capture.Record) error {
	rec.Run = s.r.cfg.Run
	rec.At = max(rec.At, s.last)
	s.last = rec.At
	rec.Payload = bytes.Clone(rec.Payload)
	if s.r.over() {
		return errFinished
	}
	select {
	case s.r.queue <- rec:
		return nil
	case <-s.r.finished:
		return errFinished
	}
}

// over tells whether the sink takes no more.
func (r *Recorder) over() bool {
	select {
	case <-r.finished:
		return true
	default:
		return false
	}
}
