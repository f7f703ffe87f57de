package opentherm

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestWorkedFrames(t *testing.T) {
	for _, w := range worked {
		t.Run(w.hex, func(t *testing.T) {
			f, err := ParseFrame(w.hex)
			if err != nil {
				t.Fatal(err)
			}
			if err := f.Check(); err != nil {
				t.Fatal(err)
			}
			if f.Type() != w.kind || f.ID() != w.id || f.HB() != w.hb || f.LB() != w.lb || f.Spare() != 0 {
				t.Errorf("%s, id %d, %02X %02X, spare %d", f.Type(), f.ID(), f.HB(), f.LB(), f.Spare())
			}
			if made := NewFrame(w.kind, w.id, Bytes(w.hb, w.lb)); made != f || made.String() != w.hex {
				t.Errorf("made again it is %s", made)
			}
			if f.FromMaster() != (w.kind < ReadAck) {
				t.Errorf("sent by the master: %v", f.FromMaster())
			}
			text := Explain(f).String()
			for _, s := range w.says {
				if !strings.Contains(text, s) {
					t.Errorf("the explanation lacks %q:\n%s", s, text)
				}
			}
		})
	}
}

func TestRejectedFrames(t *testing.T) {
	tests := []struct {
		name, hex string
		want      error
		says      string
	}{
		{"flow frame with its parity bit flipped", "C0193D80", ErrOddParity, "parity"},
		{"reserved type 3, parity sound", "B0190000", ErrReservedType, "message type 3"},
		{"seven digits", "40193D8", ErrDigits, "has 7 characters"},
		{"nine digits", "40193D800", ErrDigits, "has 9 characters"},
		{"none", "", ErrDigits, "has 0 characters"},
		{"not hexadecimal", "40193G80", ErrDigits, `"G" at place 6`},
		{"two bytes of UTF-8", "40193D8°"[:8], ErrDigits, "at place 8"},
		{"with a prefix", "0x401938", ErrDigits, `"x" at place 2`},
		{"a whole text", strings.Repeat("40193D80 ", 1000), ErrDigits, "has 9000 characters"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f, err := ParseFrame(tt.hex)
			if err == nil {
				x := Explain(f)
				err = x.Err
				if !strings.Contains(x.String(), "rejected") || len(x.Values) != 0 {
					t.Errorf("explained as\n%s", x)
				}
			}
			if !errors.Is(err, tt.want) || !strings.Contains(err.Error(), tt.says) || len(err.Error()) > 150 {
				t.Errorf("error %q, want one with %q", err, tt.says)
			}
		})
	}
}

// The parity of 32 bits notices any single flipped bit (4.2.1).
func TestOneFlippedBitIsNoticed(t *testing.T) {
	for _, w := range worked {
		f, err := ParseFrame(w.hex)
		if err != nil {
			t.Fatal(err)
		}
		for bit := range 32 {
			if err := (f ^ 1<<bit).Check(); !errors.Is(err, ErrOddParity) {
				t.Errorf("%s with bit %d flipped: %v", f, bit, err)
			}
		}
	}
}

func TestMadeFramesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom([]MsgType{ReadData, WriteData, InvalidData, ReadAck, WriteAck, DataInvalid, UnknownDataID}).Draw(t, "type")
		id, word := rapid.Uint8().Draw(t, "id"), rapid.Uint16().Draw(t, "word")
		f := NewFrame(kind, id, word)
		hex := f.String()
		if rapid.Bool().Draw(t, "lower case") {
			hex = strings.ToLower(hex)
		}
		back, err := ParseFrame(hex)
		if err != nil || back != f || back.Check() != nil {
			t.Fatalf("%s comes back as %s, %v, %v", f, back, err, back.Check())
		}
		if back.Type() != kind || back.ID() != id || back.Word() != word {
			t.Fatalf("%s: %s %d %04X", back, back.Type(), back.ID(), back.Word())
		}
	})
}

// Every 32 bits have an explanation, and it begins with the frame.
func TestEveryFrameIsExplained(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := Frame(rapid.Uint32().Draw(t, "frame"))
		x := Explain(f)
		for _, line := range x.Lines() {
			if strings.TrimSpace(line) == "" || strings.Contains(line, "\n") || strings.Contains(line, "%!") {
				t.Fatalf("%s: line %q", f, line)
			}
		}
		if !strings.HasPrefix(x.String(), f.String()) {
			t.Fatalf("%s: %s", f, x)
		}
		if f.Check() == nil && len(x.Values) == 0 {
			t.Fatalf("%s: nothing is said:\n%s", f, x)
		}
	})
}

// OpenTherm Protocol Specification v2.2, 5.1: 21.5 and −5.25 are its own examples, the others computed.
func TestF88(t *testing.T) {
	tests := []struct {
		word uint16
		want float64
	}{
		{0x1580, 21.5}, {0xFAC0, -5.25}, {0x3D80, 61.5}, {0x3040, 48.25}, {0xFF80, -0.5}, {0xFFFF, -0.00390625},
		{0xD800, -40}, {0x2580, 37.5}, {0x0180, 1.5}, {0x6400, 100}, {0x7FFF, 127.99609375}, {0x8000, -128}, {0, 0},
	}
	for _, tt := range tests {
		if got := FromF88(tt.word); got != tt.want {
			t.Errorf("%04X = %v, want %v", tt.word, got, tt.want)
		}
		if got, ok := ToF88(tt.want); !ok || got != tt.word {
			t.Errorf("%v = %04X, %v; want %04X", tt.want, got, ok, tt.word)
		}
	}
	for word := range 1 << 16 {
		if got, ok := ToF88(FromF88(uint16(word))); !ok || got != uint16(word) {
			t.Fatalf("%04X comes back as %04X, %v", word, got, ok)
		}
	}
	for _, v := range []float64{128, -128.01, math.NaN(), math.Inf(1), 1e300} {
		if w, ok := ToF88(v); ok {
			t.Errorf("%v fits f8.8 as %04X", v, w)
		}
	}
}

// 5.1: two's complement for s8 and s16.
func TestWholeNumbers(t *testing.T) {
	tests := []struct {
		kind DataType
		raw  uint16
		want float64
	}{
		{U8, 0xFF, 255}, {S8, 0x7F, 127}, {S8, 0x80, -128}, {S8, 0xFF, -1},
		{U16, 0xFFFF, 65535}, {S16, 0x7FFF, 32767}, {S16, 0x8000, -32768}, {S16, 0xFFFD, -3}, {S16, 0x0044, 68},
	}
	for _, tt := range tests {
		if got := number(tt.kind, tt.raw); got != tt.want {
			t.Errorf("%s %04X = %v, want %v", tt.kind, tt.raw, got, tt.want)
		}
	}
}
