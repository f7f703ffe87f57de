//go:build unix

package main

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// TestSourcesWithADeadProbe: a probe that hangs in the kernel is listed as silent, and holds up the list by its limit alone.
func TestSourcesWithADeadProbe(t *testing.T) {
	h, _ := newHands(t)
	pipe := filepath.Join(h.root, probeB, "w1_slave")
	if err := os.Remove(pipe); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	out, errs := &hearer{}, &hearer{}
	began := time.Now()
	if got := run(patient(t), []string{"sources", "--root", h.root, "--serial", h.root}, strings.NewReader(""), out, errs); got != exitDone {
		t.Fatalf("exit %d\n%s%s", got, out, errs)
	}
	for _, want := range []string{probeA + "  DS18B20  20.0 °C", probeB + "  DS18B20  probe gone: no answer", probeC + "  DS18B20  20.0 °C"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	if took := time.Since(began); took > probePatience {
		t.Errorf("took %v", took)
	}
	if f, err := os.OpenFile(pipe, os.O_RDWR|syscall.O_NONBLOCK, 0); err == nil { // lets the read end
		_ = f.Close()
	}
}
