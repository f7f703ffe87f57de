package modbus

import (
	"context"
	"errors"
	"fmt"
	"time"
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
// A client knows no contexts. A call that is still under way when the context ends is left to end by itself, which
// it does within its time-out, and its port is then closed; the next open waits for that, so that two never share a
// port.
type line struct {
	cfg  Config
	conn conn
	left chan struct{} // closed when a call that was left has ended; nil: none was
	rest time.Time     // not to be opened before
}

// conn holds all that the line keeps of a client: bound functions and not the client, so that no type assertion leads to
// what it can write. The zero conn is closed.
type conn struct {
	read  func(unit uint8, b Block) (registers, got []byte, err error)
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
// closed again. A *lostError says that it could not be opened. got is what came where it cannot be used.
func (l *line) read(ctx context.Context, unit uint8, b Block) (registers, got []byte, err error) {
	if l.conn.read == nil {
		if err := l.open(ctx); err != nil {
			return nil, nil, err
		}
	}
	type answer struct{ registers, got []byte }
	c := l.conn
	a, err := call(ctx, l, func(answer) { _ = c.close() }, func() (a answer, err error) {
		a.registers, a.got, err = c.read(unit, b)
		return a, err
	})
	if _, refused := errors.AsType[exception](err); ctx.Err() == nil && err != nil && !refused {
		l.close()
		if l.cfg.Port != "" {
			l.rest = time.Now().Add(l.cfg.Timeout)
		}
	}
	return a.registers, a.got, err
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
	c, err := call(ctx, l, func(c *client) {
		if c != nil {
			_ = c.Close()
		}
	}, l.cfg.dial)
	if err != nil {
		if ctx.Err() != nil {
			return err
		}
		return &lostError{l.cfg.device(), l.cfg.hint(), err}
	}
	l.conn = conn{close: c.Close, read: c.read}
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
func call[T any](ctx context.Context, l *line, shut func(T), f func() (T, error)) (T, error) {
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
			shut((<-done).v)
		}()
		var zero T
		return zero, ctx.Err()
	}
}

// hint says what to do about a line that cannot be opened.
func (c Config) hint() string {
	if c.Port != "" {
		return "is the adapter plugged in, and may this user use it? look in /dev/serial/by-id; on Linux: group dialout"
	}
	return "is the device on, on this network, and is its Modbus TCP switched on (port 502 as a rule)?"
}
