package mbus

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"tundish/capture"
	"tundish/capture/capturetest"
)

// quickly is a source for tests: the fastest rate, and a read as soon as the last is over.
func quickly(w *wire, meters ...Meter) *Source {
	s := New(Config{Port: w.path, Baud: 38400, Source: "meter", Interval: time.Millisecond, Meters: meters}, capture.StartClock())
	s.spare = 500 * time.Millisecond // the slave of the tests has a loaded machine
	return s
}

func TestConformance(t *testing.T) {
	capturetest.TestSource(t, func(t *testing.T) capturetest.Rig {
		good := func(i int) []byte { return meterAt(1, 0x78, energy(byte(i))).telegrams[0] }
		w := newWire(t, meterAt(1, 0x78, energy(0)))
		s := quickly(w, Meter{Name: "main", Address: 1})
		wrong := good(3)
		wrong[len(wrong)-2]++
		return capturetest.Rig{
			Source: s, Clock: s.clock, Name: "meter", Device: w.path, Good: good,
			Garbage: [][]byte{wrong, good(4)[:20], {0x68, 0xFF, 0xFF, 0x68, 0x08}, {0x68, 0x05, 0x06, 0x68, 0x08, 0x01},
				[]byte("no such thing"), {0xE5, 0xE5}, slices.Repeat([]byte{0x68}, 500), bytes.Repeat([]byte{0x10, 0x16}, 130)},
			Feed: w.answer, Repeats: true, Lose: w.unplug, Restore: w.plug, MaxPayload: piece,
		}
	})
}

// got is a record as it came, in words.
func got(r capture.Record) string {
	if r.Note != "" {
		return fmt.Sprintf("%s! %s [% X]", r.Channel, r.Note, r.Payload)
	}
	return fmt.Sprintf("%s %d [% X]", r.Channel, r.Sweep, r.Payload)
}

// listen runs the source until enough says so, and gives what came.
func listen(t *testing.T, s *Source, enough func([]string) bool) (all []string, err error) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	err = s.Capture(ctx, func(r capture.Record) error {
		if all = append(all, got(r)); enough(all) {
			cancel()
		}
		return nil
	})
	if !enough(all) {
		t.Errorf("what was waited for did not come; this did: %q", all)
	}
	return all, err
}

func lines(n int) func([]string) bool { return func(all []string) bool { return len(all) >= n } }

// TestTelegramsInTurn: FCB changes with every request, all telegrams of an answer share a sweep, and the first request
// after a reset has FCB set (MB 5.4).
func TestTelegramsInTurn(t *testing.T) {
	m := meterAt(7, 0x78, energy(1), energy(2), energy(3))
	w := newWire(t, m)
	all, err := listen(t, quickly(w, Meter{Name: "main", Address: 7}), lines(6))
	if err != nil {
		t.Error(err)
	}
	for i, line := range all[:6] {
		if want := fmt.Sprintf("main %d [% X]", 1+i/3, m.telegrams[i%3]); line != want {
			t.Errorf("record %d is %s, want %s", i, line, want)
		}
	}
	want := []byte{0x40, 0x7B, 0x5B, 0x7B, 0x5B, 0x7B, 0x5B}
	for i, r := range w.asked()[:len(want)] {
		if r.frame[1] != want[i] || r.frame[2] != 7 {
			t.Errorf("request %d is % X, want C %02X", i, r.frame, want[i])
		}
	}
}

// TestRepeats: an answer that is lost is asked for with the same FCB, so that no telegram is passed over.
func TestRepeats(t *testing.T) {
	m := meterAt(7, 0x78, energy(1), energy(2))
	w := newWire(t, m)
	first := true
	all, err := listen(t, quickly(w, Meter{Name: "main", Address: 7}), func(all []string) bool {
		if first {
			first = false
			w.do(func() { m.mute = 2 })
		}
		return len(all) == 2
	})
	if err != nil || all[1] != fmt.Sprintf("main 1 [% X]", m.telegrams[1]) {
		t.Errorf("%q, %v", all, err)
	}
	var cs []byte
	for _, r := range w.asked()[:5] {
		cs = append(cs, r.frame[1])
	}
	if want := []byte{0x40, 0x7B, 0x5B, 0x5B, 0x5B}; !bytes.Equal(cs, want) {
		t.Errorf("asked % X, want % X", cs, want)
	}
}

