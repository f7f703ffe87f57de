package mbus

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"tundish/capture"
)

// TestRequests are the exchanges as MB 5.2 and 7 print them.
func TestRequests(t *testing.T) {
	number := func(id string) request {
		s, err := ParseSecondary(id, 0xFFFF, 0xFF, 0xFF)
		if err != nil {
			t.Fatal(err)
		}
		return selects(s)
	}
	abc, err := ParseSecondary("12345678", 0x0443, 1, 4)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		r    request
		want []byte
	}{
		{"reset of 1", reset(1), []byte{0x10, 0x40, 0x01, 0x41, 0x16}},
		{"read 1", ask(1, true), []byte{0x10, 0x7B, 0x01, 0x7C, 0x16}},
		{"read on", ask(1, false), []byte{0x10, 0x5B, 0x01, 0x5C, 0x16}},
		{"let go", reset(0xFD), []byte{0x10, 0x40, 0xFD, 0x3D, 0x16}},
		{"read the selected", ask(0xFD, true), []byte{0x10, 0x7B, 0xFD, 0x78, 0x16}},
		{"12345678", number("12345678"), []byte{0x68, 0x0B, 0x0B, 0x68, 0x53, 0xFD, 0x52, 0x78, 0x56, 0x34, 0x12, 0xFF, 0xFF, 0xFF, 0xFF, 0xB2, 0x16}},
		{"beginning with 1", number("1FFFFFFF"), []byte{0x68, 0x0B, 0x0B, 0x68, 0x53, 0xFD, 0x52, 0xFF, 0xFF, 0xFF, 0x1F, 0xFF, 0xFF, 0xFF, 0xFF, 0xBA, 0x16}},
		// ABC = 0443, low byte first (EN 13757-3).
		{"all of it", selects(abc), []byte{0x68, 0x0B, 0x0B, 0x68, 0x53, 0xFD, 0x52, 0x78, 0x56, 0x34, 0x12, 0x43, 0x04, 0x01, 0x04, 0x02, 0x16}},
	} {
		if !bytes.Equal(c.r.bytes(), c.want) {
			t.Errorf("%s: % X, want % X", c.name, c.r.bytes(), c.want)
		}
	}
	for _, bad := range []string{"", "1234567", "123456789", "1234567A", "1234567 "} {
		if _, err := ParseSecondary(bad, 0xFFFF, 0xFF, 0xFF); err == nil {
			t.Errorf("%q was taken", bad)
		}
	}
}

// framedCI is an answer of address 1.
func framedCI(ci byte, data ...byte) []byte {
	b := append([]byte{0x08, 0x01, ci}, data...)
	sum := byte(0)
	for _, x := range b {
		sum += x
	}
	n := byte(len(b))
	return append(append([]byte{0x68, n, n, 0x68}, b...), sum, 0x16)
}

// TestFollows: DIF 1F counts where a record begins, and nowhere else (EN 13757-3, 6.3).
func TestFollows(t *testing.T) {
	for _, c := range []struct {
		name string
		data []byte
		want bool
	}{
		{"nothing", nil, false},
		{"alone", []byte{0x1F}, true},
		{"maker's data behind", []byte{0x1F, 1, 2}, true},
		{"maker's own, none follow", []byte{0x0F, 0x1F}, false},
		{"behind records", []byte{0x04, 0x06, 1, 0, 0, 0, 0x84, 0x10, 0x86, 0x3B, 1, 0, 0, 0, 0x2F, 0x1F}, true},
		{"as a value", []byte{0x01, 0x5B, 0x1F}, false},
		{"as a VIF", []byte{0x01, 0x1F, 0x01}, false},
		{"in a text", []byte{0x0D, 0xFD, 0x11, 0x02, 0x1F, 0x1F}, false},
		{"behind a text", []byte{0x0D, 0xFD, 0x11, 0x02, 0x41, 0x41, 0x1F}, true},
		{"behind digits of variable length", []byte{0x0D, 0x06, 0xC2, 0x34, 0x12, 0x1F}, true},
		{"behind a unit in words", []byte{0x01, 0x7C, 0x02, 0x1F, 0x41, 0x05, 0x1F}, true},
		{"behind what cannot be read", []byte{0x3F, 0x1F}, false},
		{"record cut", []byte{0x04, 0x06, 0x1F}, false},
	} {
		if got := follows(framedCI(0x78, c.data...)); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
		if got := follows(framedCI(0x72, append(make([]byte, 12), c.data...)...)); got != c.want {
			t.Errorf("%s, behind a header: %v", c.name, got)
		}
	}
	if follows(framedCI(0x73, bytes.Repeat([]byte{0x1F}, 16)...)) {
		t.Error("the fixed structure has no DIF")
	}
}

