package serialline

import (
	"errors"
	"fmt"
	"runtime"
	"time"

	"go.bug.st/serial"
)

// pollEvery is how long one read waits for a byte; a cancelled context is noticed within it. Own choice: not felt
// by a person, and ten wake-ups a second cost a small box nothing.
const pollEvery = 100 * time.Millisecond

// errQuiet is a read that waited its time and got no byte. The driver says (0, nil) there.
var errQuiet = errors.New("no byte came")

// errGone is a port whose device went away while it was open.
var errGone = errors.New("the device went away")

// listener is all that the rest of the package gets of a port. It holds two bound functions and not the port, so
// that no type assertion leads to its Write.
type listener struct {
	read  func([]byte) (int, error)
	close func() error
}

// Read waits up to pollEvery for bytes. It returns at least one byte or an error: errQuiet where none came.
func (l listener) Read(p []byte) (int, error) {
	n, err := l.read(p)
	if n > 0 { // an error beside bytes comes again at the next read
		return n, nil
	}
	if pe, ok := errors.AsType[*serial.PortError](err); ok && pe.Code() == serial.PortClosed {
		return 0, errGone
	}
	if err == nil {
		err = errQuiet
	}
	return 0, err
}

// Close gives the port back. It must not run during a Read.
func (l listener) Close() error { return l.close() }

// listen opens a port: 8 data bits, no parity, 1 stop bit, no flow control, raw.
func listen(cfg Config) (listener, error) {
	mode := &serial.Mode{
		BaudRate:          cfg.Baud,
		DataBits:          8,
		InitialStatusBits: &serial.ModemOutputBits{DTR: cfg.RaiseLines, RTS: cfg.RaiseLines},
	}
	p, err := serial.Open(cfg.Port, mode)
	if pe, ok := errors.AsType[*serial.PortError](err); ok && pe.Code() == serial.InvalidSerialPort {
		// A port without modem lines (a pseudo-terminal, some gadget drivers) refuses the ioctl: it has none to
		// keep quiet.
		mode.InitialStatusBits = nil
		p, err = serial.Open(cfg.Port, mode)
	}
	if err != nil {
		return listener{}, err
	}
	if err := p.SetReadTimeout(pollEvery); err != nil {
		return listener{}, errors.Join(err, p.Close())
	}
	return listener{read: p.Read, close: p.Close}, nil
}

// named puts the port's name before an error, and what to do after it.
func named(port string, err error) error {
	hint := "is the adapter plugged in? look in /dev/serial/by-id"
	switch runtime.GOOS {
	case "windows":
		hint = "is the adapter plugged in? look in the device manager under ports"
	case "darwin":
		hint = "is the adapter plugged in? look for /dev/cu.*"
	}
	if pe, ok := errors.AsType[*serial.PortError](err); ok {
		switch pe.Code() {
		case serial.PermissionDenied:
			hint = "may this user read it? on Linux: group dialout"
		case serial.InvalidSerialPort:
			hint = "is this a serial port? look in /dev/serial/by-id"
		case serial.PortBusy:
			hint = "which other program has it open?"
		case serial.InvalidSpeed:
			hint = "does the adapter's manual give this baud rate?"
		}
	}
	return fmt.Errorf("serial port %s: %w; %s", port, err, hint)
}
