package main

import (
	"bytes"
	"context"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"golang.org/x/term"
)

// TestRecordMeter runs the logger on a level converter with one heat meter behind it, and reads the record back. The
// telegram is synthetic, by the rules of EN 13757-2 and -3.
func TestRecordMeter(t *testing.T) {
	master, tty, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	defer tty.Close()
	if _, err := term.MakeRaw(int(tty.Fd())); err != nil {
		t.Fatal(err)
	}
	telegram, err := hex.DecodeString("68131368080573785634120A00056A4523010078060000F416")
	if err != nil {
		t.Fatal(err)
	}
	asked := make(chan string, 64)
	go func() { // the meter: E5 to a reset, its telegram to a request for data
		frame := make([]byte, 5)
		for {
			if _, err := io.ReadFull(master, frame); err != nil {
				return
			}
			asked <- fmt.Sprintf("%X", frame)
			out := telegram
			if frame[1] == 0x40 {
				out = []byte{0xE5}
			}
			if _, err := master.Write(out); err != nil {
				return
			}
		}
	}()
	dir := t.TempDir()
	job := filepath.Join(dir, "job.toml")
	sheet := fmt.Sprintf("[job]\nname = \"Bench\"\ntimezone = \"Europe/London\"\n[[source]]\nname = \"meter\"\nkind = \"m-bus\"\nport = %q\n[[source.meter]]\naddress = 5\n", tty.Name())
	if err := os.WriteFile(job, []byte(sheet), 0o644); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	var errs bytes.Buffer
	status := make(chan int)
	go func() { status <- run(ctx, []string{"record", job}, strings.NewReader(""), io.Discard, &errs) }()
	for _, want := range []string{"1040054516", "107B058016"} {
		select {
		case got := <-asked:
			if got != want {
				t.Errorf("asked %s, want %s", got, want)
			}
		case <-time.After(20 * time.Second):
			t.Fatalf("%s was not asked; %s", want, errs.String())
		}
	}
	// The telegram is in the capture once it can be exported.
	out := filepath.Join(dir, "readings.csv")
	deadline := time.After(30 * time.Second)
	tick := time.NewTicker(200 * time.Millisecond)
	defer tick.Stop()
	for done := false; !done; {
		select {
		case <-deadline:
			t.Fatal("no reading came into the capture")
		case <-tick.C:
		}
		if run(t.Context(), []string{"export", filepath.Join(dir, "job.capture"), "-o", out}, strings.NewReader(""), io.Discard, io.Discard) == 0 {
			text, err := os.ReadFile(out)
			done = err == nil && strings.Contains(string(text), ",meter/heat-energy,12345,kWh,good")
		}
	}
	stop()
	if got := <-status; got != 0 {
		t.Errorf("record exited with %d: %s", got, errs.String())
	}
	if len(asked) != 0 {
		t.Errorf("asked again inside five minutes: %s", <-asked)
	}
	master.Close()
}
