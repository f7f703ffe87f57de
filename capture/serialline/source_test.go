package serialline

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"strings"
	"testing"
	"time"

	"go.bug.st/serial"

	"tundish/capture"
)

func contextOf(t *testing.T) (context.Context, context.CancelFunc) {
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	t.Cleanup(cancel)
	return ctx, cancel
}

// TestNoWayToWrite: what the package keeps of a port can read and close, and no interface in it holds more.
func TestNoWayToWrite(t *testing.T) {
	l := reflect.TypeFor[listener]()
	for i := range l.NumMethod() {
		if m := l.Method(i).Name; m != "Read" && m != "Close" {
			t.Errorf("listener has the method %s", m)
		}
	}
	for i := range l.NumField() {
		if f := l.Field(i); f.Type.Kind() != reflect.Func {
			t.Errorf("listener holds %s of type %s: only bound functions may be held", f.Name, f.Type)
		}
	}
	// And no other file of the package sees the driver at all, so that none can open a port past the listener.
	files, err := filepath.Glob("*.go")
	if err != nil || len(files) == 0 {
		t.Fatal("no files", err)
	}
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		if f != "port.go" && !strings.HasSuffix(f, "_test.go") && strings.Contains(string(text), "go.bug.st/serial") {
			t.Errorf("%s imports the serial driver", f)
		}
		if !strings.HasSuffix(f, "_test.go") && strings.Contains(string(text), ".Write(") {
			t.Errorf("%s writes", f)
		}
	}
}

func TestListenerNamesTimeouts(t *testing.T) {
	broken, busy := errors.New("input/output error"), &serial.PortError{} // the zero code is PortBusy
	for _, c := range []struct {
		name string
		n    int
		err  error
		want error
	}{
		{"nothing in time", 0, nil, errQuiet},
		{"another error of the driver", 0, busy, busy},
		{"broken", 0, broken, broken},
		{"bytes", 3, nil, nil},
		{"bytes with an error", 3, broken, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := listener{read: func([]byte) (int, error) { return c.n, c.err }}
			n, err := l.Read(make([]byte, 8))
			if n != c.n || (c.want != nil && !errors.Is(err, c.want)) || (n > 0) == (err != nil) {
				t.Errorf("Read gave %d, %v", n, err)
			}
		})
	}
}

func TestErrorsSayWhatToDo(t *testing.T) {
	missing := filepath.Join(t.TempDir(), "usb-adapter")
	plain := filepath.Join(t.TempDir(), "file.txt")
	if err := os.WriteFile(plain, []byte("80000200\r\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		cfg  Config
		want []string
	}{
		{"missing", Config{Port: missing}, []string{missing, "is the adapter plugged in?"}},
		{"not a port", Config{Port: plain}, []string{plain}},
		{"impossible rate", Config{Port: missing, Baud: -1}, []string{missing, "-1 baud"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			err := New(c.cfg, capture.StartClock()).Capture(t.Context(), func(capture.Record) error { return nil })
			if err == nil {
				t.Fatal("no error")
			}
			for _, w := range c.want {
				if !strings.Contains(err.Error(), w) {
					t.Errorf("%q does not say %q", err, w)
				}
			}
			if c.name == "missing" && runtime.GOOS == "linux" && !errors.Is(err, os.ErrNotExist) {
				t.Errorf("the cause is not kept: %v", err)
			}
			t.Log(err)
		})
	}
}
