package modbus

import (
	"context"
	"fmt"
	"io"
	"log"
	"time"

	"github.com/simonvetter/modbus"
)

// Parity of a serial line. The zero Parity is Even, the default of MODBUS over Serial Line V1.02, 2.5.1.
type Parity string

// The parities.
const (
	Even Parity = "even"
	Odd  Parity = "odd"
	None Parity = "none"
)

func (p Parity) known() bool { return p == "" || p == Even || p == Odd || p == None }

// line is the connection to the devices. Its zero value with cfg is closed; it opens when something is to be read.
//
// The library knows no contexts. A call that is still under way when the context ends is left to end by itself, which
// it does within its time-out, and its port is then closed; the next open waits for that, so that two never share a
// port.
type line struct {
	cfg  Config
	conn conn
	left chan struct{} // closed when a call that was left has ended; nil: none was
	rest time.Time     // not to be opened before
}

// conn holds all that the package keeps of a client: bound functions and not the client, so that no type assertion
// leads to what it can write. The zero conn is closed.
type conn struct {
	read  func(unit uint8, b Block) ([]byte, error)
	close func() error
}

// lostError is a line that cannot be opened.
type lostError struct {
	device, hint string
	err          error
}

func (e *lostError) Error() string { return fmt.Sprintf("%s: %v; %s", e.device, e.err, e.hint) }
func (e *lostError) Unwrap() error { return e.err }

// read asks for one block, opening the line first where it is closed. After any error but an exception the line is
// closed again. A *lostError says that it could not be opened.
func (l *line) read(ctx context.Context, unit uint8, b Block) (registers []byte, err error) {
	if l.conn.read == nil {
		if err := l.open(ctx); err != nil {
			return nil, err
		}
	}
	c := l.conn
	answer, err := call(ctx, l, c.close, func() ([]byte, error) { return c.read(unit, b) })
	if ctx.Err() == nil && err != nil && exceptionOf(err) == "" {
		l.close()
		if l.cfg.Port != "" {
			l.rest = time.Now().Add(l.cfg.Timeout)
		}
	}
	return answer, err
}

// open waits until the line may be opened, and opens it.
func (l *line) open(ctx context.Context) error {
	if l.left != nil {
		select {
		case <-l.left:
			l.left = nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	if wait := time.Until(l.rest); wait > 0 {
		t := time.NewTimer(wait)
		defer t.Stop()
		select {
		case <-t.C:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	client, err := modbus.NewClient(l.cfg.client())
	if err != nil {
		return &lostError{l.cfg.device(), l.cfg.hint(), err}
	}
	if _, err = call(ctx, l, client.Close, func() (struct{}, error) { return struct{}{}, client.Open() }); err != nil {
		if ctx.Err() != nil {
			return err
		}
		return &lostError{l.cfg.device(), l.cfg.hint(), err}
	}
	l.conn = conn{close: client.Close, read: func(unit uint8, b Block) ([]byte, error) {
		table := modbus.HOLDING_REGISTER
		if b.Function == ReadInput {
			table = modbus.INPUT_REGISTER
		}
		if err := client.SetUnitId(unit); err != nil {
			return nil, err
		}
		return client.ReadRawBytes(b.First, uint16(2*b.Count), table)
	}}
	return nil
}

// close gives the line back, unless a call that was left still does so.
func (l *line) close() {
	if l.conn.close != nil {
		_ = l.conn.close() // nothing was written that could be lost
	}
	l.conn = conn{}
}

// call runs f, but no longer than the context; then f is left, and shut called once it has ended.
func call[T any](ctx context.Context, l *line, shut func() error, f func() (T, error)) (T, error) {
	type result struct {
		v   T
		err error
	}
	done := make(chan result, 1)
	go func() {
		v, err := f()
		done <- result{v, err}
	}()
	select {
	case r := <-done:
		return r.v, r.err
	case <-ctx.Done():
		left := make(chan struct{})
		l.left, l.conn = left, conn{}
		go func() {
			defer close(left)
			<-done
			_ = shut()
		}()
		var zero T
		return zero, ctx.Err()
	}
}

// client is the configuration of the library's client.
func (c Config) client() *modbus.ClientConfiguration {
	// Without a logger the library writes to standard output; what it has to tell comes back as errors as well.
	out := &modbus.ClientConfiguration{Timeout: c.Timeout, Logger: log.New(io.Discard, "", 0)}
	if c.Port == "" {
		out.URL = "tcp://" + c.Host
		return out
	}
	out.URL = "rtu://" + c.Port
	out.Speed, out.StopBits = uint(c.Baud), uint(c.StopBits) // 0: the library takes 19200, and 1 with and 2 without parity
	switch c.Parity {
	case Odd:
		out.Parity = modbus.PARITY_ODD
	case None:
		out.Parity = modbus.PARITY_NONE
	default:
		out.Parity = modbus.PARITY_EVEN
	}
	return out
}

// hint says what to do about a line that cannot be opened.
func (c Config) hint() string {
	if c.Port != "" {
		return "is the adapter plugged in, and may this user use it? look in /dev/serial/by-id; on Linux: group dialout"
	}
	return "is the device on, on this network, and is its Modbus TCP switched on (port 502 as a rule)?"
}
