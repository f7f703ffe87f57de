// Package modbus reads registers of meters and controllers over Modbus TCP and RTU, one record an answer: its payload
// is the registers' bytes as they came, two each, its channel says which registers they are ("holding 100-103").
// What they mean is the decoder's.
//
// Only the functions 3 and 4 are ever sent (MODBUS Application Protocol Specification V1.1b3, 6.3 and 6.4): they read
// registers and change nothing. Requests are put together here: a client library can write too, and keeps to itself the
// answers that it refuses.
//
// A sweep is one round of all blocks; its records share Sweep. An exception ("exception 2, illegal data address"), a
// silence and a damaged answer give one record with a note when they begin, its payload what came of the answer, and "answers again" when they end; the
// other blocks go on. A device that did not answer at all in one sweep is asked for one block in the next, so that a
// dead device on a line does not hold up the others for long. A line or connection that is lost is Capture's error.
//
// RTU answers carry nothing that says which request they belong to. After a silence or a damaged answer the port is
// therefore closed, left alone for as long as an answer may take, and opened again with what came meanwhile thrown
// away: an answer that late is not taken for the next one's. What lies there before a request is no answer to it, and is
// thrown away too. Over TCP the transaction number tells them apart.
//
// Not here: TLS, UDP, ASCII.
package modbus

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"tundish/capture"
)

const (
	// DefaultInterval is from sweep to sweep. Own choice: short beside a firing of a minute, and no load for a line.
	DefaultInterval = 5 * time.Second
	// DefaultTimeout is how long an answer may take. Own choice; the MODBUS Messaging on TCP/IP Implementation Guide
	// leaves it to the application.
	DefaultTimeout = time.Second
	// PayloadLimit is the longest payload, bytes: two for each register of the longest answer.
	PayloadLimit = 2 * Longest
)

// Config says where to read what. Either Host or Port is given.
type Config struct {
	Source   string        // the source's name in the job sheet
	Host     string        // TCP: name or address, and port: "192.0.2.7:502"
	Port     string        // RTU: device path
	Baud     int           // RTU; 0: 19200
	Parity   Parity        // RTU
	StopBits int           // RTU; 0: what makes a character of 11 bits
	Unit     uint8         // of the device that blocks without a unit of their own are asked from
	Blocks   []Block       // one request each, see [Plan]
	Interval time.Duration // from sweep to sweep; 0: DefaultInterval
	Timeout  time.Duration // for an answer; 0: DefaultTimeout
}

// device is the line as errors name it.
func (c Config) device() string {
	if c.Port != "" {
		return "serial port " + c.Port
	}
	return c.Host
}

// Source is the [capture.Source] of the devices on one line or behind one address.
type Source struct {
	cfg   Config
	clock capture.Clock

	// What follows lives on from one Capture to the next, so that an outage is told once. It belongs to the goroutine
	// that runs Capture.
	units []*unit
	sweep uint32
	last  time.Duration
	line  line
}

// block is a Block with what is known of it.
type block struct {
	Block
	channel string
	trouble string // what was told of it last; empty: it answers
}

// unit is a device on the line.
type unit struct {
	id     uint8
	blocks []*block
	silent bool // it gave nothing in the last sweep
	turn   int  // of asking a silent one
}

// New makes a source; nothing is opened before Capture. The error names what cannot be asked for.
func New(cfg Config, clock capture.Clock) (*Source, error) {
	if cfg.Interval <= 0 {
		cfg.Interval = DefaultInterval
	}
	if cfg.Timeout <= 0 {
		cfg.Timeout = DefaultTimeout
	}
	if (cfg.Host == "") == (cfg.Port == "") {
		return nil, errors.New("modbus: either a host or a serial port is needed")
	}
	if len(cfg.Blocks) == 0 {
		return nil, errors.New("modbus: no registers to read")
	}
	if cfg.Port != "" && !cfg.Parity.known() {
		return nil, fmt.Errorf("modbus: parity %q: it is even, odd or none", cfg.Parity)
	}
	s := &Source{cfg: cfg, clock: clock, line: line{cfg: cfg}}
	for _, b := range cfg.Blocks {
		if err := b.check(); err != nil {
			return nil, fmt.Errorf("modbus: %w", err)
		}
		id := b.Unit
		if id == 0 {
			id = cfg.Unit
		}
		i := slices.IndexFunc(s.units, func(u *unit) bool { return u.id == id })
		if i < 0 {
			i = len(s.units)
			s.units = append(s.units, &unit{id: id})
		}
		s.units[i].blocks = append(s.units[i].blocks, &block{Block: b, channel: b.Channel()})
	}
	return s, nil
}

// Capture sweeps the blocks until ctx is cancelled (nil), the line or connection is lost (an error that names it), or
// emit fails. It must not be called twice at the same time.
func (s *Source) Capture(ctx context.Context, emit func(capture.Record) error) error {
	put := func(r capture.Record) error {
		r.Source = s.cfg.Source
		r.At = max(s.clock.Now().Truncate(time.Microsecond), s.last)
		s.last = r.At
		return emit(r)
	}
	defer s.line.close()
	tick := time.NewTicker(s.cfg.Interval)
	defer tick.Stop()
	for ctx.Err() == nil {
		if err := s.round(ctx, put); err != nil {
			return err
		}
		select {
		case <-ctx.Done():
		case <-tick.C:
		}
	}
	return nil
}

// round is one sweep. A device that was silent all through the last one is asked for one block, a different one each
// time, since one block alone may be what it never answers; if it answers, the others follow.
func (s *Source) round(ctx context.Context, put func(capture.Record) error) error {
	s.sweep++
	for _, u := range s.units {
		n, start, answered := len(u.blocks), 0, false
		if u.silent {
			start = u.turn % n
			u.turn++
		}
		for i := range n {
			if u.silent && i > 0 && !answered {
				break
			}
			heard, err := s.ask(ctx, u.id, u.blocks[(start+i)%n], put)
			if err != nil {
				return err
			}
			if ctx.Err() != nil {
				return nil
			}
			answered = answered || heard
		}
		u.silent = !answered
	}
	return nil
}

// ask makes one request and emits what came of it. heard: the device is there, whatever it said. The error is emit's,
// or of a line that cannot be opened.
func (s *Source) ask(ctx context.Context, id uint8, b *block, put func(capture.Record) error) (heard bool, err error) {
	registers, got, err := s.line.read(ctx, id, b.Block)
	if ctx.Err() != nil {
		return false, nil
	}
	if err != nil {
		if lost, ok := errors.AsType[*lostError](err); ok {
			return false, lost
		}
		trouble, heard := explain(err, s.cfg.Timeout)
		if trouble == b.trouble { // told already
			return heard, nil
		}
		b.trouble = trouble
		return heard, put(capture.Record{Channel: b.channel, Note: trouble, Payload: got[:min(len(got), FrameLimit)]})
	}
	if b.trouble != "" {
		b.trouble = ""
		if err := put(capture.Record{Channel: b.channel, Note: "answers again"}); err != nil {
			return true, err
		}
	}
	return true, put(capture.Record{Channel: b.channel, Sweep: s.sweep, Payload: registers})
}
