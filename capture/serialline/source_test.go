package serialline

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"tundish/capture"
)

func contextOf(t *testing.T) (context.Context, context.CancelFunc) {
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	t.Cleanup(cancel)
	return ctx, cancel
}

func TestListenerNamesTimeouts(t *testing.T) {
	broken := errors.New("input/output error")
	for _, c := range []struct {
		name string
		n    int
		err  error
		want error
	}{
		{"nothing in time", 0, nil, errQuiet},
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
		{"unusual rate", Config{Port: missing, Baud: 12345}, []string{missing}},
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
