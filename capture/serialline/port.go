package serialline

import (
	"errors"
	"fmt"
	"io/fs"
	"runtime"
	"time"
)

// pollEvery is how long one read waits for a byte; a cancelled context is noticed within it. Own choice: not felt
// by a person, and ten wake-ups a second cost a small box nothing.
const pollEvery = 100 * time.Millisecond

// What opening and reading can say, whatever the platform.
var (
	errQuiet   = errors.New("no byte came")         // a read waited its time; no failure
	errGone    = errors.New("the device went away") // while the port was open
	errNoPort  = errors.New("not a serial port")
	errBusy    = errors.New("the port is in use")
	errNoSpeed = errors.New("the port does not know this rate")
)

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
	if err == nil {
		err = errQuiet
	}
	return 0, err
}

// Close gives the port back. It must not run during a Read.
func (l listener) Close() error { return l.close() }

// named puts the port's name before an error, and what to do after it.
func named(port string, err error) error {
	hint := "is the adapter plugged in? look in /dev/serial/by-id"
	switch runtime.GOOS {
	case "windows":
		hint = "is the adapter plugged in? look in the device manager under ports"
	case "darwin":
		hint = "is the adapter plugged in? look for /dev/cu.*"
	}
	switch {
	case errors.Is(err, fs.ErrPermission):
		hint = "may this user read it? on Linux: group dialout"
	case errors.Is(err, errNoPort):
		hint = "is this a serial port? look in /dev/serial/by-id"
	case errors.Is(err, errBusy):
		hint = "which other program has it open?"
	case errors.Is(err, errNoSpeed):
		hint = "does the adapter's manual give this baud rate?"
	}
	return fmt.Errorf("serial port %s: %w; %s", port, err, hint)
}
