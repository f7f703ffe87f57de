package mbus

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// one reads records behind CI 78, which has no header.
func one(t *testing.T, text string) ([]string, error) {
	t.Helper()
	lines, _, err := list(built(0x08, 1, 0x78, frame(t, text)...))
	return lines, err
}

// TestRecords has one rule of EN 13757-3 a line.
func TestRecords(t *testing.T) {
	for _, c := range []struct{ name, bytes, want string }{
		// DIF and DIFE (EN 13757-3, 6.3)
		{"storage, tariff, subunit", "C4 64 06 01000000", "energy storage 9 tariff 2 subunit 1 = 1 kWh"},
		{"two DIFE", "9C 80 01 06 78563412", "energy max storage 32 = 1.2345678e+07 kWh"},
		{"minimum", "21 5B 05", "flow-temperature min = 5 °C"},
		{"in error", "31 5B 05", "flow-temperature error = 5 °C"},
		{"ten DIFE", "81 80 80 80 80 80 80 80 80 80 01 5B 05", "flow-temperature storage 137438953472 = 5 °C"},
		{"filler", "2F 2F 01 5B 05 2F", "flow-temperature = 5 °C"},
		// Kinds of data (EN 13757-3, annex A)
		{"8 bits", "01 5B FB", "flow-temperature = -5 °C"},
		{"16 bits", "02 5A F6FF", "flow-temperature = -1 °C"},
		{"24 bits", "03 2B FEFFFF", "power = -0.002 kW"},
		{"32 bits", "04 06 39300000", "energy = 12345 kWh"},
		{"48 bits", "06 06 393000000000", "energy = 12345 kWh"},
		{"64 bits", "07 06 3930000000000000", "energy = 12345 kWh"},
		{"real", "05 2E CDCC4C41", "power = 12.8 kW"}, // 12.8 = CD CC 4C 41 (IEEE 754)
		{"real of eight digits", "05 5B B82DF941", "flow-temperature = 31.147324 °C"},
		{"a large real", "05 06 2D9D6160", "energy = 6.50288e+19 kWh"},
		{"a small real", "05 06 00000080", "energy = 0 kWh"},
		{"no number", "05 2E 0000C07F", "power = 7FC00000 (not a number)"},
		{"2 digits", "09 5B 58", "flow-temperature = 58 °C"},
		{"4 digits, minus", "0A 5B 15F0", "flow-temperature = -15 °C"},
		{"6 digits, minus", "0B 5B 0100F0", "flow-temperature = -1 °C"},
		{"12 digits", "0E 03 563412907856", "energy = 5.67890123456e+08 kWh"},
		{"error among digits", "0A 5A D50B", "flow-temperature = 0BD5 (digits that are none)"},
		{"F that is no sign", "0A 5A F501", "flow-temperature = 01F5 (digits that are none)"},
		{"the most negative", "02 59 0080", "flow-temperature = 8000 (the most negative number, a mark for none)"},
		{"nothing", "00 06", "energy = "},
		{"read-out selection", "08 06", "energy = "},
		// Variable length (EN 13757-3, table 5)
		{"text", "0D FD 11 03 434241", "customer = ABC"},
		{"text that steers", "0D FD 11 03 1B4241", "customer = AB?"},
		{"positive digits", "0D 06 C2 3412", "energy = 1234 kWh"},
		{"negative digits", "0D 06 D2 3412", "energy = -1234 kWh"},
		{"binary", "0D 06 E3 010203", "energy = 197121 kWh"},
		{"long binary", "0D 06 F0 " + strings.Repeat("01", 16), "energy = " + strings.Repeat("01", 16) + " (too many digits for a number)"},
		// VIF (EN 13757-3, table 10; MB 8.4.3)
		{"Wh", "01 03 05", "energy = 0.005 kWh"},
		{"MJ", "01 0E 05", "energy = 5 MJ"},
		{"GJ", "01 FB 09 05", "energy = 5000 MJ"},
		{"MWh", "01 FB 01 05", "energy = 5000 kWh"},
		{"l", "01 13 05", "volume = 0.005 m³"},
		{"kg", "01 1B 05", "mass = 5 kg"},
		{"J/h", "01 30 05", "power = 0.005 kJ/h"},
		{"l/h", "01 3B 05", "volume-flow = 0.005 m³/h"},
		{"l/min", "01 44 05", "volume-flow = 5 l/min"},
		{"ml/s", "01 4B 05", "volume-flow = 5e-06 m³/s"},
		{"kg/h", "01 53 05", "mass-flow = 5 kg/h"},
		{"bar", "01 6A 0F", "pressure = 1.5 bar"},
		{"°F", "02 FB 5A D005", "flow-temperature = 148.8 °F"},
		{"text unit", "01 7C 03 68 57 6B 05", "own-unit = 5 kWh"},
		{"maker's", "01 7F 05", "makers-own = 5 !"},
		{"maker's, with VIFEs that are its own", "01 FF 95 75 05", "makers-own = 5 !"},
		{"unknown", "01 FD 71 05", "unknown quantity (VIF FD 71) = 5 !"},
		{"battery", "02 FD 6E 2300", "battery-time = 35 months"},
		{"flags are no number with a sign", "02 FD 17 00FF", "error-flags = 65280"},
		// VIFE (EN 13757-3, tables 15 and 18)
		{"multiplied", "01 DB 75 05", "flow-temperature = 0.5 °C"},
		{"thousandfold", "01 83 7D 05", "energy = 5 kWh"},
		{"no data available", "02 DA 15 0000", "flow-temperature, no data available = 0000 (the meter says that there is no value) !"},
		{"overflow", "02 BE 16 0000", "volume-flow, overflow = 0000 (the meter says that there is no value) !"},
		{"forward only", "04 86 3B 01000000", "energy, forward = 1 kWh !"},
		{"per hour", "01 86 22 05", "energy, per hour = 5 kWh !"},
		{"times past a limit", "01 DB 49 05", "flow-temperature, times past upper limit = 5 !"},
		{"start date", "02 86 39 3F3C", "energy, start date = 15423 !"},
		{"maker's VIFE", "01 DB FF 15 05", "flow-temperature, maker's own meaning = 5 !"},
		{"constant to add", "01 DB 7B 05", "flow-temperature, constant to add = 5 °C !"},
		// Dates (EN 13757-3, annex A, types F, G, I, J)
		{"F, century 1", "04 6D 2D274C31", "date-time = 2026-01-12 07:45"},
		{"F, century 0", "04 6D 2D074C31", "date-time = 2026-01-12 07:45"},
		{"F, invalid", "04 6D AD274C31", "date-time = invalid"},
		{"F, summer", "04 6D 1EAE4137", "date-time = 2026-07-01 14:30 summer time"},
		{"G", "42 6C 3F3C", "date storage 1 = 2025-12-31"},
		{"G, invalid", "42 6C FFFF", "date storage 1 = invalid"},
		{"G, every year", "42 6C FFFC", "date storage 1 = **-12-31"},
		{"I", "06 6D 1E 2D 87 4C 31 03", "date-time = 2026-01-12 07:45:30"},
		{"J", "03 6D 1E 2D 07", "date-time = 07:45:30"},
	} {
		lines, err := one(t, c.bytes)
		if err != nil || len(lines) != 1 || lines[0] != c.want {
			t.Errorf("%s: %q, %v; want %q", c.name, lines, err, c.want)
		}
	}
}

