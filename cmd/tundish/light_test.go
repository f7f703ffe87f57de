package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
)

const lightJob = `
[job]
name = "A boiler with nothing but a light"
timezone = "UTC"

[plant]
ignition_attempts = 3

[light]
off    = { words = "no supply", means = "no-mains" }
steady = { words = "burner on", means = "flame" }
rapid  = "a reset is taken"
1      = "ready"
2      = { words = "tries again to light", means = "retry" }
4      = { words = "no flame after all attempts", means = "lockout", cause = "ignition" }

[[source]]
name = "lamp"
kind = "readings"
`

// lamplog writes what a light shows as a file of readings: each change, and the level every five seconds.
type lamplog struct {
	b bytes.Buffer
	t time.Time
}

func (l *lamplog) show(on bool, d time.Duration) {
	v := 0
	if on {
		v = 1
	}
	for at := l.t; at.Before(l.t.Add(d)); at = at.Add(5 * time.Second) {
		fmt.Fprintf(&l.b, "%s,%d\n", at.Format(time.RFC3339Nano), v)
	}
	l.t = l.t.Add(d)
}

// flash shows groups of flashes for some time.
func (l *lamplog) flash(n int, d time.Duration) {
	const on, off, pause = 400 * time.Millisecond, 400 * time.Millisecond, 2400 * time.Millisecond
	for end := l.t.Add(d); l.t.Before(end); {
		for i := range n {
			l.show(true, on)
			if i < n-1 {
				l.show(false, off)
			}
		}
		l.show(false, pause)
	}
}

// rapid shows that a reset is taken.
func (l *lamplog) rapid(d time.Duration) {
	for end := l.t.Add(d); l.t.Before(end); {
		l.show(true, 100*time.Millisecond)
		l.show(false, 100*time.Millisecond)
	}
}

// A boiler that has nothing but an indicator light gets its lockouts found, timed and put down to their cause, and the
// attempts that failed before one that lit counted.
func TestALightAlone(t *testing.T) {
	folder := t.TempDir()
	job, csv, path := filepath.Join(folder, "job.toml"), filepath.Join(folder, "lamp.csv"), filepath.Join(folder, "lamp.capture")
	l := &lamplog{t: time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)}
	l.b.WriteString("time,light\n")
	var onsets, ends []time.Time
	for range 3 { // three hours each
		l.flash(1, 40*time.Minute)
		l.flash(2, 20*time.Second) // twice it tries again, then burns
		l.show(true, 8*time.Second)
		l.show(false, 3*time.Second)
		l.flash(2, 20*time.Second)
		l.show(true, 30*time.Minute)
		l.show(false, 2400*time.Millisecond)
		l.flash(1, 20*time.Minute)
		onsets = append(onsets, l.t)
		l.flash(4, 85*time.Minute)
		ends = append(ends, l.t)
		l.rapid(4 * time.Second)
		l.show(true, 10*time.Minute)
		l.show(false, 2400*time.Millisecond)
	}
	l.flash(1, time.Hour)
	for name, text := range map[string][]byte{job: []byte(lightJob), csv: l.b.Bytes()} {
		if err := os.WriteFile(name, text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	var out, errs bytes.Buffer
	if code := run(t.Context(), []string{"import", job, "-o", path, "lamp=" + csv}, nil, &out, &errs); code != exitDone {
		t.Fatalf("import: %d %s", code, errs.String())
	}
	c, err := openCapture(path, "")
	if err != nil {
		t.Fatal(err)
	}
	defer c.close()
	r, _, err := c.analyse(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	found := r.Facts.Lockouts
	if len(found) != len(onsets) {
		t.Fatalf("%d lockouts, want %d: %+v", len(found), len(onsets), found)
	}
	for i, x := range found {
		// A sign is sure once its pause has come; the time told is that of its first flash. Steady is told by its own.
		if d := x.From.Sub(onsets[i]); d.Abs() > time.Second {
			t.Errorf("lockout %d: onset %s late", i, d)
		}
		if d := x.To.Sub(ends[i]); d.Abs() > 5*time.Second {
			t.Errorf("lockout %d: end %s late", i, d)
		}
		if !x.Locked || x.Cause != episode.CauseIgnition || x.Sign != 4 {
			t.Errorf("lockout %d: locked %t, cause %q, sign %d", i, x.Locked, x.Cause, x.Sign)
		}
	}
	outcome := func(kind string) string {
		for _, x := range r.Checked {
			if x.Kind == kind {
				return string(x.Outcome)
			}
		}
		return ""
	}
	if got := outcome("lockout"); got != string(analyse.Found) {
		t.Errorf("lockout is %s", got)
	}
	if got := outcome("ignition-retries"); got != string(analyse.Found) {
		t.Errorf("ignition-retries is %s", got)
	}
	for _, f := range r.Findings {
		if f.Kind == "lockout" && !strings.Contains(f.Evidence[0].Note, "4 flashes, by the job sheet “no flame after all attempts”") {
			t.Errorf("the evidence does not say what the light showed: %s", f.Evidence[0].Note)
		}
	}
	t.Logf("%d records; %d firings; onset errors as above", len(l.b.Bytes()), len(r.Facts.Firings))
}
