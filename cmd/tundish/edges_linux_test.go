package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tundish/decode/opentherm"
)

// TestRecordEdges runs the logger on a port that tells level changes, among noise: the values are those of the frames, and
// nothing is written to the port.
func TestRecordEdges(t *testing.T) {
	dir := t.TempDir()
	a := &adapter{t: t, name: filepath.Join(dir, "usb-adapter")}
	a.plugIn()
	job := filepath.Join(dir, "job.toml")
	sheet := fmt.Sprintf("%s\"opentherm-edges\"\nport = %q\nbaud = 115200\n", edgesSheet, a.name)
	if err := os.WriteFile(job, []byte(sheet), 0o644); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	var errs bytes.Buffer
	status := make(chan int)
	go func() { status <- run(ctx, []string{"record", job}, strings.NewReader(""), io.Discard, &errs) }()
	var said strings.Builder
	said.WriteString("\x00\xff\x80noise\r\nready\r\n\x03\x04\x11\x13\r\n")
	lines := 3
	changes([]timedFrame{{time.Unix(0, 0), 0x80190000}, {time.Unix(0, 1e8), 0x40193D80}}, func(_ time.Time, us int64, level int, _ opentherm.Frame) {
		fmt.Fprintf(&said, "%d %d\r\n", us, level)
		lines++
	})
	a.say(said.String())
	path := filepath.Join(dir, "job.capture")
	until(t, path, uint64(lines))
	stop()
	if got := <-status; got != exitDone {
		t.Fatalf("exit status %d: %s", got, errs.String())
	}
	a.unplug()
	if a.written.Len() > 0 {
		t.Errorf("the program wrote %q to the port: it must only listen", a.written.Bytes())
	}
	csv := filepath.Join(dir, "job.csv")
	command(t, "export", path, "-o", csv)
	text, err := os.ReadFile(csv)
	if err != nil || !strings.Contains(string(text), ",boiler/flow,61.5,") {
		t.Errorf("exported is %q, %v", text, err)
	}
}