// script is a line that says what it is told to, byte by byte, at any pace.
type script struct {
	data   []byte
	pace   []byte // of the bytes in turn, milliseconds
	wait   time.Duration
	sent   int
	closed bool
}

func (s *script) line() *line {
	return &line{
		read: func(p []byte) (int, error) {
			if len(s.data) == 0 {
				time.Sleep(s.wait)
				return 0, nil
			}
			d := time.Duration(0)
			if len(s.pace) > 0 {
				d = time.Duration(s.pace[0]) * time.Millisecond
				s.pace = append(s.pace[1:], s.pace[0])
			}
			if d > s.wait {
				time.Sleep(s.wait)
				s.pace[len(s.pace)-1] = byte((d - s.wait) / time.Millisecond) // what is left of it
				s.pace = append(s.pace[len(s.pace)-1:], s.pace[:len(s.pace)-1]...)
				return 0, nil
			}
			time.Sleep(d)
			n := 1
			if d == 0 {
				n = min(len(p), len(s.data))
			}
			n = copy(p[:n], s.data)
			s.data = s.data[n:]
			return n, nil
		},
		wait:  func(d time.Duration) error { s.wait = d; return nil },
		write: func(b []byte) (int, error) { s.sent++; return len(b), nil },
		close: func() error { s.closed = true; return nil },
	}
}

// TestTimes: how long a meter has for its answer, and how long the line rests before a request, by MB 5.4: 330 bit times
// and 50 ms; 33 bit times. 330 bits and 50 ms are 1150 ms at 300 Bd, 187.5 ms at 2400 Bd, 84.4 ms at 9600 Bd.
func TestTimes(t *testing.T) {
	for baud, limit := range map[int]time.Duration{300: 1150 * time.Millisecond, 2400: 187500 * time.Microsecond, 9600: 84375 * time.Microsecond} {
		synctest.Test(t, func(t *testing.T) {
			s := New(Config{Baud: baud, Source: "meter", Meters: []Meter{{Name: "a", Address: 1}}}, capture.StartClock())
			var sent []time.Duration
			silent := (&script{}).line()
			silent.write = func(b []byte) (int, error) { sent = append(sent, s.clock.Now()); return len(b), nil }
			b := &bus{Source: s, ctx: t.Context(), line: silent, emit: func(capture.Record) error { return nil }}
			wait := time.Duration(0)
			silent.wait = func(d time.Duration) error { wait = d; return nil }
			silent.read = func([]byte) (int, error) { time.Sleep(wait); return 0, nil }
			if err := b.turn(s.next()); err != nil {
				t.Fatal(err)
			}
			if len(sent) != 1+Retries {
				t.Fatalf("%d Bd: sent %d times", baud, len(sent))
			}
			request := 5 * 11 * time.Second / time.Duration(baud) // five characters on the line first
			for i := 1; i < len(sent); i++ {
				if took := sent[i] - sent[i-1] - request; took < limit+AnswerSpare || took > limit+AnswerSpare+20*time.Millisecond {
					t.Errorf("%d Bd: the next try came %v after the request was out, limit %v and %v to spare", baud, took, limit, AnswerSpare)
				}
			}
		})
	}
}

