package modbus

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/hex"
	"io"
	"net"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"tundish/capture"
)

func unhex(t testing.TB, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// answerTCP is a server that gives what answer makes of each request; nil ends the connection.
func answerTCP(t testing.TB, answer func(request []byte) []byte) string {
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
				for request := make([]byte, 12); ; {
					if _, err := io.ReadFull(c, request); err != nil {
						return
					}
					a := answer(request)
					if a == nil {
						return
					}
					if _, err := c.Write(a); err != nil {
						return
					}
				}
			}()
		}
	}()
	return l.Addr().String()
}

// answerRTU is the same on a pseudo-terminal.
func answerRTU(t testing.TB, answer func(request []byte) []byte) string {
	master, tty := openPTY(t)
	path := filepath.Join(t.TempDir(), "usb-adapter")
	if err := os.Symlink(tty.Name(), path); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { master.Close(); tty.Close() })
	go func() {
		for request := make([]byte, 8); ; {
			if _, err := io.ReadFull(master, request); err != nil {
				return
			}
			if _, err := master.Write(answer(request)); err != nil {
				return
			}
		}
	}()
	return path
}

// crc16 is the check of RTU frames (MODBUS over Serial Line V1.02, 6.2.2), low byte first, as it is sent.
func crc16(frame []byte) []byte {
	crc := uint16(0xFFFF)
	for _, b := range frame {
		crc ^= uint16(b)
		for range 8 {
			low := crc & 1
			crc >>= 1
			if low == 1 {
				crc ^= 0xA001
			}
		}
	}
	return binary.LittleEndian.AppendUint16(nil, crc)
}

// TestOnTheWire holds requests to their bytes and answers to their registers. MODBUS Application Protocol V1.1b3: 6.3
// reads holding registers 108 to 110 (03 00 6B 00 03 → 03 06 02 2B 00 00 00 64), 6.4 input register 9 (04 00 08 00 01
// → 04 02 00 0A). The frames of unit 17 are the same with its checksum; the checksums follow from the polynomial of
// MODBUS over Serial Line V1.02, 6.2.2, whose check value over "123456789" is 0x4B37.
func TestOnTheWire(t *testing.T) {
	if got := crc16([]byte("123456789")); got[0] != 0x37 || got[1] != 0x4B {
		t.Fatalf("the test's own checksum is % X", got)
	}
	tests := []struct {
		name, request, answer, payload string
		unit                           uint8
		block                          Block
	}{
		{"6.3 over TCP", "0001 0000 0006 11 03 006B 0003", "0001 0000 0009 11 03 06 022B 0000 0064", "022B 0000 0064", 17, Block{Function: ReadHolding, First: 107, Count: 3}},
		{"6.4 over TCP", "0001 0000 0006 01 04 0008 0001", "0001 0000 0005 01 04 02 000A", "000A", 1, Block{Function: ReadInput, First: 8, Count: 1}},
		{"21.5 over TCP", "0001 0000 0006 01 03 0000 0002", "0001 0000 0007 01 03 04 41AC 0000", "41AC 0000", 1, Block{Function: ReadHolding, Count: 2}},
		{"6.3 over RTU", "11 03 006B 0003 7687", "", "022B 0000 0064", 17, Block{Function: ReadHolding, First: 107, Count: 3}},
		{"two registers over RTU", "01 03 0000 0002 C40B", "", "41AC 0000", 1, Block{Function: ReadHolding, Count: 2}},
		{"ten input registers over RTU", "01 04 0000 000A 700D", "", strings.Repeat("FFFE", 10), 1, Block{Function: ReadInput, Count: 10}},
		{"300 over RTU", "01 03 0000 0001 840A", "01 03 02 012C B809", "012C", 1, Block{Function: ReadHolding, Count: 1}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			first := make(chan []byte, 1)
			reply := unhex(t, tt.answer)
			if len(reply) == 0 {
				p := unhex(t, tt.payload)
				reply = append([]byte{tt.unit, byte(tt.block.Function), byte(len(p))}, p...)
				reply = append(reply, crc16(reply)...)
			}
			answer := func(request []byte) []byte {
				select {
				case first <- bytes.Clone(request):
				default:
				}
				return reply
			}
			w := &tap{t: t}
			if strings.Contains(tt.name, "TCP") {
				w.name = answerTCP(t, answer)
			} else {
				w.name = answerRTU(t, answer)
			}
			cfg := config(w, tt.block)
			cfg.Unit = tt.unit
			got, err := watch(t, newSource(t, cfg, capture.StartClock()), func(capture.Record) bool { return false })
			if err != nil || len(got) == 0 {
				t.Fatal(got, err)
			}
			asked := <-first
			if want := unhex(t, tt.request); string(asked) != string(want) {
				t.Errorf("asked % X, want % X", asked, want)
			}
			if want := unhex(t, tt.payload); string(got[0].Payload) != string(want) || got[0].Channel != tt.block.Channel() {
				t.Errorf("%s is % X %q, want % X", got[0].Channel, got[0].Payload, got[0].Note, want)
			}
		})
	}
}

