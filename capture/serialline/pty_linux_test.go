package serialline

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"
	"golang.org/x/term"

	"tundish/capture"
	"tundish/capture/capturetest"
)

// adapter is a pseudo-terminal that stands for a serial adapter, behind a stable path.
type adapter struct {
	path string // a symbolic link, as in /dev/serial/by-id

	mu       sync.Mutex
	pty, tty *os.File
	written  bytes.Buffer // what anybody sent to the adapter; the source must never
	watchers sync.WaitGroup
}

func newAdapter(t testing.TB) *adapter {
	a := &adapter{path: filepath.Join(t.TempDir(), "usb-adapter")}
	a.plug(t)
	t.Cleanup(func() {
		a.mu.Lock()
		plugged := a.pty != nil
		a.mu.Unlock()
		if plugged {
			a.unplug(t)
		}
		if a.written.Len() > 0 {
			t.Errorf("something was written to the port: %q", a.written.Bytes())
		}
	})
	return a
}

// plug opens a new pseudo-terminal and points the path to it. The test keeps the far side open too, so that what
// is fed before the source opens the port is not lost with it.
func (a *adapter) plug(t testing.TB) {
	master, tty, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	p := pollable(t, master)
	// Raw before anything is fed: a cooked terminal echoes, and an echo would look like a write.
	if _, err := term.MakeRaw(int(tty.Fd())); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(tty.Name(), a.path); err != nil {
		t.Fatal(err)
	}
	a.mu.Lock()
	a.pty, a.tty = p, tty
	a.mu.Unlock()
	a.watchers.Go(func() {
		buf := make([]byte, 256)
		for {
			n, err := p.Read(buf)
			a.mu.Lock()
			a.written.Write(buf[:n])
			a.mu.Unlock()
			if err != nil {
				return
			}
		}
	})
}

// pollable replaces a file by one whose Close ends a Read that is under way.
func pollable(t testing.TB, f *os.File) *os.File {
	fd, err := unix.Dup(int(f.Fd()))
	if err != nil {
		t.Fatal(err)
	}
	f.Close()
	if err := unix.SetNonblock(fd, true); err != nil {
		t.Fatal(err)
	}
	return os.NewFile(uintptr(fd), "pty")
}

func (a *adapter) unplug(t testing.TB) {
	a.mu.Lock()
	a.tty.Close()
	a.pty.Close()
	a.pty = nil
	a.mu.Unlock()
	a.watchers.Wait()
	if err := os.Remove(a.path); err != nil {
		t.Error(err)
	}
}

func (a *adapter) feed(t testing.TB, b []byte) {
	a.mu.Lock()
	p := a.pty
	a.mu.Unlock()
	if _, err := p.Write(b); err != nil {
		t.Errorf("feeding: %v", err)
	}
}

// TestConformance runs the suite with what each kind of adapter says: a frame a line, or a level change a line.
func TestConformance(t *testing.T) {
	for kind, line := range map[string]string{"frames": "R%08X\r\n", "level changes": "%d 1\r\n"} {
		t.Run(kind, func(t *testing.T) { conforms(t, line) })
	}
}

func conforms(t *testing.T, line string) {
	capturetest.TestSource(t, func(t *testing.T) capturetest.Rig {
		a := newAdapter(t)
		clock := capture.StartClock()
		return capturetest.Rig{
			Source: New(Config{Port: a.path, Source: "boiler"}, clock), Clock: clock, Name: "boiler", Device: a.path,
			Good: func(i int) []byte { return fmt.Appendf(nil, line, i) },
			Garbage: [][]byte{
				[]byte("\n"), []byte("no frame here\r\n"), []byte("\x00\x01\x02\x03\x04\x11\x13\x1a\x7f\n"),
				append(slices.Repeat([]byte{0xFF, 0x80, '\r'}, 300), '\n'), []byte("800002"), // half a line: after a pause
			},
			Feed: a.feed, Lose: a.unplug, Restore: a.plug, MaxPayload: LineLimit,
		}
	})
}

// TestRealPace runs conversations at the pace of a bus adapter at 9600 Bd: a request and 100 ms later its reply,
// byte by byte every 1.04 ms (10 bits a byte).
func TestRealPace(t *testing.T) {
	a := newAdapter(t)
	clock := capture.StartClock()
	got := make(chan capture.Record, 64)
	stopped := make(chan error, 1)
	ctx, cancel := contextOf(t)
	go func() {
		stopped <- New(Config{Port: a.path, Source: "boiler"}, clock).Capture(ctx, func(r capture.Record) error {
			r.Payload = bytes.Clone(r.Payload)
			got <- r
			return nil
		})
	}()
	byteTime := time.NewTicker(1042 * time.Microsecond)
	defer byteTime.Stop()
	pause := time.NewTicker(100 * time.Millisecond)
	defer pause.Stop()
	for _, line := range []string{"00000200\r\n", "40000200\r\n", "80190000\r\n", "40193D80\r\n"} {
		var sent time.Duration
		for _, b := range []byte(line) {
			<-byteTime.C
			sent = clock.Now()
			a.feed(t, []byte{b})
		}
		r := <-got
		if string(r.Payload) != line {
			t.Fatalf("got %q, want %q", r.Payload, line)
		}
		if late := r.At - sent.Truncate(time.Microsecond); late < 0 || late > time.Second {
			t.Errorf("%q is stamped %v after its last byte was sent", line, late)
		} else {
			t.Logf("stamped %v after its last byte was sent", late)
		}
		<-pause.C
	}
	cancel()
	if err := <-stopped; err != nil {
		t.Error(err)
	}
}

// TestHalfLineKept: what is in hand when the source stops, or when the port is lost, is a record.
func TestHalfLineKept(t *testing.T) {
	for _, c := range []struct {
		name string
		end  func(t *testing.T, a *adapter, cancel func())
		lost bool
	}{
		{"stopped", func(_ *testing.T, _ *adapter, cancel func()) { cancel() }, false},
		{"unplugged", func(t *testing.T, a *adapter, _ func()) { a.unplug(t) }, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := newAdapter(t)
			ctx, cancel := contextOf(t)
			var got []string
			first, done := make(chan struct{}), make(chan error, 1)
			go func() {
				done <- New(Config{Port: a.path}, capture.StartClock()).Capture(ctx, func(r capture.Record) error {
					if got = append(got, string(r.Payload)); len(got) == 1 {
						close(first)
					}
					return nil
				})
			}()
			a.feed(t, []byte("80000200\r\n8000"))
			<-first
			c.end(t, a, cancel)
			err := <-done
			if (err != nil) != c.lost {
				t.Errorf("Capture returned %v", err)
			}
			if c.lost && (!errors.Is(err, errGone) || !strings.Contains(err.Error(), a.path)) {
				t.Errorf("the loss is told as %v", err)
			}
			if want := []string{"80000200\r\n", "8000"}; !slices.Equal(got, want) {
				t.Errorf("got %q, want %q", got, want)
			}
		})
	}
}
