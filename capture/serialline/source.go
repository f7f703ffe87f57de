// Package serialline listens to an adapter that prints lines of text on a serial port, one record a line.
//
//	bytes on the wire   8 0 0 0 0 2 0 0 \r \n   8 0 …  (2 s without a byte)
//	records             "80000200\r\n"           "80…"
//
// A line ends at \n. The payload is the line verbatim, its end included; a \r, alone or before \n, is kept and ends
// nothing. A payload without \n is half a line: nothing came for [UnfinishedAfter], the port was lost, or the
// source was stopped. A line longer than [LineLimit] comes in pieces that carry a note. No byte is dropped, none is
// repaired: noise comes as the records it made.
//
// # Listening only
//
// The port is wrapped, as soon as it is open, in a type that can read and close and holds no other way to the port; no
// byte is ever written. On Linux the port is opened for reading only, so that the kernel refuses a write by whomever; on
// other platforms the driver opens it for both. Echo, XON/XOFF and hardware flow control, by which a terminal would
// answer by itself, are turned off before the first byte is read.
//
// What no program can prevent on Linux (kernel, drivers/tty/tty_port.c): as the port is opened, and before its settings
// can be changed, the kernel raises DTR and RTS; this package then lowers both in one call, or leaves them up with
// [Config.RaiseLines]. Until its settings are changed for the first time after the adapter was plugged in, a port echoes;
// an adapter that is sending in that moment, well below a millisecond plus what its driver takes to open, may get some of
// its own bytes back. They go to the adapter's receiving side, which a listening adapter does not pass on to the bus. When
// the port is closed, the kernel lowers both lines if its HUPCL setting says so, which is the default.
//
// On macOS the kernel raises the lines likewise (from memory); on Windows both are set while the port is configured.
// Boards that take the lines for reset and boot-mode see no odd combination for longer than the driver needs. An adapter
// that is fed from these lines, or that sends only while DTR is up (many USB ones do), wants [Config.RaiseLines]. A
// pseudo-terminal has no such lines.
//
// Frames are not looked for here; that is the decoder's. Data format is 8N1, no flow control.
package serialline

import (
	"context"
	"errors"
	"fmt"
	"time"

	"tundish/capture"
)

// DefaultBaud is the rate where the job sheet gives none, in Bd.
const DefaultBaud = 9600

// Config says which port to listen to.
type Config struct {
	Port   string // device path, best a stable one: /dev/serial/by-id/…; COM3 on Windows
	Baud   int    // Bd; 0 means DefaultBaud
	Source string // the source's name in the job sheet
	// RaiseLines holds DTR and RTS up instead of quiet, for adapters that need it.
	RaiseLines bool
}

// Source is the [capture.Source] of one serial port.
type Source struct {
	cfg   Config
	clock capture.Clock
}

// New makes a source; the port is opened by Capture.
func New(cfg Config, clock capture.Clock) *Source {
	if cfg.Baud == 0 {
		cfg.Baud = DefaultBaud
	}
	return &Source{cfg: cfg, clock: clock}
}

// Capture opens the port and emits a record a line until ctx is cancelled (nil), the port cannot be opened or is
// lost (an error that names it), or emit fails. At is when the read that held the line's last byte returned, so
// lines that arrived together share it. The port is closed when Capture returns.
func (s *Source) Capture(ctx context.Context, emit func(capture.Record) error) (err error) {
	if ctx.Err() != nil {
		return nil
	}
	if s.cfg.Baud < 0 {
		return fmt.Errorf("serial port %s: a rate of %d baud cannot be", s.cfg.Port, s.cfg.Baud)
	}
	port, err := listen(s.cfg)
	if err != nil {
		return named(s.cfg.Port, err)
	}
	// What a close says of a port that is lost or no longer wanted changes nothing for the caller.
	defer port.Close()
	lines := splitter{limit: LineLimit, emit: func(payload []byte, at time.Duration, note string) error {
		return emit(capture.Record{Source: s.cfg.Source, At: at, Payload: payload, Note: note})
	}}
	lost, failed := s.read(ctx, port, &lines)
	if failed != nil {
		return failed
	}
	if failed := lines.flush(); failed != nil {
		return failed
	}
	if lost != nil {
		return named(s.cfg.Port, lost)
	}
	return nil
}

// read feeds lines from the port until ctx ends (nil, nil), the port is lost, or emit has failed.
func (s *Source) read(ctx context.Context, port listener, lines *splitter) (lost, failed error) {
	buf := make([]byte, LineLimit)
	for ctx.Err() == nil {
		n, err := port.Read(buf)
		now := s.clock.Now().Truncate(time.Microsecond)
		switch {
		case errors.Is(err, errQuiet):
			if lines.overdue(now) {
				failed = lines.flush()
			}
		case err != nil:
			return err, nil
		default:
			failed = lines.add(buf[:n], now)
		}
		if failed != nil {
			return nil, failed
		}
	}
	return nil, nil
}