// TestDamage: what is no sound answer becomes a note that says so, once, whatever a server sends; the next sound answer
// is taken. Exceptions are those of MODBUS Application Protocol V1.1b3, 7.
func TestDamage(t *testing.T) {
	type reply = func(request []byte) []byte
	// tcp puts the header of the request before unit, function and what follows; length may lie.
	tcp := func(body string, length int) reply {
		return func(request []byte) []byte {
			b := unhex(t, body)
			if length < 0 {
				length = len(b)
			}
			return append(binary.BigEndian.AppendUint16(append([]byte{}, request[:4]...), uint16(length)), b...)
		}
	}
	rtu := func(frame string) reply {
		b := unhex(t, frame)
		return func([]byte) []byte { return b }
	}
	flood := func([]byte) []byte { return make([]byte, 1<<20) }
	tests := []struct {
		name string
		rtu  bool
		bad  reply
		want string
	}{
		{"exception 1", false, tcp("01 83 01", -1), "exception 1, illegal function"},
		{"exception 3", false, tcp("01 83 03", -1), "exception 3, illegal data value"},
		{"exception 5", false, tcp("01 83 05", -1), "exception 5, acknowledge"},
		{"exception 6", false, tcp("01 83 06", -1), "exception 6, server device busy"},
		{"exception 8", false, tcp("01 83 08", -1), "exception 8, memory parity error"},
		{"exception 10", false, tcp("01 83 0A", -1), "exception 10, gateway path unavailable"},
		{"exception 11", false, tcp("01 83 0B", -1), "exception 11, gateway target device failed to respond"},
		{"exception 7, not in the standard", false, tcp("01 83 07", -1), "exception 7, which the standard does not name"},
		{"fewer registers than asked for", false, tcp("01 03 02 0001", -1), "answer cannot be used"},
		{"more registers than asked for", false, tcp("01 03 06 0001 0002 0003", -1), "answer cannot be used"},
		{"byte count lies", false, tcp("01 03 FF 0001 0002", -1), "answer cannot be used"},
		{"length lies: longer", false, tcp("01 03 04 0001 0002", 200), "no whole answer within"},
		{"length lies: shorter", false, tcp("01 03 04 0001 0002", 3), "answer cannot be used"},
		{"length lies: 65535", false, tcp("01 03 04 0001 0002", 65535), "answer cannot be used"},
		{"length 0", false, tcp("", 0), "no whole answer within"},
		{"another function", false, tcp("01 04 04 0001 0002", -1), "answer cannot be used"},
		{"an answer to a write", false, tcp("01 06 0001 0002", -1), "answer cannot be used"},
		{"another unit", false, tcp("02 03 04 0001 0002", -1), "answer cannot be used: bad unit id"},
		{"another transaction", false, func(q []byte) []byte {
			return append([]byte{q[0], q[1] + 1}, unhex(t, "0000 0007 01 03 04 0001 0002")...)
		}, "no whole answer within"},
		{"a megabyte of noughts", false, flood, "answer cannot be used"},
		{"end of the connection", false, func([]byte) []byte { return nil }, "the connection was closed"},
		{"checksum", true, rtu("01 03 04 0001 0002 0000"), "answer cannot be used: bad crc"},
		{"RTU exception", true, rtu("01 83 02 C0F1"), "exception 2, illegal data address"},
		{"cut short", true, rtu("01 03 04 00"), "no whole answer within"},
		{"byte count past the longest frame", true, rtu("01 03 FF 0001 0002 0003"), "answer cannot be used"},
		{"another unit on the line", true, rtu("02 03 02 0001" + hex.EncodeToString(crc16([]byte{2, 3, 2, 0, 1}))), "answer cannot be used: bad unit id"},
		{"text", true, rtu(hex.EncodeToString([]byte("login: "))), "answer cannot be used"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var n atomic.Int32
			sound := tcp("01 03 04 0001 0002", -1)
			if tt.rtu {
				b := unhex(t, "01 03 04 0001 0002")
				sound = func([]byte) []byte { return append(b[:7:7], crc16(b)...) }
			}
			w := &tap{t: t}
			serve := answerTCP
			if tt.rtu {
				serve = answerRTU
			}
			w.name = serve(t, func(request []byte) []byte {
				if n.Add(1) <= 3 {
					return tt.bad(request)
				}
				return sound(request)
			})
			cfg := config(w, Block{Function: ReadHolding, Count: 2})
			got, err := watch(t, newSource(t, cfg, capture.StartClock()), func(r capture.Record) bool { return r.Note != "" })
			if err != nil {
				t.Fatal(err)
			}
			if len(got) < 3 || !strings.HasPrefix(got[0].Note, tt.want) {
				t.Fatalf("first %+v, want the note %q", got[0], tt.want)
			}
			if !strings.HasPrefix(tt.name, "end of") {
				came := tt.bad([]byte{0, 1, 0, 0, 0, 6, 1, 3, 0, 0, 0, 2})
				if kept := got[0].Payload; len(kept) == 0 || !bytes.HasPrefix(came, kept) {
					t.Errorf("kept % X of % X", kept, came[:min(len(came), FrameLimit)])
				}
			}
			if len(got) != 3 || got[1].Note != "answers again" || string(got[2].Payload) != "\x00\x01\x00\x02" {
				t.Errorf("then %+v", got[1:])
			}
		})
	}
}

