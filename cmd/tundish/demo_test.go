package main

import (
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A demo that is stopped leaves no half capture.
func TestDemoStopped(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	stop()
	dir := filepath.Join(t.TempDir(), "demo")
	var errs strings.Builder
	if got := run(ctx, []string{"demo", "--into", dir}, strings.NewReader(""), io.Discard, &errs); got != exitFail {
		t.Errorf("a stopped demo exits %d", got)
	}
	if !strings.Contains(errs.String(), "stopped") {
		t.Errorf("the error is %q", errs.String())
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if strings.Contains(e.Name(), "capture") {
			t.Errorf("%s is left", e.Name())
		}
	}
}

// What a killed demo leaves is cleared by the next; what is not a demo's is not touched.
func TestDemoClearsItsOwn(t *testing.T) {
	dir := t.TempDir()
	put := func(names ...string) {
		for _, n := range names {
			if err := os.WriteFile(filepath.Join(dir, n), nil, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	c := demoCmd{Into: dir}
	put(demoMark, demoSheet, demoCapture, demoCapture+"-wal", demoCapture+"-shm", demoCapture+"-head", demoAside, demoAside+"-head", demoAside+"-journal", ".report.pdf.123", ".report.html.4")
	if err := c.makeFolder(); err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 1 || entries[0].Name() != demoMark {
		t.Errorf("the folder holds %v, error %v; want the mark alone", entries, err)
	}
	put(demoSheet, "mine.capture-wal")
	if err := c.makeFolder(); err == nil || !strings.Contains(err.Error(), "mine.capture-wal is not from a demo") {
		t.Errorf("error is %v", err)
	}
	if _, err := os.Stat(filepath.Join(dir, demoSheet)); err != nil {
		t.Error(err)
	}
}
