package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"
	"golang.org/x/term"

	"tundish/analyse"
	"tundish/capture/capfile"
	"tundish/cmd/tundish/jobsheet"
)

// adapter is a serial adapter that a test plays: a pseudo-terminal behind a stable name.
type adapter struct {
	t        *testing.T
	name     string
	master   *os.File
	tty      *os.File // kept open, so that what is said before the program listens is not lost
	watchers sync.WaitGroup
	heard    sync.Mutex
	written  bytes.Buffer // what the program wrote to the port
}

func (a *adapter) plugIn() {
	a.t.Helper()
	master, tty, err := pty.Open()
	if err != nil {
		a.t.Fatal(err)
	}
	// Raw at once: a cooked terminal echoes, and an echo would look like a write.
	if _, err := term.MakeRaw(int(tty.Fd())); err != nil {
		a.t.Fatal(err)
	}
	// A file whose Close ends the Read that is under way.
	fd, err := unix.Dup(int(master.Fd()))
	if err == nil {
		err = errors.Join(master.Close(), unix.SetNonblock(fd, true), os.Symlink(tty.Name(), a.name))
	}
	if err != nil {
		a.t.Fatal(err)
	}
	a.master, a.tty = os.NewFile(uintptr(fd), "adapter"), tty
	a.watchers.Go(func() {
		b := make([]byte, 256)
		for {
			n, err := a.master.Read(b)
			a.heard.Lock()
			a.written.Write(b[:n])
			a.heard.Unlock()
			if err != nil {
				return
			}
		}
	})
}

func (a *adapter) unplug() {
	a.t.Helper()
	if err := errors.Join(os.Remove(a.name), a.tty.Close(), a.master.Close()); err != nil {
		a.t.Fatal(err)
	}
	a.watchers.Wait()
}

// say writes text as an adapter at 9600 Bd gives it: about a byte a millisecond.
func (a *adapter) say(text string) {
	a.t.Helper()
	for len(text) > 0 {
		n := min(len(text), 8)
		if _, err := a.master.WriteString(text[:n]); err != nil {
			a.t.Fatal(err)
		}
		text = text[n:]
		time.Sleep(8 * time.Millisecond)
	}
}

const liveSheet = `[job]
name = "Bench"
timezone = "Europe/London"
[[source]]
name = "boiler"
kind = "opentherm"
port = %q
[[source]]
name = "probes"
kind = "one-wire"
root = %q
points = { "28-0000a71c01f4" = "flow", "28-0000a71c039b" = "return" }
`

