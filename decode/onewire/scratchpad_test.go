package onewire

import (
	"encoding/hex"
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func bytesOf(t testing.TB, digits string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(digits, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// pad makes a scratchpad of its first eight bytes, with the checksum behind them.
func pad(t testing.TB, digits string) Scratchpad {
	t.Helper()
	b := bytesOf(t, digits)
	if len(b) != 8 {
		t.Fatalf("%q: %d bytes", digits, len(b))
	}
	return Scratchpad(append(b, crc8(b)))
}

func TestChecksum(t *testing.T) {
	tests := []struct {
		name, data string
		want       uint8
	}{
		{"Maxim application note 27: ROM 02 1C B8 01 00 00 00", "02 1C B8 01 00 00 00", 0xA2},
		{"the check string 123456789 of CRC-8/MAXIM", "31 32 33 34 35 36 37 38 39", 0xA1},
		{"computed: eight zero bytes", "00 00 00 00 00 00 00 00", 0x00},
		{"computed: eight FF", "FF FF FF FF FF FF FF FF", 0xC9},
		{"computed: 25.0625 °C", "91 01 4B 46 7F FF 0F 10", 0x25},
		{"computed: 54.375 °C", "66 03 4B 46 7F FF 0A 10", 0x57},
		{"computed: 10.125 °C", "A2 00 4B 46 7F FF 0E 10", 0xE5},
		{"computed: −0.5 °C", "F8 FF 4B 46 7F FF 08 10", 0xF8},
		{"computed: power-on", "50 05 4B 46 7F FF 0C 10", 0x1C},
		{"computed: 85 °C measured", "50 05 4B 46 7F FF 10 10", 0xBD},
		{"computed: too little power", "FF 07 4B 46 7F FF 0C 10", 0xA6},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := bytesOf(t, tt.data)
			if got := crc8(b); got != tt.want {
				t.Errorf("crc8 = %02X, want %02X", got, tt.want)
			}
			if got := crc8(append(b, tt.want)); got != 0 {
				t.Errorf("over data and checksum %02X, want 00", got)
			}
		})
	}
}

// DS18B20 datasheet, table of temperature and data at 12 bits. +85 °C is the table's too; byte 6 tells it from the
// power-on value.
func TestTemperatureTable(t *testing.T) {
	tests := []struct {
		word string // LSB MSB
		want float64
	}{
		{"D0 07", 125}, {"50 05", 85}, {"91 01", 25.0625}, {"A2 00", 10.125}, {"08 00", 0.5},
		{"00 00", 0}, {"F8 FF", -0.5}, {"5E FF", -10.125}, {"6F FE", -25.0625}, {"90 FC", -55},
	}
	for _, tt := range tests {
		for _, f := range []Family{DS18B20, DS1822, DS1825, DS28EA00} {
			p := pad(t, tt.word+"4B 46 7F FF 10 10")
			if got, err := p.Celsius(f); err != nil || got != tt.want {
				t.Errorf("%s %s: %v °C, %v; want %v", f, tt.word, got, err, tt.want)
			}
		}
	}
}

// DS18B20 datasheet, operation: bits below the resolution are undefined.
func TestResolution(t *testing.T) {
	tests := []struct {
		name string
		conf string
		want float64
	}{
		{"12 bits", "7F", 25.9375}, {"11 bits", "5F", 25.875}, {"10 bits", "3F", 25.75}, {"9 bits", "1F", 25.5},
	}
	for _, tt := range tests {
		p := pad(t, "9F 01 4B 46 "+tt.conf+" FF 01 10")
		if got, err := p.Celsius(DS18B20); err != nil || got != tt.want {
			t.Errorf("%s: %v °C, %v; want %v", tt.name, got, err, tt.want)
		}
	}
	// Below zero too the undefined bits are cut off the register: FFFF at 9 bits is FFF8, −0.5 °C.
	p := pad(t, "FF FF 4B 46 1F FF 01 10")
	if got, err := p.Celsius(DS18B20); err != nil || got != -0.5 {
		t.Errorf("FFFF at 9 bits: %v °C, %v; want −0.5", got, err)
	}
}

func TestRefused(t *testing.T) {
	wrong := pad(t, "91 01 4B 46 7F FF 0F 10")
	wrong[8] ^= 1
	tests := []struct {
		name string
		pad  Scratchpad
		f    Family
		want error
	}{
		{"all zero, whose checksum is right", Scratchpad{}, DS18B20, ErrZero},
		{"all zero, other family", Scratchpad{}, DS18S20, ErrZero},
		{"wrong checksum", wrong, DS18B20, ErrChecksum},
		{"power-on", pad(t, "50 05 4B 46 7F FF 0C 10"), DS18B20, ErrPowerOn},
		{"too little power", pad(t, "FF 07 4B 46 7F FF 0C 10"), DS18B20, ErrPower},
		{"too little power, other byte 6", pad(t, "FF 07 4B 46 7F FF 01 10"), DS18B20, ErrPower},
		{"byte 4 zero", pad(t, "91 01 4B 46 00 FF 0F 10"), DS18B20, ErrConfiguration},
		{"byte 4 FF", pad(t, "91 01 4B 46 FF FF 0F 10"), DS18B20, ErrConfiguration},
		{"address pins in byte 4 are DS1825's only", pad(t, "91 01 4B 46 75 FF 0F 10"), DS18B20, ErrConfiguration},
		{"thermocouple converter in family 3B", pad(t, "91 01 4B 46 F5 FF 0F 10"), DS1825, ErrConfiguration},
		{"above 125 °C", pad(t, "D1 07 4B 46 7F FF 0F 10"), DS18B20, ErrRange},
		{"below −55 °C", pad(t, "8F FC 4B 46 7F FF 01 10"), DS18B20, ErrRange},
		{"no counts for a degree", pad(t, "32 00 4B 46 FF FF 0C 00"), DS18S20, ErrCounts},
		{"more counts remain than a degree has", pad(t, "32 00 4B 46 FF FF 11 10"), DS18S20, ErrCounts},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if c, err := tt.pad.Celsius(tt.f); !errors.Is(err, tt.want) {
				t.Errorf("%v °C, error %v, want %v", c, err, tt.want)
			}
		})
	}
	pins := pad(t, "91 01 4B 46 75 FF 0F 10")
	if c, err := pins.Celsius(DS1825); err != nil || c != 25.0625 {
		t.Errorf("DS1825 with address pins: %v °C, %v", c, err)
	}
}

