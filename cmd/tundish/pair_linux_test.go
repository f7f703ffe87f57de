package main

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tundish/capture"
	"tundish/capture/capfile"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
)

// thermometer is a Modbus server whose registers all hold a temperature in 0.1 °C, which goes up and down by a step
// (frames: MODBUS Messaging on TCP/IP Implementation Guide V1.0b, 3.1; MODBUS Application Protocol V1.1b3, 6.4).
func thermometer(t *testing.T, tenths int) (port int) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			go func() {
				defer c.Close()
				for q, step := make([]byte, 12), 0; ; {
					if _, err := io.ReadFull(c, q); err != nil {
						return
					}
					count := int(binary.BigEndian.Uint16(q[10:]))
					a := append(bytes.Clone(q[:4]), 0, byte(3+2*count), q[6], q[7], byte(2*count))
					for range count {
						a = binary.BigEndian.AppendUint16(a, uint16(tenths+step))
					}
					step = 1 - step
					if _, err := c.Write(a); err != nil {
						return
					}
				}
			}()
		}
	}()
	return l.Addr().(*net.TCPAddr).Port
}

const meterSource = "[[source]]\nname = %q\nkind = \"modbus-tcp\"\nhost = \"127.0.0.1\"\nport = %d\nregisters = [ { point = \"flow\", table = \"input\", address = 0, type = \"i16\", scale = 0.1 } ]\n"

// TestPairAnySources: two sensors that are no 1-Wire probes, and one of each kind, are compared, and what came of it is in
// the sheet where such a sensor has it.
func TestPairAnySources(t *testing.T) {
	dir := t.TempDir()
	root := filepath.Join(dir, "devices", "28-0000a71c01f4")
	if err := firstError(os.MkdirAll(root, 0o755), os.WriteFile(filepath.Join(root, "w1_slave"), []byte(probe25), 0o644)); err != nil {
		t.Fatal(err)
	}
	job := filepath.Join(dir, "job.toml")
	sheet := "[job]\nname = \"x\"\n" + fmt.Sprintf(meterSource, "one", thermometer(t, 250)) + fmt.Sprintf(meterSource, "two", thermometer(t, 257)) +
		fmt.Sprintf("[[source]]\nname = \"probes\"\nkind = \"one-wire\"\nroot = %q\npoints = { \"28-0000a71c01f4\" = \"flow\" }\n", filepath.Dir(root))
	if err := os.WriteFile(job, []byte(sheet), 0o644); err != nil {
		t.Fatal(err)
	}
	out := done(t, "pair", job, "one/flow", "two/flow", "--for", "4s", "--every", "20ms")
	if !strings.Contains(out, "two/flow now has\noffset_k = -0.") {
		t.Errorf("it says\n%s", out)
	}
	if m := pairedIn(t, job); math.Abs(float64(m.Offset)+0.7) > 0.05 || m.Paired.Value < 0.05 || m.Paired.Value > 0.15 || !m.Spread.Known || m.PairedOn.IsZero() {
		t.Errorf("%+v", m)
	}
	// What is in the sheet does not change what is compared, and a probe may be one of the two: 25.05 − 25.0625 °C.
	out = done(t, "pair", job, "one/flow", "probes/flow", "--for", "4s", "--every", "20ms")
	if !strings.Contains(out, "flow (28-0000a71c01f4) now has\noffset_k = ") {
		t.Errorf("it says\n%s", out)
	}
	out = done(t, "pair", job, "one/flow", "two/flow", "--for", "4s", "--every", "20ms")
	if m := pairedIn(t, job); math.Abs(float64(m.Offset)+0.7) > 0.05 {
		t.Errorf("again %+v: %s", m, out)
	}
	var said, errs bytes.Buffer
	if code := run(t.Context(), []string{"pair", job, "one/flo", "two/flow"}, nil, &said, &errs); code != exitUsage || !strings.Contains(errs.String(), `"flo" is no temperature of source "one"; did you mean flow`) {
		t.Errorf("%d: %s", code, errs.String())
	}
}

// pairedIn is what the sheet says of the second meter's flow.
func pairedIn(t *testing.T, job string) jobsheet.Mapping {
	t.Helper()
	sheet, err := jobsheet.Load(job)
	if err != nil {
		t.Fatal(err)
	}
	return sheet.Sources[1].Paired[decode.Flow]
}

// TestPairFromCapture follows a capture that somebody else is writing.
func TestPairFromCapture(t *testing.T) {
	dir := t.TempDir()
	job, path := filepath.Join(dir, "job.toml"), filepath.Join(dir, "job.capture")
	sheet := "[job]\nname = \"x\"\n[[source]]\nname = \"radio\"\nkind = \"mqtt\"\npaired = { room = { offset_k = 0.5 } }\n"
	for _, p := range []string{"flow", "room"} {
		sheet += fmt.Sprintf("[[source.topic]]\ntopic = %q\npoint = %q\n", p, p)
	}
	if err := os.WriteFile(job, []byte(sheet), 0o644); err != nil {
		t.Fatal(err)
	}
	w, err := capfile.Create(path, capfile.Options{})
	if err != nil {
		t.Fatal(err)
	}
	clock := capture.StartClock()
	run, err := w.StartRun(capfile.RunInfo{Kind: capfile.Record, Program: "test", Started: time.Now(), Sources: []string{"radio"}})
	err = firstError(err, w.Sheet(run, "job.toml", []byte(sheet)))
	err = firstError(err, w.Observe(run, capfile.Observation{At: 0, Wall: time.Now(), Synced: true}))
	err = firstError(err, w.Append(capture.Record{Run: run, Source: "radio", Channel: "flow", Payload: []byte("30")}))
	if err = firstError(err, w.Commit()); err != nil {
		t.Fatal(err)
	}
	stop, ended := make(chan struct{}), make(chan error, 1)
	go func() {
		for i := 0; ; i++ {
			select {
			case <-stop:
				ended <- firstError(w.EndRun(run, clock.Now(), "done"), w.Close())
				return
			case <-time.After(50 * time.Millisecond):
			}
			var err error
			for topic, c := range map[string]float64{"flow": 25, "room": 25.4} {
				rec := capture.Record{Run: run, At: clock.Now().Truncate(time.Microsecond), Source: "radio", Channel: topic, Payload: fmt.Appendf(nil, "%.1f", c+float64(i%2)/10)}
				err = firstError(err, w.Append(rec))
			}
			if err = firstError(err, w.Commit()); err != nil {
				ended <- err
				return
			}
		}
	}()
	out := done(t, "pair", job, "radio/flow", "radio/room", "--from", path, "--for", "9s")
	close(stop)
	if err := <-ended; err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(out, "radio/room now has\noffset_k = -0.40") {
		t.Errorf("it says\n%s", out)
	}
}