// TestRecordRealPorts runs the logger on a real serial port and on the kernel's 1-Wire layout, with noise, half
// lines, an adapter that is unplugged and put back, and a probe that goes away; then the record is read back.
func TestRecordRealPorts(t *testing.T) {
	dir := t.TempDir()
	a := &adapter{t: t, name: filepath.Join(dir, "usb-adapter")}
	a.plugIn()
	root := filepath.Join(dir, "devices")
	probe := func(rom, text string) {
		if err := os.MkdirAll(filepath.Join(root, rom), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(root, rom, "w1_slave"), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	probe("28-0000a71c01f4", probe25)
	probe("28-0000a71c039b", probe10)
	job := filepath.Join(dir, "job.toml")
	if err := os.WriteFile(job, fmt.Appendf(nil, liveSheet, a.name, root), 0o644); err != nil {
		t.Fatal(err)
	}

	ctx, stop := context.WithCancel(t.Context())
	var errs bytes.Buffer
	status := make(chan int)
	go func() { status <- run(ctx, []string{"record", job}, strings.NewReader(""), io.Discard, &errs) }()
	path := filepath.Join(dir, "job.capture")
	said := []string{"00000300\r\n", "C000030A\r\n", "80190000\r\n", "40193D80\r\n", "\x00\xff\x80noise\r\n", "C0193D80\r\n"}
	until(t, path, 1)
	a.say(strings.Join(said, ""))
	until(t, path, 6)
	a.unplug()
	if err := os.RemoveAll(filepath.Join(root, "28-0000a71c039b")); err != nil {
		t.Fatal(err)
	}
	time.Sleep(1200 * time.Millisecond) // longer than the first back-off
	a.plugIn()
	time.Sleep(2500 * time.Millisecond) // the second back-off is 2 s
	again := []string{"00000300\r\n", "40000302\r\n", "8019"}
	a.say(strings.Join(again, ""))
	time.Sleep(2500 * time.Millisecond) // half a line is waited for for 2 s
	stop()
	if got := <-status; got != exitDone {
		t.Fatalf("exit status %d: %s", got, errs.String())
	}
	if _, err := capfile.Verify(t.Context(), path); err != nil {
		t.Error(err)
	}
	a.unplug()
	if a.written.Len() > 0 {
		t.Errorf("the program wrote %q to the port: it must only listen", a.written.Bytes())
	}
	readBack(t, path, append(said, again...))
}

// until waits for records in a capture that is being recorded.
func until(t *testing.T, path string, records uint64) {
	t.Helper()
	for deadline := time.Now().Add(30 * time.Second); time.Now().Before(deadline); time.Sleep(50 * time.Millisecond) {
		if r, err := capfile.Open(path); err == nil {
			have := r.Head().Records
			if err := r.Close(); err != nil {
				t.Fatal(err)
			}
			if have >= records {
				return
			}
		}
	}
	t.Fatalf("%s did not come to %d records", path, records)
}

func readBack(t *testing.T, path string, said []string) {
	t.Helper()
	kept, err := openCapture(path, "")
	if err != nil {
		t.Fatal(err)
	}
	defer kept.close()
	var bus strings.Builder
	var notes []string
	probes := map[string]int{}
	for rec, err := range kept.reader.Records(t.Context(), capfile.Window{}) {
		switch {
		case err != nil:
			t.Fatal(err)
		case rec.Note != "":
			notes = append(notes, rec.Source+": "+rec.Note)
		case rec.Source == "boiler":
			bus.Write(rec.Payload)
		default:
			probes[rec.Channel]++
		}
	}
	if want := strings.Join(said, ""); bus.String() != want {
		t.Errorf("the bus said %q, recorded is %q", want, bus.String())
	}
	all := strings.Join(notes, "\n")
	for _, want := range []string{"boiler: lost", "boiler: back after", "probes: probe gone"} {
		if !strings.Contains(all, want) {
			t.Errorf("notes are\n%s\nwithout %q", all, want)
		}
	}
	if probes["28-0000a71c01f4"] < 5 || probes["28-0000a71c039b"] < 1 {
		t.Errorf("probe records are %v", probes)
	}
	r, _, err := kept.analyse(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	values := map[string]analyse.Coverage{}
	for _, c := range r.Coverage {
		values[c.Series.String()] = c
	}
	for series, want := range map[string]float64{"boiler/flow": 61.5, "probes/flow": 25.0625, "probes/return": 10.125, "boiler/flame": 1} {
		if values[series].Max != want {
			t.Errorf("%s went up to %v, want %v", series, values[series].Max, want)
		}
	}
}

// TestRecordOnTerminal runs the logger on a terminal: the page is shown, and the last word stands on a line of its
// own behind the "^C".
func TestRecordOnTerminal(t *testing.T) {
	master, tty, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	defer master.Close()
	job := filepath.Join(t.TempDir(), "job.toml")
	sheet := "[job]\nname = \"x\"\n[[source]]\nname = \"boiler\"\nkind = \"simulated\"\nscenario = \"sound\"\npart = \"bus\"\n"
	if err := os.WriteFile(job, []byte(sheet), 0o644); err != nil {
		t.Fatal(err)
	}
	var shown bytes.Buffer
	drawn, all := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(all)
		b := make([]byte, 4096)
		for first := true; ; {
			n, err := master.Read(b)
			shown.Write(b[:n])
			if first && bytes.Contains(shown.Bytes(), []byte("boiler: ")) {
				first = false
				close(drawn)
			}
			if err != nil {
				return
			}
		}
	}()
	ctx, stop := context.WithCancel(t.Context())
	status := make(chan int)
	go func() { status <- run(ctx, []string{"record", job}, strings.NewReader(""), tty, tty) }()
	<-drawn
	if _, err := tty.WriteString("^C"); err != nil { // as the terminal echoes it
		t.Fatal(err)
	}
	stop()
	if got := <-status; got != exitDone {
		t.Errorf("exit status %d", got)
	}
	if err := tty.Close(); err != nil {
		t.Fatal(err)
	}
	<-all
	lines := strings.Split(strings.TrimSpace(shown.String()), "\n")
	if last := strings.TrimSpace(lines[len(lines)-1]); !strings.HasPrefix(last, strings.TrimSuffix(job, ".toml")+".capture: ") {
		t.Errorf("the terminal ends with %q", lines[max(0, len(lines)-3):])
	}
}

// TestImportLetsGo: a file whose run cannot be begun is closed.
func TestImportLetsGo(t *testing.T) {
	dir := t.TempDir()
	log := filepath.Join(dir, "bus.log")
	if err := os.WriteFile(log, []byte("2026-01-12T06:00:00Z 00000300\n2026-01-12T06:00:01Z C0000300\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	sheet, err := jobsheet.Parse("job.toml", []byte("[job]\nname = \"x\"\n[[source]]\nname = \"boiler\"\nkind = \"opentherm\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	w, err := capfile.Create(filepath.Join(dir, "job.capture"), capfile.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	f := inputFile{path: log, source: &sheet.Sources[0]}
	if _, err := openRun(t.Context(), w, sheet, &f, true); !errors.Is(err, capfile.ErrClosed) {
		t.Errorf("error is %v", err)
	}
	open, err := filepath.Glob("/proc/self/fd/*")
	if err != nil {
		t.Fatal(err)
	}
	for _, fd := range open {
		if to, _ := os.Readlink(fd); to == log {
			t.Errorf("%s is still open", log)
		}
	}
}