// TestSlowBytes: an answer at the line's own pace, 11 bits a character, is one telegram at every rate.
func TestSlowBytes(t *testing.T) {
	good := framedCI(0x78, 0x04, 0x06, 1, 0, 0, 0)
	for _, baud := range []int{300, 2400, 38400} {
		synctest.Test(t, func(t *testing.T) {
			s := New(Config{Baud: baud, Source: "meter", Meters: []Meter{{Name: "a", Address: 1}}}, capture.StartClock())
			said := &script{pace: []byte{byte(11*1000/baud + 1)}}
			l := said.line()
			l.write = func(b []byte) (int, error) {
				said.data = []byte{ackByte}
				if b[1] != sndNKE {
					said.data = slices.Clone(good)
				}
				return len(b), nil
			}
			var got []string
			b := &bus{Source: s, ctx: t.Context(), line: l, emit: func(r capture.Record) error {
				got = append(got, r.Note+string(r.Payload))
				return nil
			}}
			if err := b.turn(s.next()); err != nil || len(got) != 1 || got[0] != string(good) {
				t.Errorf("%d Bd: %q, %v", baud, got, err)
			}
		})
	}
}

// FuzzLine reads meters on a line that says anything at any pace: no panic, an end, records in order of time with short
// payloads, and no byte that the line did not say, none twice and none out of order.
func FuzzLine(f *testing.F) {
	good := framedCI(0x78, 0x04, 0x06, 1, 0, 0, 0)
	f.Add(slices.Concat([]byte{0xE5}, good), []byte{4}, false)
	f.Add(slices.Concat([]byte{0xE5}, []byte{0x68, 0xFF, 0xFF, 0x68, 0x08}, good), []byte{0, 1, 2}, false)
	f.Add(bytes.Repeat([]byte{0x68}, 3000), []byte{0}, true)
	f.Add(slices.Concat([]byte{0xE5, 0xE5}, good, good), []byte{200, 3}, true)
	f.Fuzz(func(t *testing.T, data, pace []byte, bySecondary bool) {
		if len(data) > 4<<10 || len(pace) > 64 {
			t.Skip("longer than what a few telegrams need")
		}
		listens(t, data, pace, bySecondary)
	})
}

// listens runs four turns on a line that says this.
func listens(t *testing.T, data, pace []byte, bySecondary bool) {
	synctest.Test(t, func(t *testing.T) {
		m := Meter{Name: "a", Address: 1}
		if bySecondary {
			m.Secondary, _ = ParseSecondary("12FFFFFF", 0xFFFF, 0xFF, 0xFF)
		}
		s := New(Config{Baud: 2400, Source: "meter", Meters: []Meter{m, {Name: "b", Address: 2}}}, capture.StartClock())
		said := &script{data: slices.Clone(data), pace: slices.Clone(pace)}
		rest, last := data, time.Duration(0)
		b := &bus{Source: s, ctx: t.Context(), line: said.line(), emit: func(r capture.Record) error {
			if r.At < last || len(r.Payload) > piece || strings.TrimSpace(r.Note) != r.Note {
				t.Errorf("%+v after %v", r, last)
			}
			last = r.At
			for _, x := range r.Payload { // what is left out in between is an acknowledgement or an echo
				i := bytes.IndexByte(rest, x)
				if i < 0 {
					t.Fatalf("a record has %02X, which was not said, or twice", x)
				}
				rest = rest[i+1:]
			}
			return nil
		}}
		for range 4 {
			m := s.next()
			m.due = s.clock.Now() + s.cfg.Interval
			if err := b.turn(m); err != nil {
				t.Fatal(err)
			}
		}
		if took := s.clock.Now(); took > 10*time.Minute {
			t.Errorf("four turns took %v", took)
		}
	})
}
