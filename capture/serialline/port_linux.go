package serialline

import (
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"golang.org/x/sys/unix"
)

// listen opens a port: 8 data bits, no parity, 1 stop bit, no flow control, raw. The descriptor is for reading only, so
// that the kernel itself refuses a write (EBADF), whatever this program or a library in it should ever try. The serial
// library in use elsewhere opens for reading and writing and cannot be told otherwise; that is why it is not used here.
func listen(cfg Config) (listener, error) {
	speed, ok := speeds[cfg.Baud]
	if !ok {
		return listener{}, errNoSpeed
	}
	// Without waiting for a carrier, without making the port this program's terminal.
	fd, err := unix.Open(cfg.Port, unix.O_RDONLY|unix.O_NOCTTY|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	if errors.Is(err, unix.EBUSY) {
		return listener{}, errBusy
	}
	if err != nil {
		return listener{}, err
	}
	if err := setUp(fd, speed, cfg.RaiseLines); err != nil {
		return listener{}, errors.Join(err, unix.Close(fd))
	}
	f := os.NewFile(uintptr(fd), cfg.Port)
	return listener{read: func(b []byte) (int, error) { return read(f, b) }, close: f.Close}, nil
}

// setUp makes a port raw before anything else: until then the kernel could echo to the adapter what the adapter says.
func setUp(fd int, speed uint32, raise bool) error {
	t, err := unix.IoctlGetTermios(fd, unix.TCGETS)
	if err != nil {
		return fmt.Errorf("%w (%w)", errNoPort, err)
	}
	quiet(t, speed)
	if err := unix.IoctlSetTermios(fd, unix.TCSETS, t); err != nil {
		return fmt.Errorf("%w (%w)", errNoSpeed, err)
	}
	modem := uint(unix.TIOCMBIC)
	if raise {
		modem = unix.TIOCMBIS
	}
	// A port without modem lines (a pseudo-terminal, some gadget drivers) refuses: it has none to keep quiet.
	_ = unix.IoctlSetPointerInt(fd, modem, unix.TIOCM_DTR|unix.TIOCM_RTS)
	if err := unix.IoctlSetInt(fd, unix.TIOCEXCL, 0); err != nil { // nobody else may open it and take bytes away
		return err
	}
	return nil
}

// quiet sets all in which a terminal answers by itself to off: echo, what ^C and ^Z do, and the XON and XOFF bytes that
// a full input buffer would send.
func quiet(t *unix.Termios, speed uint32) {
	t.Iflag, t.Oflag, t.Lflag = 0, 0, 0
	// HUPCL, whether the kernel lowers DTR and RTS when the port is closed, is left as whoever set up the machine has it.
	t.Cflag = t.Cflag&unix.HUPCL | unix.CS8 | unix.CREAD | unix.CLOCAL | speed
	t.Ispeed, t.Ospeed = speed, speed
	t.Cc[unix.VMIN], t.Cc[unix.VTIME] = 1, 0
}

// read reads as [listener] wants it.
func read(f *os.File, b []byte) (int, error) {
	if err := f.SetReadDeadline(time.Now().Add(pollEvery)); err != nil {
		return 0, err
	}
	n, err := f.Read(b)
	switch {
	case n > 0:
		return n, nil
	case errors.Is(err, os.ErrDeadlineExceeded):
		return 0, errQuiet
	case errors.Is(err, io.EOF), errors.Is(err, unix.EIO): // a hung-up terminal
		return 0, errGone
	}
	return 0, err
}

// speeds are the rates that Linux has a constant for, of those that adapters use.
var speeds = map[int]uint32{
	300: unix.B300, 600: unix.B600, 1200: unix.B1200, 2400: unix.B2400, 4800: unix.B4800, 9600: unix.B9600,
	19200: unix.B19200, 38400: unix.B38400, 57600: unix.B57600, 115200: unix.B115200, 230400: unix.B230400,
	460800: unix.B460800, 500000: unix.B500000, 576000: unix.B576000, 921600: unix.B921600, 1000000: unix.B1000000,
	1152000: unix.B1152000, 1500000: unix.B1500000, 2000000: unix.B2000000,
}
