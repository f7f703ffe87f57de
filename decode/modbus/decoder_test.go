package modbus_test

import (
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"tundish/capture"
	"tundish/decode"
	"tundish/decode/decodetest"
	"tundish/decode/modbus"
	"tundish/decode/unit"
)

var noon = time.Date(2026, 1, 12, 12, 0, 0, 0, time.UTC)

// at makes a record of registers in hexadecimal, so many seconds after noon.
func at(t testing.TB, seconds int, channel, registers string) capture.Record {
	t.Helper()
	p, err := hex.DecodeString(strings.ReplaceAll(registers, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return capture.Record{Seq: uint64(seconds + 1), At: time.Duration(seconds) * time.Second,
		Time: noon.Add(time.Duration(seconds) * time.Second), Source: "meter", Channel: channel, Payload: p}
}

func newDecoder(t testing.TB, m ...modbus.Entry) *modbus.Decoder {
	t.Helper()
	d, err := modbus.New(modbus.Config{Source: "meter", Map: m})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func between(t testing.TB, from string, p decode.Point) unit.Scale {
	t.Helper()
	s, err := unit.Between(from, p.Unit())
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestOneValue: one entry, one answer. Registers and values of floats are IEEE 754; 21.5 and 123456 in the four orders
// were computed with Python's struct module, and so was what is marked struct.
func TestOneValue(t *testing.T) {
	const none = -1e99
	in := func(e modbus.Entry) modbus.Entry {
		e.Table = modbus.Input
		if e.Point == decode.NoPoint {
			e.Point = decode.HeatEnergy
		}
		return e
	}
	tests := []struct {
		name, registers string
		e               modbus.Entry
		want            float64
		err             error
	}{
		{"u16, 300 tenths", "012C", modbus.Entry{Type: modbus.U16, Scale: 0.1}, 30, nil},
		{"tenths are exact", "0225", modbus.Entry{Type: modbus.U16, Scale: 0.1}, 54.9, nil},
		{"u16, highest", "FFFF", modbus.Entry{Type: modbus.U16}, 65535, nil},
		{"i16 below zero", "FF38", modbus.Entry{Type: modbus.I16, Scale: 0.1, Point: decode.Outside}, -20, nil}, // struct: >h −200
		{"i16, lowest", "8000", modbus.Entry{Type: modbus.I16}, -32768, nil},
		{"u16, little bytes", "2C01", modbus.Entry{Type: modbus.U16, LittleBytes: true}, 300, nil},
		{"u32 ABCD", "0001 E240", modbus.Entry{Type: modbus.U32}, 123456, nil},
		{"u32 CDAB", "E240 0001", modbus.Entry{Type: modbus.U32, LittleWords: true}, 123456, nil},
		{"u32 BADC", "0100 40E2", modbus.Entry{Type: modbus.U32, LittleBytes: true}, 123456, nil},
		{"u32 DCBA", "40E2 0100", modbus.Entry{Type: modbus.U32, LittleWords: true, LittleBytes: true}, 123456, nil},
		{"u32 in the wrong order", "E240 0001", modbus.Entry{Type: modbus.U32}, 3795845121, nil},
		{"i32 below zero", "FFFE 1DC0", modbus.Entry{Type: modbus.I32}, -123456, nil}, // struct: >i
		{"f32 ABCD", "41AC 0000", modbus.Entry{Type: modbus.F32, Point: decode.Flow}, 21.5, nil},
		{"f32 CDAB", "0000 41AC", modbus.Entry{Type: modbus.F32, Point: decode.Flow, LittleWords: true}, 21.5, nil},
		{"f32 BADC", "AC41 0000", modbus.Entry{Type: modbus.F32, Point: decode.Flow, LittleBytes: true}, 21.5, nil},
		{"f32 DCBA", "0000 AC41", modbus.Entry{Type: modbus.F32, Point: decode.Flow, LittleWords: true, LittleBytes: true}, 21.5, nil},
		{"u64", "0000 0002 DFDC 1C35", modbus.Entry{Type: modbus.U64}, 12345678901, nil}, // struct: >Q
		{"u64, little words", "1C35 DFDC 0002 0000", modbus.Entry{Type: modbus.U64, LittleWords: true}, 12345678901, nil},
		{"i64 below zero", "FFFF FFFD 2023 E3CB", modbus.Entry{Type: modbus.I64}, -12345678901, nil},  // struct: >q
		{"f64", "4035 8000 0000 0000", modbus.Entry{Type: modbus.F64, Point: decode.Flow}, 21.5, nil}, // struct: >d
		{"f64 DCBA", "0000 0000 0080 3540", modbus.Entry{Type: modbus.F64, Point: decode.Flow, LittleWords: true, LittleBytes: true}, 21.5, nil},
		{"bcd16", "1234", modbus.Entry{Type: modbus.BCD16}, 1234, nil},
		{"bcd32, little words", "5678 1234", modbus.Entry{Type: modbus.BCD32, LittleWords: true}, 12345678, nil},
		{"bcd32, highest", "9999 9999", modbus.Entry{Type: modbus.BCD32}, 99999999, nil},
		{"bcd digit above 9", "123A", modbus.Entry{Type: modbus.BCD16}, none, modbus.ErrDigit},
		{"bcd, all ones absent", "FFFF", modbus.Entry{Type: modbus.BCD16, Absent: []int64{0xFFFF}}, none, nil},
		{"bit 3 up", "0008", modbus.Entry{Type: modbus.Bit, Bit: 3, Point: decode.HeatDemand}, 1, nil},
		{"bit 3 down", "FFF7", modbus.Entry{Type: modbus.Bit, Bit: 3, Point: decode.HeatDemand}, 0, nil},
		{"bit 15", "8000", modbus.Entry{Type: modbus.Bit, Bit: 15, Point: decode.Flame}, 1, nil},
		{"bit, inverted", "0000", modbus.Entry{Type: modbus.Bit, Point: decode.Supply, Invert: true}, 1, nil},
		{"bit 0 with little bytes", "0100", modbus.Entry{Type: modbus.Bit, Point: decode.Pump, LittleBytes: true}, 1, nil},
		{"a whole register as a contact", "0001", modbus.Entry{Type: modbus.U16, Point: decode.Flame}, 1, nil},
		{"a contact that is 2", "0002", modbus.Entry{Type: modbus.U16, Point: decode.Flame}, none, modbus.ErrImpossible},
		{"°F", "0870", modbus.Entry{Type: modbus.U16, Scale: 0.1, Point: decode.Flow, To: between(t, "°F", decode.Flow)}, 102.2222222, nil}, // 216 °F = 102 2/9 °C
		{"offset before the unit", "0064", modbus.Entry{Type: modbus.U16, Scale: 2, Offset: 32 - 200, Point: decode.Flow, To: between(t, "°F", decode.Flow)}, 0, nil},
		{"l/h", "02D0", modbus.Entry{Type: modbus.U16, Point: decode.FlowRate, To: between(t, "l/h", decode.FlowRate)}, 12, nil},
		{"MJ", "0000 0E10", modbus.Entry{Type: modbus.U32, To: between(t, "MJ", decode.HeatEnergy)}, 1000, nil}, // 3.6 MJ = 1 kWh
		{"i16 absent as bits", "8000", modbus.Entry{Type: modbus.I16, Absent: []int64{0x8000}}, none, nil},
		{"i16 absent as a number", "8000", modbus.Entry{Type: modbus.I16, Absent: []int64{-32768}}, none, nil},
		{"i16 that is not absent", "7FFF", modbus.Entry{Type: modbus.I16, Absent: []int64{0x8000, -1}}, 32767, nil},
		{"i64, highest, absent", "7FFF FFFF FFFF FFFF", modbus.Entry{Type: modbus.I64, Absent: []int64{math.MaxInt64}}, none, nil},
		{"u64, all ones, absent", "FFFF FFFF FFFF FFFF", modbus.Entry{Type: modbus.U64, Absent: []int64{-1}}, none, nil},
		{"f32 absent", "C61C 3C00", modbus.Entry{Type: modbus.F32, AbsentFloats: []float64{-9999}}, none, nil}, // struct: >f
		{"f32 quiet NaN", "7FC0 0000", modbus.Entry{Type: modbus.F32}, none, modbus.ErrNoNumber},
		{"f32 signalling NaN", "7F80 0001", modbus.Entry{Type: modbus.F32}, none, modbus.ErrNoNumber},
		{"f32 +Inf", "7F80 0000", modbus.Entry{Type: modbus.F32}, none, modbus.ErrNoNumber},
		{"f32 −Inf", "FF80 0000", modbus.Entry{Type: modbus.F32}, none, modbus.ErrNoNumber},
		{"f64 NaN", "7FF8 0000 0000 0000", modbus.Entry{Type: modbus.F64}, none, modbus.ErrNoNumber},
		{"f64 that a scale takes past its end", "7FE0 0000 0000 0000", modbus.Entry{Type: modbus.F64, Scale: 1e12}, none, modbus.ErrImpossible},
		{"flow of 3000 °C", "0BB8", modbus.Entry{Type: modbus.U16, Point: decode.Flow}, none, modbus.ErrImpossible},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := in(tt.e)
			e.Address = 7
			channel := fmt.Sprintf("input 7-%d", e.Last())
			got := none
			err := newDecoder(t, e).Decode(at(t, 0, channel, tt.registers), func(r decode.Reading) { got = r.Value })
			if !errors.Is(err, tt.err) {
				t.Errorf("error %v, want %v", err, tt.err)
			}
			if tt.name == "tenths are exact" && got != tt.want || math.Abs(got-tt.want) > 1e-7 { // the °F case is written with seven digits
				t.Errorf("%v, want %v", got, tt.want)
			}
			if x, ok := errors.AsType[*decode.Error](err); ok && x.Series.Point != e.Point {
				t.Errorf("the error is of %v", x.Series)
			}
		})
	}
}

// sampleMap is of a heat meter with a contact, beside each other and apart.
func sampleMap() []modbus.Entry {
	return []modbus.Entry{
		{Point: decode.Flow, Table: modbus.Input, Address: 100, Type: modbus.I16, Scale: 0.1, Absent: []int64{0x8000}},
		{Point: decode.Return, Table: modbus.Input, Address: 101, Type: modbus.I16, Scale: 0.1},
		{Point: decode.HeatPower, Table: modbus.Input, Address: 102, Type: modbus.F32, LittleWords: true},
		{Point: decode.HeatDemand, Table: modbus.Holding, Address: 7, Type: modbus.Bit, Bit: 3},
		{Point: decode.Supply, Table: modbus.Holding, Address: 7, Type: modbus.Bit, Bit: 4, Invert: true},
		{Point: decode.ElectricEnergy, Unit: 5, Table: modbus.Holding, Address: 0, Type: modbus.BCD32},
	}
}

// sample are answers that [sampleMap] reads.
//
// The conformance suite's garbage is of 1, 2, 8, 9, 12 and more bytes, and any two bytes are a register: the answers here
// are of other lengths.
func sample(t testing.TB) []capture.Record {
	line := at(t, 4, "", "")
	line.Payload = []byte("input 100-101 00C8 012c\r\n")
	return []capture.Record{
		at(t, 0, "input 100-104", "02BC 0226 0000 41AC 0000"),
		at(t, 1, "holding 6-7", "FFFF 0008"),
		at(t, 2, "unit 5 holding 0-1", "0012 3456"),
		at(t, 3, "input 100-104", "8000 0226 0000 7FC0 0000"),
		line,
	}
}

// TestSample reads whole answers: what lies in them whole is read, what is none is left out, and the rest goes on.
func TestSample(t *testing.T) {
	want := []string{
		"meter/flow 70", "meter/return 55", "meter/heat-power 21.5", "meter/heat-demand 1", "meter/supply 1",
		"meter/electric-energy 123456", "meter/return 55", "meter/flow 20", "meter/return 30",
	}
	d := newDecoder(t, sampleMap()...)
	var got []string
	for i, r := range sample(t) {
		err := d.Decode(r, func(r decode.Reading) { got = append(got, fmt.Sprintf("%s %.6g", r.Series, r.Value)) })
		if (err != nil) != (i == 3) { // where the power is no number
			t.Errorf("record %d: %v", i, err)
		}
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	for _, c := range d.Tally() {
		if n, ok := map[string]uint64{"answers": 5, "readings": 9, "registers that say no value": 1, "registers that hold no number": 1}[c.Name]; ok && n != c.N {
			t.Errorf("%d %s, want %d", c.N, c.Name, n)
		}
	}
}

// TestLayout: answers that say too little or too much of themselves give nothing.
func TestLayout(t *testing.T) {
	e := modbus.Entry{Point: decode.Flow, Table: modbus.Input, Address: 1, Type: modbus.U16}
	for _, r := range []capture.Record{
		at(t, 0, "input 1-2", "0001"), at(t, 0, "input 1-1", "000102"), at(t, 0, "input 1-1", "00"), at(t, 0, "input 1", ""),
		at(t, 0, "coils 1-1", "0001"), at(t, 0, "input 2-1", ""), at(t, 0, "input 1-126", strings.Repeat("0001", 126)),
		at(t, 0, "input +1-1", "0001"), at(t, 0, "unit 0 input 1-1", "0001"), at(t, 0, "unit 256 input 1-1", "0001"),
		at(t, 0, "input 1-65536", "0001"), at(t, 0, "unit 1", "0001"), at(t, 0, "input", "0001"),
	} {
		err := newDecoder(t, e).Decode(r, func(x decode.Reading) { t.Errorf("%q % X gave %v", r.Channel, r.Payload, x) })
		if err == nil {
			t.Errorf("%q % X: no error", r.Channel, r.Payload)
		}
	}
	// Others of the device's answers, and a part of a value, are no errors and no readings.
	two := modbus.Entry{Point: decode.Flow, Table: modbus.Input, Address: 1, Type: modbus.U32}
	for _, channel := range []string{"input 1-1", "input 2-2", "holding 1-1", "unit 7 input 1-1"} {
		if err := newDecoder(t, two).Decode(at(t, 0, channel, "0001"), func(r decode.Reading) { t.Error(channel, r) }); err != nil {
			t.Error(err)
		}
	}
}

func TestConflict(t *testing.T) {
	e := func(address uint16, typ modbus.Type) modbus.Entry {
		return modbus.Entry{Point: decode.Flow, Table: modbus.Input, Address: address, Type: typ}
	}
	bit := modbus.Entry{Point: decode.Flame, Table: modbus.Input, Address: 10, Type: modbus.Bit, Bit: 2}
	elsewhere, other, swapped := e(10, modbus.U32), e(10, modbus.U32), e(10, modbus.U32)
	elsewhere.Table, other.Unit, swapped.LittleWords = modbus.Holding, 3, true
	tests := []struct {
		name string
		a, b modbus.Entry
		sore bool
	}{
		{"side by side", e(10, modbus.U32), e(12, modbus.U16), false},
		{"the second half", e(10, modbus.U32), e(11, modbus.U16), true},
		{"the first half", e(10, modbus.U32), e(10, modbus.U16), true},
		{"shifted by one", e(10, modbus.F32), e(11, modbus.F32), true},
		{"same registers, other type", e(10, modbus.F32), e(10, modbus.U32), true},
		{"signed and unsigned", e(10, modbus.U16), e(10, modbus.I16), true},
		{"same registers, same way", e(10, modbus.F32), e(10, modbus.F32), false},
		{"same registers, other order", e(10, modbus.U32), swapped, true},
		{"a bit of a whole register", e(10, modbus.U16), bit, false},
		{"a bit of half a value", e(10, modbus.U32), bit, true},
		{"two bits", bit, bit, false},
		{"other table", e(10, modbus.F32), elsewhere, false},
		{"other device", e(10, modbus.F32), other, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for _, pair := range [][2]modbus.Entry{{tt.a, tt.b}, {tt.b, tt.a}} {
				if err := modbus.Conflict(pair[0], pair[1]); (err != nil) != tt.sore {
					t.Errorf("error %v", err)
				}
			}
		})
	}
}

func TestConformance(t *testing.T) {
	decodetest.TestDecoder(t, func() decode.Decoder { return newDecoder(t, sampleMap()...) }, sample(t))
}

func TestNothingAllocated(t *testing.T) {
	d := newDecoder(t, sampleMap()...)
	recs := sample(t)
	recs = append(recs[:3], recs[4]) // without the one that is an error
	if n := testing.AllocsPerRun(100, func() {
		for _, r := range recs {
			_ = d.Decode(r, func(decode.Reading) {})
		}
	}); n != 0 {
		t.Errorf("%v allocations for %d records, want none", n, len(recs))
	}
}

func FuzzDecode(f *testing.F) {
	for _, r := range sample(f) {
		f.Add(r.Channel, r.Payload, uint8(modbus.F32), int64(0x8000), 0.1)
	}
	f.Add("input 65535-65535", []byte{0xFF, 0xFF}, uint8(modbus.BCD16), int64(-1), 1e300)
	f.Fuzz(func(t *testing.T, channel string, payload []byte, typ uint8, absent int64, scale float64) {
		one := modbus.Entry{Point: decode.GasVolume, Table: modbus.Input, Address: 104, Type: modbus.Type(typ), Scale: scale, Absent: []int64{absent}}
		m := sampleMap()
		if one.Check() == nil {
			m = append(m, one)
		}
		d := newDecoder(t, m...)
		for range 2 {
			n := 0
			_ = d.Decode(capture.Record{Seq: 1, Time: noon, Source: "meter", Channel: channel, Payload: payload}, func(r decode.Reading) {
				n++
				if err := decodetest.Check(r); err != nil {
					t.Errorf("%q % X: %v", channel, payload, err)
				}
			})
			if n > len(m) {
				t.Errorf("%d readings of %d entries", n, len(m))
			}
		}
	})
}