// TestCancelWhileWaiting: a device that answers nothing does not hold up the end, and the next run gets the port.
func TestCancelWhileWaiting(t *testing.T) {
	asked := make(chan struct{}, 10)
	w := &tap{t: t, name: answerRTU(t, func([]byte) []byte { asked <- struct{}{}; return []byte{} })}
	cfg := config(w, Block{Function: ReadHolding, Count: 1})
	cfg.Timeout = 900 * time.Millisecond
	s := newSource(t, cfg, capture.StartClock())
	for range 2 {
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan error, 1)
		go func() { done <- s.Capture(ctx, func(capture.Record) error { return nil }) }()
		<-asked
		begun := time.Now()
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
		if took := time.Since(begun); took > cfg.Timeout/2 {
			t.Errorf("Capture took %v to return", took)
		}
	}
}

// TestStrayBytes: a line without bias makes a stray byte when a transmitter lets go of it. What lies there before a request
// is no answer to it, and spoils none.
func TestStrayBytes(t *testing.T) {
	answer := unhex(t, "01 03 04 0001 0002")
	answer = append(answer, crc16(answer)...)
	for _, stray := range [][]byte{{0}, {0xFF, 0x00, 0x80}, answer} {
		w := &tap{t: t}
		w.name = answerRTU(t, func([]byte) []byte { return append(bytes.Clone(answer), stray...) })
		n := 0
		got, err := watch(t, newSource(t, config(w, Block{Function: ReadHolding, Count: 2}), capture.StartClock()), func(capture.Record) bool {
			n++
			return n < 5
		})
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range got {
			if r.Note != "" || string(r.Payload) != "\x00\x01\x00\x02" {
				t.Errorf("stray % X: %q % X", stray, r.Note, r.Payload)
			}
		}
	}
}
