package modbus

import (
	"bytes"
	"context"
	"encoding/hex"
	"fmt"
	"strings"
	"testing"
	"time"

	"tundish/capture"
	"tundish/capture/capturetest"
)

const interval = 20 * time.Millisecond

// kinds are the two ways to a server.
var kinds = []struct {
	name string
	make func(testing.TB) (*peer, *tap)
}{{"tcp", overTCP}, {"rtu", overRTU}}

// config reads blocks through a tap.
func config(w *tap, blocks ...Block) Config {
	cfg := Config{Source: "meter", Unit: 1, Blocks: blocks, Interval: interval, Timeout: 300 * time.Millisecond}
	if strings.HasPrefix(w.name, "/") {
		cfg.Port, cfg.Baud, cfg.Parity, cfg.StopBits = w.name, 115200, None, 1
	} else {
		cfg.Host = w.name
	}
	return cfg
}

func newSource(t testing.TB, cfg Config, clock capture.Clock) *Source {
	t.Helper()
	s, err := New(cfg, clock)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// watch runs a source and gives its records; step is called with each and says whether to go on.
func watch(t *testing.T, s *Source, step func(r capture.Record) bool) ([]capture.Record, error) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), capturetest.Patience)
	defer cancel()
	var got []capture.Record
	err := s.Capture(ctx, func(r capture.Record) error {
		r.Payload = bytes.Clone(r.Payload)
		got = append(got, r)
		if !step(r) {
			cancel()
		}
		return nil
	})
	if ctx.Err() == context.DeadlineExceeded {
		t.Fatalf("what was awaited did not come; got %d records, the last %+v", len(got), got[max(0, len(got)-1):])
	}
	return got, err
}

func TestConformance(t *testing.T) {
	for _, k := range kinds {
		t.Run(k.name, func(t *testing.T) {
			capturetest.TestSource(t, func(t *testing.T) capturetest.Rig {
				p, w := k.make(t)
				clock := capture.StartClock()
				block := Block{Function: ReadHolding, First: 100, Count: 4}
				return capturetest.Rig{
					Source: newSource(t, config(w, block), clock), Clock: clock, Name: "meter",
					Device: w.name, Repeats: true, MaxPayload: 8,
					Good:    func(i int) []byte { return []byte{0, 0, 0, 0, 0, 1, byte(i >> 8), byte(i)} },
					Garbage: [][]byte{bytes.Repeat([]byte{0xFF}, 8), {0x7F, 0xC0, 0, 0, 0x80, 0, 0x7F, 0xFF}, make([]byte, 8)},
					Feed: func(_ testing.TB, b []byte) {
						p.tell("set holding 100 %s", hex.EncodeToString(b[:min(len(b), 8)]))
					},
					Lose: func(testing.TB) { w.cut() },
					Restore: func(testing.TB) {
						if k.name == "tcp" {
							w.listen()
						} else {
							w.plug()
						}
					},
				}
			})
		})
	}
}

// TestTroubleIsToldOnce: an exception, registers that are not there and a device that is not there are noted when they
// begin; what else is on the line goes on, in sweeps.
func TestTroubleIsToldOnce(t *testing.T) {
	for _, k := range kinds {
		t.Run(k.name, func(t *testing.T) {
			p, w := k.make(t)
			s := newSource(t, config(w,
				Block{Unit: 9, Function: ReadInput, First: 0, Count: 2}, // no such device
				Block{Function: ReadHolding, First: 198, Count: 4},      // two registers too many
				Block{Function: ReadHolding, First: 190, Count: 1},      // out of order
				Block{Function: ReadInput, First: 10, Count: 2},
				Block{Unit: 5, Function: ReadHolding, First: 3, Count: 1},
			), capture.StartClock())
			sweeps := 0
			got, err := watch(t, s, func(r capture.Record) bool {
				if r.Channel == "unit 5 holding 3-3" {
					sweeps++
				}
				return sweeps < 4
			})
			if err != nil {
				t.Fatal(err)
			}
			notes := map[string]string{}
			for _, r := range got {
				switch {
				case r.Note != "":
					if before, twice := notes[r.Channel]; twice {
						t.Errorf("%s: told %q after %q", r.Channel, r.Note, before)
					}
					notes[r.Channel] = r.Note
				case r.Sweep == 0:
					t.Errorf("%+v is of no sweep", r)
				case r.Channel == "input 10-11" && !bytes.Equal(r.Payload, []byte{0x03, 0xF2, 0x03, 0xF3}): // 1010, 1011
					t.Errorf("%s is % X", r.Channel, r.Payload)
				case r.Channel == "unit 5 holding 3-3" && !bytes.Equal(r.Payload, []byte{0, 3}):
					t.Errorf("%s is % X", r.Channel, r.Payload)
				}
			}
			for channel, want := range map[string]string{
				"unit 9 input 0-1": "no whole answer within 300ms",
				"holding 198-201":  "exception 2, illegal data address",
				"holding 190-190":  "exception 4, server device failure",
			} {
				if !strings.HasPrefix(notes[channel], want) {
					t.Errorf("%s: note %q, want %q", channel, notes[channel], want)
				}
			}
			if len(notes) != 3 {
				t.Errorf("notes %v", notes)
			}
			readOnly(t, k.name, p, w)
		})
	}
}

