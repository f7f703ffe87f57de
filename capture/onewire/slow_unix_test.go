//go:build unix

package onewire

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"tundish/capture"
)

// TestSlowProbe: a probe whose read hangs (a pipe nobody writes to) is asked once, noted once, holds the others up
// by the named limit and no more than once, and what it says in the end is kept.
func TestSlowProbe(t *testing.T) {
	tr := newTree(t, flowROM, returnROM)
	pipe := filepath.Join(tr.root, returnROM, "w1_slave")
	if err := os.Remove(pipe); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	s := tr.source()
	s.spare, s.conversion = 100*time.Millisecond, 50*time.Millisecond
	var flowAt []time.Duration
	answered := false
	notes := []string{}
	got, err := watch(t, s, func(r capture.Record) bool {
		if r.Note != "" {
			notes = append(notes, r.Note)
			return true
		}
		if r.Channel == flowROM {
			if flowAt = append(flowAt, r.At); len(flowAt) == 10 {
				if err := os.WriteFile(pipe, []byte(good25), 0); err != nil {
					t.Error(err)
				}
				answered = true
			}
			return true
		}
		return false
	})
	if err != nil || !answered {
		t.Fatal(err)
	}
	if len(notes) != 2 || !strings.HasPrefix(notes[0], "probe gone: no answer") || notes[1] != "probe back" {
		t.Errorf("notes %q", notes)
	}
	last := got[len(got)-1]
	if string(last.Payload) != good25 || last.Sweep == 0 {
		t.Errorf("late value %+v", last)
	}
	for _, r := range got[:len(got)-1] {
		if r.Sweep == last.Sweep {
			t.Errorf("the late value shares sweep %d", r.Sweep)
		}
	}
	// Ten sweeps of the other probe: the first waited for the slow one, the rest did not. Without the guard they
	// would take 10 × 200 ms.
	if took := flowAt[9] - flowAt[0]; took > time.Second {
		t.Errorf("ten sweeps took %v beside a dead probe", took)
	} else {
		t.Logf("ten sweeps beside a dead probe: %v", took)
	}
}