// TestBrokenOff: what came before the place stands, and the place is named.
func TestBrokenOff(t *testing.T) {
	for _, c := range []struct {
		name, bytes string
		want        error
		at          int
	}{
		{"data cut", "01 5B 05 04 06 3930", ErrCut, 7 + 7},
		{"no VIF", "01 5B 05 04", ErrCut, 7 + 4},
		{"no DIFE", "01 5B 05 84", ErrCut, 7 + 4},
		{"no VIFE", "01 5B 05 04 86", ErrCut, 7 + 5},
		{"eleven DIFE", "01 5B 05 81 " + strings.Repeat("80", 10) + "00 5B 05", ErrDIFs, 7 + 3 + 11},
		{"eleven VIFE", "01 5B 05 01 DB " + strings.Repeat("F4", 10) + "74 05", ErrVIFs, 7 + 3 + 12},
		{"text longer than the telegram", "01 5B 05 0D FD 11 BF 41", ErrCut, 7 + 8},
		{"reserved length", "01 5B 05 0D 06 CA 41", ErrReserved, 7 + 5},
		{"reserved DIF", "01 5B 05 3F 00", ErrReserved, 7 + 3},
		{"unit longer than the telegram", "01 5B 05 01 7C 09 41", ErrCut, 7 + 5},
	} {
		b := built(0x08, 1, 0x78, frame(t, c.bytes)...)
		var got []string
		_, at, err := Read(b, func(*Telegram) {}, func(v *Value) { got = append(got, v.Name()) })
		if !errors.Is(err, c.want) || at != c.at || len(got) != 1 {
			t.Errorf("%s: %v at %d with %q; want %v at %d", c.name, err, at, got, c.want, c.at)
		}
	}
}