// TestSilentMeter: two tries more, one note, the other meter has its turn, and it is told when the silent one is back.
func TestSilentMeter(t *testing.T) {
	a, b := meterAt(1, 0x01, energy(1)), meterAt(2, 0x02, energy(2))
	a.mute = -1
	w := newWire(t, a, b)
	turns := 0
	all, err := listen(t, quickly(w, Meter{Name: "a", Address: 1}, Meter{Name: "b", Address: 2}), func(all []string) bool {
		if last := all[len(all)-1]; strings.HasPrefix(last, "b ") {
			if turns++; turns == 3 {
				w.do(func() { a.mute = 0 })
			}
		}
		return strings.HasPrefix(all[len(all)-1], "a ")
	})
	if err != nil {
		t.Error(err)
	}
	var notes []string
	for _, line := range all {
		if strings.HasPrefix(line, "a!") {
			notes = append(notes, line)
		}
	}
	want := []string{"a! no reading of the meter, address 1: no answer in 3 tries []", "a! the meter answers again []"}
	if !slices.Equal(notes, want) {
		t.Errorf("notes %q, want %q", notes, want)
	}
	for i, r := range w.asked()[:3] {
		if !bytes.Equal(r.frame, []byte{0x10, 0x40, 0x01, 0x41, 0x16}) {
			t.Errorf("request %d is % X", i, r.frame)
		}
	}
}