// Registers in half degrees, extended by the DS18S20 datasheet's formula as published code quotes it,
// TEMP_READ − 0.25 + (COUNT_PER_C − COUNT_REMAIN) ÷ COUNT_PER_C, where TEMP_READ has the half degree cut off.
func TestDS18S20(t *testing.T) {
	tests := []struct {
		name, pad string
		want      float64
	}{
		{"+85, as at power-on", "AA 00 4B 46 FF FF 0C 10", 85},
		{"+25 register, 12 of 16 remain", "32 00 4B 46 FF FF 0C 10", 25},
		{"+25.5 register, 4 of 16 remain", "33 00 4B 46 FF FF 04 10", 25.5},
		{"+0.5 register", "01 00 4B 46 FF FF 04 10", 0.5},
		{"0", "00 00 4B 46 FF FF 0C 10", 0},
		{"−0.5 register", "FF FF 4B 46 FF FF 04 10", -0.5},
		{"−25 register", "CE FF 4B 46 FF FF 0C 10", -25},
		{"−55 register", "92 FF 4B 46 FF FF 0C 10", -55},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := pad(t, tt.pad)
			if got, err := p.Celsius(DS18S20); err != nil || got != tt.want {
				t.Errorf("%v °C, %v; want %v", got, err, tt.want)
			}
		})
	}
}

// The kernel's integer conversion cuts toward zero.
func TestMillidegrees(t *testing.T) {
	tests := []struct {
		word string
		want int
	}{{"91 01", 25062}, {"6F FE", -25062}, {"F8 FF", -500}, {"50 05", 85000}, {"FF 07", 127937}, {"00 00", 0}}
	for _, tt := range tests {
		p := pad(t, tt.word+"4B 46 7F FF 0C 10")
		if got := p.millidegrees(); got != tt.want {
			t.Errorf("%s: %d, want %d", tt.word, got, tt.want)
		}
	}
}

// An 8-bit checksum of this polynomial notices every flipped bit.
func TestOneFlippedBitIsNoticed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SliceOfN(rapid.Byte(), 8, 8).Draw(t, "bytes")
		p := Scratchpad(append(b, crc8(b)))
		bit := rapid.IntRange(0, 71).Draw(t, "bit")
		p[bit/8] ^= 1 << (bit % 8)
		_, err := p.Celsius(DS18B20)
		if !errors.Is(err, ErrChecksum) && !errors.Is(err, ErrZero) {
			t.Fatalf("% X: bit %d: %v", p, bit, err)
		}
	})
}