// TestHighByteFirst: the obsolete order, CI 76 (MB 6.1).
func TestHighByteFirst(t *testing.T) {
	lines, tel, err := list(built(0x08, 1, 0x76, frame(t, "12345678 0443 01 04 2A 00 0000 04 06 00003039 0A 5A 0585")...))
	if diff := cmp.Diff([]string{"energy = 12345 kWh", "flow-temperature = 58.5 °C"}, lines); diff != "" || err != nil {
		t.Errorf("%v\n%s", err, diff)
	}
	if tel.Header.IDText() != "12345678" || MakerLetters(tel.Header.Maker) != "ABC" {
		t.Errorf("%+v", tel.Header)
	}
}

// TestTails: the maker's own data, more telegrams, encryption, a short header.
func TestTails(t *testing.T) {
	_, tel, err := list(built(0x08, 1, 0x7A, frame(t, "2A 08 0000 01 5B 05 1F 010203")...))
	if err != nil || !tel.More || len(tel.Maker) != 3 || tel.Header.Status.Fault() == "" || tel.Header.Known {
		t.Errorf("%+v, %v", tel, err)
	}
	lines, tel, err := list(built(0x08, 1, 0x7A, frame(t, "2A 00 FFFF 01 5B 05")...))
	if err != nil || tel.Locked || len(lines) != 1 {
		t.Errorf("%+v, %q, %v", tel, lines, err)
	}
	_, tel, err = list(built(0x08, 1, 0x7A, frame(t, "2A 00 0000 0F")...))
	if err != nil || tel.More || len(tel.Maker) != 0 {
		t.Errorf("%+v, %v", tel, err)
	}
	lines, tel, err = list(built(0x08, 1, 0x7A, frame(t, "2A 00 1005 01 5B 05")...))
	if err != nil || !tel.Locked || len(lines) != 0 {
		t.Errorf("what is encrypted gave %q, %v", lines, err)
	}
	_, _, err = list(built(0x08, 1, 0x70, 8))
	if !errors.Is(err, ErrApplication) || !strings.Contains(err.Error(), "busy") {
		t.Errorf("got %v", err)
	}
}

func TestMaker(t *testing.T) {
	// ABC = 0x0443: (1 × 32 + 2) × 32 + 3, by the rule of EN 13757-3.
	if c, ok := MakerCode("ABC"); !ok || c != 0x0443 || MakerLetters(c) != "ABC" || MakerLetters(0xFFFF) != "FFFF" {
		t.Errorf("%04X", c)
	}
}

func TestScaleIsExact(t *testing.T) {
	if scale(585, -1) != 58.5 || scale(4, 3) != 4000 || math.Abs(scale(1, -30)/1e-30-1) > 1e-15 || scale(7, 25)/7e25-1 > 1e-15 {
		t.Error("scaling is off")
	}
}

func TestKeyNames(t *testing.T) {
	for _, k := range []Key{{Quantity: Energy}, {Power, Maximum, 3, 0, 0}, {Energy, Instantaneous, 0, 2, 1}, {FlowTemperature, InError, 1 << 40, 1 << 19, 1023}} {
		if got, err := ParseKey(k.String()); err != nil || got != k {
			t.Errorf("%v became %v, %v", k, got, err)
		}
	}
	for _, bad := range []string{"", "flow", "energy storage", "energy storage x", "energy tariff 99999999", "energy twice"} {
		if _, err := ParseKey(bad); err == nil {
			t.Errorf("%q was taken", bad)
		}
	}
}