func secondary(t *testing.T, id string, version, medium byte) Secondary {
	t.Helper()
	s, err := ParseSecondary(id, 0xFFFF, version, medium)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestSecondary: select, read, let go; wildcards; the frames are those of MB 7.
func TestSecondary(t *testing.T) {
	a, b := meterAt(0, 0x78, energy(1), energy(2)), meterAt(0, 0x79, energy(3))
	w := newWire(t, a, b)
	all, err := listen(t, quickly(w, Meter{Name: "a", Secondary: secondary(t, "12345678", 0xFF, 0xFF)},
		Meter{Name: "b", Secondary: secondary(t, "FFFFFF79", 1, 4)}), lines(6))
	if err != nil {
		t.Error(err)
	}
	for i, want := range []string{fmt.Sprintf("a 1 [% X]", a.telegrams[0]), fmt.Sprintf("a 1 [% X]", a.telegrams[1]),
		fmt.Sprintf("b 2 [% X]", b.telegrams[0]), fmt.Sprintf("a 3 [% X]", a.telegrams[0])} {
		if all[i] != want {
			t.Errorf("record %d is %s, want %s", i, all[i], want)
		}
	}
	// The selection of 12345678 and the reset of FD as MB 7 prints them.
	for i, want := range [][]byte{{0x10, 0x40, 0xFD, 0x3D, 0x16},
		{0x68, 0x0B, 0x0B, 0x68, 0x53, 0xFD, 0x52, 0x78, 0x56, 0x34, 0x12, 0xFF, 0xFF, 0xFF, 0xFF, 0xB2, 0x16},
		{0x10, 0x7B, 0xFD, 0x78, 0x16}, {0x10, 0x5B, 0xFD, 0x58, 0x16}, {0x10, 0x40, 0xFD, 0x3D, 0x16}} {
		if r := w.asked()[i].frame; !bytes.Equal(r, want) {
			t.Errorf("request %d is % X, want % X", i, r, want)
		}
	}
}

// TestCollision: two meters fit a number with wildcards, which shows as garbage and is told.
func TestCollision(t *testing.T) {
	w := newWire(t, meterAt(0, 0x78, energy(1)), meterAt(0, 0x79, energy(3)))
	all, err := listen(t, quickly(w, Meter{Name: "a", Secondary: secondary(t, "1234567F", 0xFF, 0xFF)}), lines(4))
	if err != nil || all[0] != "a! damaged answer to a selection: more than one meter may have answered [E5 E5]" ||
		all[3] != "a! no reading of the meter, number 1234567F: damaged answer in 3 tries []" {
		t.Errorf("%q, %v", all, err)
	}
}

// TestStranger: an answer of another meter is kept with a note.
func TestStranger(t *testing.T) {
	m := meterAt(1, 0x78, energy(1))
	m.telegrams[0] = meterAt(2, 0x78, energy(1)).telegrams[0]
	all, _ := listen(t, quickly(newWire(t, m), Meter{Name: "a", Address: 1}), lines(1))
	if !strings.HasPrefix(all[0], "a! another meter answered: address 2 [68") {
		t.Errorf("%q", all)
	}
	m = meterAt(1, 0x78, energy(1))
	other := meterAt(1, 0x99, energy(1))
	m.telegrams = other.telegrams
	all, _ = listen(t, quickly(newWire(t, m), Meter{Name: "a", Secondary: secondary(t, "12345678", 0xFF, 0xFF)}), lines(1))
	if !strings.HasPrefix(all[0], "a! another meter answered: number 12345699 [68") {
		t.Errorf("%q", all)
	}
}

// TestEndless: a meter that always says that more follow has an end.
func TestEndless(t *testing.T) {
	m := meterAt(1, 0x78, energy(1), energy(2))
	m.stuck = true
	all, err := listen(t, quickly(newWire(t, m), Meter{Name: "a", Address: 1}), lines(MostTelegrams+1))
	if err != nil || !strings.Contains(all[MostTelegrams], "more follow after 16 telegrams") {
		t.Errorf("%q, %v", all[len(all)-1], err)
	}
}

// TestEchoAndNoise: a converter's echo is no answer; what stands around an answer is kept apart from it.
func TestEchoAndNoise(t *testing.T) {
	m := meterAt(1, 0x78, energy(1))
	w := newWire(t, m)
	w.do(func() { w.echo = true })
	w.answer(t, slices.Concat([]byte{0x00, 0x68, 0xFF}, m.telegrams[0]))
	all, err := listen(t, quickly(w, Meter{Name: "a", Address: 1}), lines(2))
	if err != nil || all[0] != "a! noise ahead of an answer [00 68 FF]" || all[1] != fmt.Sprintf("a 1 [% X]", m.telegrams[0]) {
		t.Errorf("%q, %v", all, err)
	}
	w = newWire(t, m)
	w.answer(t, slices.Concat(m.telegrams[0], []byte{0x55, 0xAA}))
	all, err = listen(t, quickly(w, Meter{Name: "a", Address: 1}), lines(2))
	if err != nil || all[0] != fmt.Sprintf("a 1 [% X]", m.telegrams[0]) || all[1] != "a! noise behind an answer [55 AA]" {
		t.Errorf("%q, %v", all, err)
	}
}

// TestEchoOfSelection: the echo of a selection is a sound long frame, and no meter's.
func TestEchoOfSelection(t *testing.T) {
	m := meterAt(0, 0x78, energy(1))
	w := newWire(t, m)
	w.do(func() { w.echo = true })
	all, err := listen(t, quickly(w, Meter{Name: "a", Secondary: secondary(t, "12345678", 0xFF, 0xFF)}), lines(2))
	if err != nil || all[0] != fmt.Sprintf("a 1 [% X]", m.telegrams[0]) || all[1] != fmt.Sprintf("a 2 [% X]", m.telegrams[0]) {
		t.Errorf("%q, %v", all, err)
	}
}

// TestNeverMoreOften: whatever happens, a meter is not asked again before its interval is over, not even by a source that
// is stopped and started, or that lost its port.
func TestNeverMoreOften(t *testing.T) {
	const interval = 400 * time.Millisecond
	m := meterAt(1, 0x78, energy(1))
	w := newWire(t, m)
	s := quickly(w, Meter{Name: "a", Address: 1})
	s.cfg.Interval = interval
	reached := false
	for i := range 6 {
		ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
		done := make(chan error, 1)
		went := make(chan struct{}, 16)
		go func() {
			done <- s.Capture(ctx, func(r capture.Record) error {
				switch {
				case r.Note != capture.Reached:
					went <- struct{}{}
				case i != 4:
					t.Errorf("start %d: a port is reached again that was not lost", i)
				default:
					reached = true
				}
				return nil
			})
		}()
		<-went
		if i == 3 {
			w.unplug(t)
			if err := <-done; err == nil || errors.Is(err, context.Canceled) {
				t.Errorf("a lost port is told as %v", err)
			}
			w.plug(t)
		} else {
			cancel()
			if err := <-done; err != nil {
				t.Error(err)
			}
		}
		cancel()
	}
	if !reached {
		t.Error("it was not told that the port is there again")
	}
	var last time.Time
	reads := 0
	for _, r := range w.asked() {
		if r.frame[1] == 0x40 {
			continue
		}
		reads++
		// The clocks are the machine's own on both sides; a reader that is late makes the gap seem shorter.
		if gap := r.at.Sub(last); !last.IsZero() && gap < interval-100*time.Millisecond {
			t.Errorf("asked again after %v", gap)
		}
		last = r.at
	}
	if reads != 6 {
		t.Errorf("%d reads, want 6", reads)
	}
}

// TestUnasked: bytes while nobody asked are kept.
func TestUnasked(t *testing.T) {
	m := meterAt(1, 0x78, energy(1))
	w := newWire(t, m)
	s := quickly(w, Meter{Name: "a", Address: 1})
	s.cfg.Interval = time.Hour
	sent := false
	all, err := listen(t, s, func(all []string) bool {
		if !sent {
			sent = true
			if _, err := w.pty.Write([]byte{0x01, 0x02}); err != nil {
				t.Error(err)
			}
		}
		return len(all) == 2
	})
	if err != nil || all[1] != "! bytes that nobody asked for [01 02]" {
		t.Errorf("%q, %v", all, err)
	}
}
