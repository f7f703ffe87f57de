package house

import (
	"encoding/hex"
	"fmt"
	"math/bits"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Frames worked out from OpenTherm Protocol Specification v2.2, 4.2 and 5.1 (even parity, f8.8).
func TestFrames(t *testing.T) {
	for _, c := range []struct {
		kind, id uint8
		value    uint16
		want     uint32
	}{
		{readData, 0, 0x0300, 0x00000300}, {readAck, 0, 0x030A, 0xC000030A}, {readAck, 0, 0x0301, 0x40000301},
		{writeData, 1, f88(55, 0), 0x90013700}, {writeAck, 1, f88(55, 0), 0x50013700}, {readData, 25, 0, 0x80190000},
		{readAck, 25, f88(61.5, 0), 0x40193D80}, {readAck, 28, f88(48.25, 0), 0xC01C3040}, {readAck, 27, f88(-5.25, 0), 0xC01BFAC0},
		{readAck, 17, f88(37.5, 0), 0xC0112580}, {readAck, 18, f88(1.5, 0), 0xC0120180}, {readAck, 15, pair(24, 25), 0x400F1819},
		{unknownDataID, 18, 0, 0xF0120000}, {writeData, idReset, pair(1, 0), 0x90040100}, {writeAck, idReset, pair(1, 0x80), 0xD0040180},
		{readAck, idConfig, pair(9, 0), 0xC0030900}, {readAck, 116, 12345, 0xC0743039},
	} {
		if got := frame(c.kind, c.id, c.value); got != c.want {
			t.Errorf("type %d id %d value %04X: %08X, want %08X", c.kind, c.id, c.value, got, c.want)
		}
	}
}

func TestFrameParityIsAlwaysEven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := frame(rapid.Uint8Range(0, 7).Draw(t, "kind"), rapid.Uint8().Draw(t, "id"), rapid.Uint16().Draw(t, "value"))
		if bits.OnesCount32(f)%2 != 0 {
			t.Errorf("%08X has an odd count of ones", f)
		}
	})
}

// CRC-8 check values: the ROM of Maxim Application Note 27, and the usual string.
func TestCRC8(t *testing.T) {
	for in, want := range map[string]byte{"021cb801000000": 0xA2, "313233343536373839": 0xA1, "ffffffffffffffff": 0xC9, "50054b467fff0c10": 0x1C} {
		b, _ := hex.DecodeString(in)
		if got := crc8(b); got != want {
			t.Errorf("crc8(%s) = %02X, want %02X", in, got, want)
		}
	}
}

// Scratchpads of the DS18B20 datasheet's temperatures, with the checksum and millidegrees the kernel prints for them.
func TestScratchpadText(t *testing.T) {
	for _, c := range []struct {
		t    float64
		want string
	}{
		{25.0625, "91 01 4b 46 7f ff 0f 10 25 : crc=25 YES\n91 01 4b 46 7f ff 0f 10 25 t=25062\n"},
		{54.375, "66 03 4b 46 7f ff 0a 10 57 : crc=57 YES\n66 03 4b 46 7f ff 0a 10 57 t=54375\n"},
		{-0.5, "f8 ff 4b 46 7f ff 08 10 f8 : crc=f8 YES\nf8 ff 4b 46 7f ff 08 10 f8 t=-500\n"},
		{85, "50 05 4b 46 7f ff 10 10 bd : crc=bd YES\n50 05 4b 46 7f ff 10 10 bd t=85000\n"},
	} {
		if got := string(appendScratchpad(nil, c.t)); got != c.want {
			t.Errorf("%v °C:\n got %q\nwant %q", c.t, got, c.want)
		}
	}
}

// readScratchpad is an independent reader of the kernel's text.
func readScratchpad(text string) (celsius float64, err error) {
	lines := strings.Split(text, "\n")
	if len(lines) != 3 || lines[2] != "" {
		return 0, fmt.Errorf("%q is not two lines", text)
	}
	b, err := hex.DecodeString(strings.ReplaceAll(lines[0][:26], " ", ""))
	if err != nil || crc8(b) != 0 {
		return 0, fmt.Errorf("%q: bad bytes or checksum", text)
	}
	if lines[0][26:] != fmt.Sprintf(" : crc=%02x YES", b[8]) || !strings.HasPrefix(lines[1], lines[0][:27]+"t=") {
		return 0, fmt.Errorf("%q: lines disagree", text)
	}
	v := float64(int16(uint16(b[0])|uint16(b[1])<<8)) / 16
	var milli int
	if _, err := fmt.Sscanf(lines[1][27:], "t=%d", &milli); err != nil || milli != int(v*1000) {
		return 0, fmt.Errorf("%q: t= is not %v", text, v)
	}
	return v, nil
}

func TestScratchpadReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.Float64Range(-55, 125).Draw(t, "celsius")
		got, err := readScratchpad(string(appendScratchpad(nil, c)))
		if err != nil || got < c-1.0/32-1e-9 || got > c+1.0/32+1e-9 {
			t.Errorf("%v °C reads back as %v, %v", c, got, err)
		}
	})
}