// readOnly holds what the source sent to requests of functions 3 and 4, byte by byte on the wire and by what the
// server says that it was asked.
func readOnly(t *testing.T, kind string, p *peer, w *tap) {
	t.Helper()
	sent := w.bytes()
	if len(sent) == 0 {
		t.Fatal("nothing was sent")
	}
	// A request is unit, function, address, quantity; TCP has six bytes before it, RTU a checksum behind.
	before, behind := 6, 0
	if kind == "rtu" {
		before, behind = 0, 2
	}
	size := before + 6 + behind
	if len(sent)%size != 0 {
		t.Fatalf("%d bytes were sent, which is no number of requests of %d", len(sent), size)
	}
	for i := 0; i < len(sent); i += size {
		if f := sent[i+before+1]; f != 3 && f != 4 {
			t.Errorf("function %d was sent: % X", f, sent[i:i+size])
		}
	}
	for _, line := range p.log() {
		if !strings.HasPrefix(line, "asked 3 ") && !strings.HasPrefix(line, "asked 4 ") {
			t.Errorf("the server says %q", line)
		}
	}
}

// TestSlowAndDead: a server that is slow beyond the time-out is silent, and its late answer is not taken for another's;
// one that dies is an error that names it, and is back under the same name.
func TestSlowAndDead(t *testing.T) {
	for _, k := range kinds {
		t.Run(k.name, func(t *testing.T) {
			p, w := k.make(t)
			s := newSource(t, config(w,
				Block{Function: ReadHolding, First: 150, Count: 1},
				Block{Function: ReadHolding, First: 20, Count: 1}), capture.StartClock())
			p.tell("slow 0.4") // the time-out is 0.3 s
			silent, quick, back := false, 0, false
			got, err := watch(t, s, func(r capture.Record) bool {
				switch {
				case r.Channel == "holding 150-150" && strings.HasPrefix(r.Note, "no whole answer"):
					silent = true
				case silent && r.Note == "" && r.Channel == "holding 20-20":
					if quick++; quick == 3 {
						p.tell("slow 0")
					}
				case r.Channel == "holding 150-150" && r.Note == "":
					back = true
				}
				return !back
			})
			if err != nil {
				t.Fatal(err)
			}
			for _, r := range got {
				want := map[string]string{"holding 150-150": "0096", "holding 20-20": "0014"}[r.Channel]
				if r.Note == "" && fmt.Sprintf("%x", r.Payload) != want {
					t.Errorf("%s is %x, want %s: another request's answer?", r.Channel, r.Payload, want)
				}
			}
			readOnly(t, k.name, p, w)
		})
	}
	t.Run("killed", func(t *testing.T) {
		port := freePort(t)
		p := newPeer(t, "tcp", port)
		cfg := Config{Source: "meter", Host: "127.0.0.1:" + port, Unit: 1, Interval: interval, Blocks: []Block{{Function: ReadInput, First: 0, Count: 1}}}
		s := newSource(t, cfg, capture.StartClock())
		_, err := watch(t, s, func(r capture.Record) bool {
			if r.Note == "" {
				p.kill()
			}
			return true
		})
		if err == nil || !strings.Contains(err.Error(), cfg.Host) || !strings.Contains(err.Error(), "refused") {
			t.Fatalf("error %v", err)
		}
		newPeer(t, "tcp", port)
		got, err := watch(t, s, func(r capture.Record) bool { return r.Note != "" })
		if err != nil || len(got) != 2 || got[0].Note != "answers again" || !bytes.Equal(got[1].Payload, []byte{0x03, 0xE8}) {
			t.Errorf("%+v, %v", got, err)
		}
	})
}
