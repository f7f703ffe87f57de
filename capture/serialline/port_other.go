//go:build !linux

package serialline

import (
	"errors"
	"fmt"
	"io/fs"

	"go.bug.st/serial"
)

// listen opens a port: 8 data bits, no parity, 1 stop bit, no flow control, raw. The driver opens it for reading and
// writing, as these platforms leave it no choice or it takes none; nothing here writes.
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
		return listener{}, plain(err)
	}
	if err := p.SetReadTimeout(pollEvery); err != nil {
		return listener{}, errors.Join(err, p.Close())
	}
	read := func(b []byte) (int, error) {
		n, err := p.Read(b) // (0, nil) where none came in time
		return n, plain(err)
	}
	return listener{read: read, close: p.Close}, nil
}

// plain puts what the driver says beside the words that all platforms share.
func plain(err error) error {
	pe, ok := errors.AsType[*serial.PortError](err)
	if !ok {
		return err
	}
	switch pe.Code() {
	case serial.PortClosed:
		return errGone
	case serial.PermissionDenied:
		return fmt.Errorf("%w (%w)", err, fs.ErrPermission)
	case serial.InvalidSerialPort:
		return fmt.Errorf("%w (%w)", errNoPort, err)
	case serial.PortBusy:
		return errBusy
	case serial.InvalidSpeed:
		return errNoSpeed
	}
	return err
}
