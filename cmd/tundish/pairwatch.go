package main

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"tundish/capture"
	"tundish/capture/capfile"
	wire "tundish/capture/onewire"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
)

// watchAll reads probes and other sources side by side until the context ends, and gives each temperature to take, in one
// goroutine. The error says what is gone.
func watchAll(ctx context.Context, probes []wire.Config, others []*jobsheet.Source, every time.Duration, take func(probeValue) error) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	var (
		one  sync.Mutex
		wait sync.WaitGroup
		errs = make([]error, 1+len(others))
	)
	began := time.Now()
	each := func(v probeValue) error {
		one.Lock()
		defer one.Unlock()
		if ctx.Err() != nil {
			return ctx.Err()
		}
		return take(v)
	}
	if len(probes) > 0 {
		wait.Go(func() {
			defer stop()
			errs[0] = watchProbes(ctx, probes, each)
		})
	}
	for i, src := range others {
		wait.Go(func() {
			defer stop()
			errs[i+1] = watchSource(ctx, src, every, began, each)
		})
	}
	wait.Wait()
	for i, err := range errs {
		if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
			errs[i] = nil // the time to read is over
		}
	}
	return errors.Join(errs...)
}

// watchSource reads one source, without the offsets that the sheet gives its sensors. at of what it gives is the time of
// the reading since began.
func watchSource(ctx context.Context, src *jobsheet.Source, every time.Duration, began time.Time, take func(probeValue) error) error {
	plain := *src
	plain.Paired = nil
	if every > 0 {
		plain.Interval = every
	}
	dec, err := newSourceDecoder(&plain, &jobsheet.Sheet{})
	if err != nil {
		return err
	}
	open := kindOf(src).source
	if src.MQTT != nil { // with a session of its own: the logger's keeps messages for the record
		open = func(s *jobsheet.Source, clock capture.Clock) (capture.Source, error) {
			return listenMQTT(s, clock, true)
		}
	}
	device, err := open(&plain, capture.StartClock())
	if err != nil {
		return err
	}
	var seq uint64
	return device.Capture(ctx, func(r capture.Record) error {
		if r.Stored != nil {
			r.Stored() // nothing of a comparison is kept
		}
		if r.Note != "" {
			return take(probeValue{source: src.Name, note: r.Note})
		}
		seq++
		r.Seq, r.Time = seq, time.Now().UTC()
		var stop error
		_ = dec.Decode(r, func(d decode.Reading) { // what it refuses is no value
			if stop == nil && d.Quality == decode.Good && d.Series.Point.Temperature() {
				stop = take(probeValue{source: src.Name, probe: d.Series.Point.String(), at: d.Time.Sub(began), c: d.Value})
			}
		})
		return stop
	})
}

// lookEvery is from look to look at a capture that is being recorded. Own choice: it is committed every five seconds.
const lookEvery = 2 * time.Second

// watchCapture follows a capture that is being recorded, from now on. Offsets are taken off again.
func watchCapture(ctx context.Context, path string, series []decode.Series, two [2]pairProbe, take func(probeValue) error) error {
	began := time.Now()
	from := began
	for {
		kept, err := openCapture(path, "")
		if err != nil {
			return err
		}
		kept.uncorrected()
		// A decoder may need what came before: the window begins earlier than what counts.
		_, err = kept.scan(ctx, capfile.Window{From: from.Add(-time.Minute)}, listener{}, func(r decode.Reading) error {
			for i, s := range series {
				if r.Series == s && r.Time.After(from) && r.Quality == decode.Good {
					if err := take(probeValue{source: s.Source, probe: two[i].name, at: r.Time.Sub(began), c: r.Value}); err != nil {
						return err
					}
					break
				}
			}
			return nil
		})
		to := kept.lastTime()
		if err = firstError(err, kept.close()); err != nil && ctx.Err() == nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		if to.After(from) {
			from = to
		}
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(lookEvery):
		}
	}
}

// lastTime is the time of the latest record.
func (c *captured) lastTime() (last time.Time) {
	for _, r := range c.reader.Runs() {
		if r.To.After(last) {
			last = r.To
		}
	}
	return last
}

// uncorrected takes the offsets off all sensors.
func (c *captured) uncorrected() {
	for _, sheet := range c.sheets {
		for i := range sheet.Sources {
			s := &sheet.Sources[i]
			s.Paired = nil
			for id, m := range s.Points {
				m.Offset = 0
				s.Points[id] = m
			}
		}
	}
}
