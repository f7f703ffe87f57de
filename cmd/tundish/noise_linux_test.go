package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"tundish/capture/capfile"
	"tundish/decode"
)

// TestNoise lets a serial line give noise and nothing else, as a wrong rate or a broken adapter does, faster than any
// adapter can: it is kept as it came, in bounded memory, and the probes beside it go on. TUNDISH_NOISE is how many
// megabytes it is; 100 take a minute.
func TestNoise(t *testing.T) {
	size := 3 << 20
	if n, err := strconv.Atoi(os.Getenv("TUNDISH_NOISE")); err == nil && n > 0 {
		size = n << 20
	}
	dir := t.TempDir()
	a := &adapter{t: t, name: filepath.Join(dir, "usb-adapter")}
	a.plugIn()
	root := filepath.Join(dir, "devices")
	for rom, text := range map[string]string{"28-0000a71c01f4": probe25, "28-0000a71c039b": probe10} {
		if err := firstError(os.MkdirAll(filepath.Join(root, rom), 0o755), os.WriteFile(filepath.Join(root, rom, "w1_slave"), []byte(text), 0o644)); err != nil {
			t.Fatal(err)
		}
	}
	job, path := filepath.Join(dir, "job.toml"), filepath.Join(dir, "job.capture")
	if err := os.WriteFile(job, fmt.Appendf(nil, liveSheet, a.name, root), 0o644); err != nil {
		t.Fatal(err)
	}
	peak := recordUntil(t, job, func() {
		until(t, path, 1)
		began := time.Now()
		a.noise(size)
		t.Logf("%d MB of noise in %.1f s", size>>20, time.Since(began).Seconds())
		a.say("\n00000300\r\n40000302\r\n") // the adapter is itself again
		untilSeen(t, path, "boiler/flame")
	})
	a.unplug()
	if a.written.Len() > 0 {
		t.Errorf("the program wrote %q to the port: it must only listen", a.written.Bytes())
	}
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d MB resident at the most; the capture has %.2f bytes for one of noise", peak>>20, float64(info.Size())/float64(size))
	// Three times what recording without noise takes: a busy machine lets more garbage pile up.
	if peak>>20 > 130 && !raceDetector {
		t.Errorf("%d MB were resident for %d MB of noise", peak>>20, size>>20)
	}
	if info.Size() > int64(size)*5/4+1<<20 {
		t.Errorf("the capture has %d bytes for %d of noise", info.Size(), size)
	}
	noiseReadBack(t, path, size)
}

// noiseOf are the bytes of a noise: the same for the same length.
func noiseOf(size int, take func([]byte)) {
	r := rand.NewChaCha8([32]byte{1})
	b := make([]byte, 4096)
	for ; size > 0; size -= len(b) {
		b = b[:min(size, len(b))]
		_, _ = r.Read(b)
		take(b)
	}
}

func (a *adapter) noise(size int) {
	a.t.Helper()
	noiseOf(size, func(b []byte) {
		if _, err := a.master.Write(b); err != nil {
			a.t.Fatal(err)
		}
	})
}

// recordUntil runs the logger as a process of its own while do lasts, and gives its greatest resident memory by then, bytes.
func recordUntil(t *testing.T, job string, do func()) int64 {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.CommandContext(t.Context(), self)
	c.Args = []string{"tundish", "record", job} // as TestMain knows the program from the tests
	var errs bytes.Buffer
	c.Stderr = &errs
	c.Cancel = func() error { return c.Process.Signal(syscall.SIGTERM) }
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- c.Wait() }()
	defer func() {
		_ = c.Process.Signal(syscall.SIGTERM) // a second time does no harm
	}()
	do()
	peak := residentOf(c.Process.Pid)
	if peak == 0 {
		t.Fatal("the system does not tell what memory was used")
	}
	if err := c.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatalf("%v: %s", err, errs.String())
	}
	if err := <-ended; err != nil {
		t.Fatalf("%v: %s", err, errs.String())
	}
	return peak
}

// untilSeen waits for a reading in a capture that is being recorded.
func untilSeen(t *testing.T, path, series string) {
	t.Helper()
	for deadline := time.Now().Add(2 * time.Minute); time.Now().Before(deadline); time.Sleep(500 * time.Millisecond) {
		seen := false
		kept, err := openCapture(path, "")
		if err == nil {
			_, err = kept.scan(t.Context(), capfile.Window{From: time.Now().Add(-time.Minute)}, listener{}, func(r decode.Reading) error {
				seen = seen || r.Series.String() == series
				return nil
			})
			err = firstError(err, kept.close())
		}
		if err != nil {
			t.Fatal(err)
		}
		if seen {
			return
		}
	}
	t.Fatalf("%s was not seen", series)
}

// noiseReadBack holds the capture to what was sent, and the probes to their pace.
func noiseReadBack(t *testing.T, path string, size int) {
	t.Helper()
	if _, err := capfile.Verify(t.Context(), path); err != nil {
		t.Error(err)
	}
	want := sha256.New()
	noiseOf(size, func(b []byte) { want.Write(b) })
	want.Write([]byte("\n00000300\r\n40000302\r\n"))
	got := sha256.New()
	kept, err := openCapture(path, "")
	if err != nil {
		t.Fatal(err)
	}
	defer kept.close()
	var last, gap time.Duration
	for rec, err := range kept.reader.Records(context.Background(), capfile.Window{}) {
		switch {
		case err != nil:
			t.Fatal(err)
		case rec.Source == "boiler":
			got.Write(rec.Payload)
		case rec.Channel == "28-0000a71c01f4" && rec.Note == "":
			if last > 0 {
				gap = max(gap, rec.At-last)
			}
			last = rec.At
		}
	}
	if !bytes.Equal(got.Sum(nil), want.Sum(nil)) {
		t.Error("what is recorded of the bus is not what came")
	}
	t.Logf("the probes were read every second, with %.1f s between two reads at the most", gap.Seconds())
	if last == 0 || gap > 10*time.Second {
		t.Errorf("the probes were not read for %v", gap)
	}
	r, seen, err := kept.analyse(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var told []string
	for _, n := range seen.tally("boiler") {
		told = append(told, fmt.Sprintf("%s: %d", n.Name, n.N))
	}
	t.Logf("of the bus: %s", strings.Join(told, "; "))
	for _, c := range r.Coverage {
		if c.Series.String() == "boiler/flow" {
			t.Error("noise was taken for a flow temperature")
		}
	}
}
