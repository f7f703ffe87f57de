package serialline

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"tundish/capture"
)

// TestNotOneByte goes through all that a port can meet, beginning with a terminal that echoes and answers as the kernel
// makes them, and ending after the close: the adapter never gets a byte. What it says is of both kinds, frames in text
// and level changes.
func TestNotOneByte(t *testing.T) {
	for kind, lines := range map[string][]string{
		"opentherm":       {"80190000\r\n", "40193D80\r\n"},
		"opentherm-edges": {"100000 1\r\n", "512 0\r\n"},
	} {
		t.Run(kind, func(t *testing.T) {
			a := newAdapter(t)
			for range 2 { // lost, and back
				a.cook(t)
				ctx, cancel := contextOf(t)
				records, done := make(chan string, 1<<16), make(chan error, 1)
				go func() {
					done <- New(Config{Port: a.path, Baud: 115200, Source: "boiler"}, capture.StartClock()).Capture(ctx, func(r capture.Record) error {
						records <- string(r.Payload)
						return nil
					})
				}()
				a.awaitQuiet(t)
				// Lines; what a terminal takes for signals, flow control, end of file, line editing; noise; more than its
				// buffer holds.
				a.feed(t, []byte(strings.Join(lines, "")))
				a.feed(t, []byte("\x03\x04\x11\x13\x15\x16\x17\x1a\x1c\x7f\x05\x1b[c\n"))
				a.feed(t, append(slices.Repeat([]byte{0xFF, 0, 0x80, '\r'}, 5000), '\n'))
				a.feed(t, []byte("end\n"))
				for r := range records {
					if r == "end\n" {
						break
					}
				}
				readOnly(t, a)
				cancel()
				if err := <-done; err != nil {
					t.Error(err)
				}
				a.feed(t, []byte("after the close\n"))
				a.unplug(t)
				if err := New(Config{Port: a.path}, capture.StartClock()).Capture(t.Context(), func(capture.Record) error { return nil }); err == nil {
					t.Error("no error of a lost port")
				}
				a.plug(t)
			}
		}) // the adapter's own cleanup fails the test if anything was written
	}
}

// cook makes the terminal one that echoes and edits, as the kernel makes them.
func (a *adapter) cook(t *testing.T) {
	s, err := unix.IoctlGetTermios(int(a.tty.Fd()), unix.TCGETS)
	if err != nil {
		t.Fatal(err)
	}
	s.Iflag |= unix.ICRNL | unix.IXON | unix.IXOFF
	s.Oflag |= unix.OPOST | unix.ONLCR
	s.Lflag |= unix.ISIG | unix.ICANON | unix.ECHO | unix.ECHOE | unix.ECHOK | unix.ECHOCTL | unix.ECHOKE | unix.IEXTEN
	if err := unix.IoctlSetTermios(int(a.tty.Fd()), unix.TCSETS, s); err != nil {
		t.Fatal(err)
	}
}

// awaitQuiet waits until the source has set up the port, and checks how.
func (a *adapter) awaitQuiet(t *testing.T) {
	for deadline := time.Now().Add(20 * time.Second); ; time.Sleep(time.Millisecond) {
		s, err := unix.IoctlGetTermios(int(a.tty.Fd()), unix.TCGETS)
		if err != nil {
			t.Fatal(err)
		}
		if s.Lflag&unix.ECHO == 0 {
			if s.Lflag != 0 || s.Iflag != 0 || s.Oflag != 0 || s.Cflag&unix.CRTSCTS != 0 || s.Cflag&unix.CSIZE != unix.CS8 || s.Cflag&unix.CBAUD != unix.B115200 {
				t.Errorf("the port is set to %+v", s)
			}
			return
		}
		if time.Now().After(deadline) {
			t.Fatal("the port was never set up")
		}
	}
}

// readOnly: of the descriptors to the terminal, the test's own apart, there is one, and the kernel refuses to write to it.
func readOnly(t *testing.T, a *adapter) {
	open, err := os.ReadDir("/proc/self/fd")
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, e := range open {
		var fd int
		if _, err := fmt.Sscan(e.Name(), &fd); err != nil || fd == int(a.tty.Fd()) {
			continue
		}
		if to, _ := os.Readlink("/proc/self/fd/" + e.Name()); to != a.tty.Name() {
			continue
		}
		found++
		flags, err := unix.FcntlInt(uintptr(fd), unix.F_GETFL, 0)
		if err != nil || flags&unix.O_ACCMODE != unix.O_RDONLY {
			t.Errorf("the port is open with flags %#o, %v", flags, err)
		}
		if n, err := unix.Write(fd, []byte("x")); !errors.Is(err, unix.EBADF) {
			t.Errorf("a write gave %d, %v", n, err)
		}
	}
	if found != 1 {
		t.Errorf("%d descriptors to the port", found)
	}
}
