package main

import (
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"tundish/capture/capfile"
)

// said is what a command wrote, to be looked at while it runs.
type said struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *said) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

func (s *said) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}

// A recording says once whether the set-up is fit, can be asked while it runs, and closes its capture cleanly: every
// record is there, and the proof holds.
func TestRecordChecksOnce(t *testing.T) {
	job := filepath.Join(t.TempDir(), "job.toml")
	sheet := "[job]\nname = \"x\"\ntimezone = \"Europe/London\"\n[[source]]\nname = \"boiler\"\nkind = \"simulated\"\nscenario = \"sound\"\npart = \"bus\"\n"
	if err := os.WriteFile(job, []byte(sheet), 0o644); err != nil {
		t.Fatal(err)
	}
	path := capturePath(job)
	record := func(after string, until func(errs *said)) string {
		ctx, stop := context.WithCancel(t.Context())
		var errs said
		status := make(chan int)
		go func() {
			status <- run(ctx, []string{"record", job, "--check-after", after}, strings.NewReader(""), io.Discard, &errs)
		}()
		until(&errs)
		stop()
		if got := <-status; got != exitDone {
			t.Fatalf("exit status %d: %s", got, errs.String())
		}
		return errs.String()
	}
	const hint = "says it again at any time"
	all := record("6s", func(errs *said) {
		for deadline := time.Now().Add(30 * time.Second); !strings.Contains(errs.String(), hint); time.Sleep(20 * time.Millisecond) {
			if time.Now().After(deadline) {
				t.Fatalf("nothing was said: %s", errs.String())
			}
		}
		if out, _ := runs(t, exitDone, "check", path); !strings.Contains(out, "how long the room lasts is known after 1 h") {
			t.Errorf("asked while it records, it says\n%s", out)
		}
	})
	if strings.Contains(all, "nothing came from it") { // commits are 5 s apart
		t.Errorf("the check saw no record:\n%s", all)
	}
	for _, want := range []string{"DO NOW", "tundish check " + path, "CHECKS: "} {
		if n := strings.Count(all, want); n == 0 || n > 1 && want == "DO NOW" {
			t.Errorf("%q is said %d times in\n%s", want, n, all)
		}
	}
	if strings.Contains(all, "could not be checked") {
		t.Error(all)
	}
	// A second run, in which it is not wanted; one that is stopped before its time says nothing either.
	for _, after := range []string{"0s", "1h"} {
		if again := record(after, func(*said) { time.Sleep(300 * time.Millisecond) }); strings.Contains(again, "DO NOW") {
			t.Errorf("--check-after %s: said\n%s", after, again)
		}
	}
	proof, err := capfile.Verify(t.Context(), path)
	if err != nil || !proof.Closed {
		t.Errorf("the capture is not sound: %+v, %v", proof, err)
	}
}

// The summary of a later run tells of that run alone.
func TestFirstCheckOfOneRun(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.capture")
	addRun(t, path, probeSheet("flow"), firstRun, 3)
	addRun(t, path, probeSheet("return"), firstRun.Add(30*24*time.Hour), 3)
	var out bytes.Buffer
	f := firstCheck{path: path, run: 2, to: &screen{w: &out}}
	if err := f.tell(t.Context()); err != nil {
		t.Fatal(err)
	}
	if flat := strings.Join(strings.Fields(out.String()), " "); !strings.Contains(flat, "Wed 11 Feb 2026 06:00 – Wed 11 Feb 2026 07:00, 60 min") && !strings.Contains(flat, "Wed 11 Feb 2026 06:00 – Wed 11 Feb 2026 07:00, 1 h") {
		t.Errorf("it tells of\n%s", out.String())
	}
	if err := (firstCheck{path: path, run: 7, to: &screen{w: &out}}).tell(t.Context()); err == nil {
		t.Error("a run that is not there was checked")
	}
}
