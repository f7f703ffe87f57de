package mbus

import (
	"encoding/hex"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// frame turns hexadecimal into bytes.
func frame(t testing.TB, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.Join(strings.Fields(text), ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// built puts a long frame around what follows CI, from the rules of EN 13757-2.
func built(c, a, ci byte, data ...byte) []byte {
	b := append([]byte{c, a, ci}, data...)
	cs := byte(0)
	for _, x := range b {
		cs += x
	}
	n := byte(len(b))
	return append(append([]byte{0x68, n, n, 0x68}, b...), cs, 0x16)
}

// list reads a frame and prints each value in a line.
func list(b []byte) (lines []string, t Telegram, err error) {
	t, _, err = Read(b, func(*Telegram) {}, func(v *Value) {
		line := v.Name() + " = "
		if v.Lack == Present {
			line += fmt.Sprint(v.Number)
			if u := v.UnitText(); u != "" {
				line += " " + u
			}
		} else {
			line += v.Text()
		}
		if v.Lack > NoData {
			line += " (" + v.Lack.String() + ")"
		}
		if !v.Plain {
			line += " !"
		}
		lines = append(lines, line)
	})
	return lines, t, err
}

// heatMeter is a heat meter's telegram, synthetic: made by the rules of EN 13757-3 with a calculator, checksum included,
// and read alike by an independent library (see peer_test.go).
const heatMeter = `68 57 57 68 08 01 72 78 56 34 12 43 04 01 04 2A 00 00 00 0C 78 78 56 34 12 04 06 39 30 00 00 04 14 CD 81 01 00
 02 2C 00 05 0B 3B 45 06 00 0A 5A 85 05 0A 5E 12 04 0A 62 73 01 04 22 38 22 00 00 04 26 08 22 00 00 04 6D 2D 27 4C 31
 42 6C 3F 3C 44 06 18 2E 00 00 02 FD 17 00 00 6C 16`

// fixedHeat is a telegram of the older structure (MB 6.2), synthetic.
const fixedHeat = "68 13 13 68 08 05 73 78 56 34 12 0A 00 05 6A 45 23 01 00 78 06 00 00 F4 16"

func TestHeatMeter(t *testing.T) {
	lines, tel, err := list(frame(t, heatMeter))
	if err != nil {
		t.Fatal(err)
	}
	h := tel.Header
	if h.IDText() != "12345678" || MakerLetters(h.Maker) != "ABC" || h.Version != 1 || h.Medium != MediumHeat || h.Access != 42 || h.Status != 0 || tel.More {
		t.Errorf("header %+v", h)
	}
	want := []string{
		"fabrication-number = 1.2345678e+07",
		"energy = 12345 kWh",
		"volume = 987.65 m³",
		"power = 12.8 kW",
		"volume-flow = 0.645 m³/h",
		"flow-temperature = 58.5 °C",
		"return-temperature = 41.2 °C",
		"temperature-difference = 17.3 K",
		"on-time = 8760 h",
		"operating-time = 8712 h",
		"date-time = 2026-01-12 07:45",
		"date storage 1 = 2025-12-31",
		"energy storage 1 = 11800 kWh",
		"error-flags = 0",
	}
	if diff := cmp.Diff(want, lines); diff != "" {
		t.Error(diff)
	}
}

func TestFixed(t *testing.T) {
	lines, tel, err := list(frame(t, fixedHeat))
	if err != nil {
		t.Fatal(err)
	}
	if tel.Header.IDText() != "12345678" || tel.Header.Access != 10 || tel.Header.Medium != MediumHeat || !tel.Fixed || tel.Doubt != "" {
		t.Errorf("%+v", tel)
	}
	if diff := cmp.Diff([]string{"energy = 12345 kWh", "volume = 6.78 m³"}, lines); diff != "" {
		t.Error(diff)
	}
}

// TestFixedOdd: binary counters, kept ones, digits that are none (MB 6.2).
func TestFixedOdd(t *testing.T) {
	for _, c := range []struct {
		name, data string
		want       []string
		doubt      bool
	}{
		{"binary", "78563412 0A 01 05 6A 39300000 A6020000", []string{"energy = 12345 kWh", "volume = 6.78 m³"}, false},
		{"minus", "78563412 0A 00 38 7F 150000F0 00000000", []string{"unknown quantity = -0.015 °C !"}, false},
		{"at a fixed date", "78563412 0A 02 05 6A 45230100 78060000", []string{"energy storage 1 = 12345 kWh", "volume storage 1 = 6.78 m³"}, false},
		{"second is kept", "78563412 0A 00 05 7E 45230100 78060000", []string{"energy = 12345 kWh", "energy storage 1 = 678 kWh"}, false},
		{"no digits", "78563412 0A 00 05 6A A6020000 78060000", []string{"energy = 678 kWh", "volume = 16.56 m³"}, true},
		{"power and flow", "78563412 0A 00 17 70 45230100 78060000", []string{"power = 12345 kW", "volume-flow = 0.00678 m³/h"}, false},
	} {
		lines, tel, err := list(built(0x08, 5, 0x73, frame(t, c.data)...))
		if diff := cmp.Diff(c.want, lines); diff != "" || err != nil || (tel.Doubt != "") != c.doubt {
			t.Errorf("%s: %v, doubt %q\n%s", c.name, err, tel.Doubt, diff)
		}
	}
	if _, _, err := list(built(0x08, 5, 0x73, make([]byte, 15)...)); err == nil {
		t.Error("15 bytes behind CI 73 are no fixed structure")
	}
}
