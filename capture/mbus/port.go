package mbus

import (
	"errors"
	"fmt"
	"time"

	"go.bug.st/serial"
)

// pollEvery is the longest that one read waits; a cancelled context and a lost port are noticed within it. Own choice.
const pollEvery = 100 * time.Millisecond

var (
	errGone  = errors.New("the device went away")
	errQuiet = errors.New("no byte came") // the driver says (0, nil)
)

// line is all that the rest of the package gets of a port: bound functions, not the port, so that nothing but a request
// can be sent.
type line struct {
	read  func([]byte) (int, error)
	wait  func(time.Duration) error // for the next reads
	write func([]byte) (int, error)
	close func() error
}

// open opens the port: 8 data bits, even parity, 1 stop bit (MB 5.1). DTR and RTS stay up, as the driver raises them:
// small level converters are fed from them.
func open(cfg Config) (*line, error) {
	p, err := serial.Open(cfg.Port, &serial.Mode{BaudRate: cfg.Baud, DataBits: 8, Parity: serial.EvenParity, StopBits: serial.OneStopBit})
	if err != nil {
		return nil, err
	}
	return &line{read: p.Read, wait: p.SetReadTimeout, write: p.Write, close: p.Close}, nil
}

// send puts a request on the line.
func (l *line) send(r request) error {
	_, err := l.write(r.bytes())
	return gone(err)
}

// receive waits up to d, and no longer than pollEvery, for bytes: at least one, or an error, errQuiet where none came.
func (l *line) receive(p []byte, d time.Duration) (int, error) {
	if err := l.wait(max(time.Millisecond, min(d, pollEvery))); err != nil {
		return 0, gone(err)
	}
	n, err := l.read(p)
	switch {
	case n > 0: // an error beside bytes comes again
		return n, nil
	case err == nil:
		return 0, errQuiet
	}
	return 0, gone(err)
}

func gone(err error) error {
	if pe, ok := errors.AsType[*serial.PortError](err); ok && pe.Code() == serial.PortClosed {
		return errGone
	}
	return err
}

// named puts the port's name before an error, and what to do after it.
func named(port string, err error) error {
	hint := "is the level converter plugged in? look in /dev/serial/by-id"
	if pe, ok := errors.AsType[*serial.PortError](err); ok {
		switch pe.Code() {
		case serial.PermissionDenied:
			hint = "may this user use it? on Linux: group dialout"
		case serial.InvalidSerialPort:
			hint = "is this a serial port? look in /dev/serial/by-id"
		case serial.PortBusy:
			hint = "which other program has it open?"
		case serial.InvalidSpeed:
			hint = "does the converter's manual give this baud rate?"
		}
	}
	return fmt.Errorf("m-bus port %s: %w; %s", port, err, hint)
}
