package mbus

import (
	"math/bits"
	"slices"
)

// fixedLength is what the older fixed structure has behind CI (MB 6.2).
const fixedLength = 16

// Bits of its status byte (MB 6.2, from memory for the first two).
const (
	fixedBinary = 0x01 // counters are binary, else BCD
	fixedStored = 0x02 // counters are of a fixed date
)

// Codes of its units (MB 6.2).
const (
	fixedHistoric = 0x3E // the unit of the other counter, but kept by the meter
	fixedNone     = 0x3F
)

// fixedUnit looks a unit code up.
func fixedUnit(code byte) meaning {
	for _, row := range []struct {
		from, to byte
		meaning
	}{
		{0x02, 0x0A, meaning{Energy, "kWh", -3}},
		{0x0B, 0x13, meaning{Energy, "MJ", -3}},
		{0x14, 0x1C, meaning{Power, "kW", -3}},
		{0x1D, 0x25, meaning{Power, "kJ/h", 0}},
		{0x26, 0x2E, meaning{Volume, "m³", -6}},
		{0x2F, 0x37, meaning{VolumeFlow, "m³/h", -6}},
	} {
		if code >= row.from && code <= row.to {
			m := row.meaning
			m.exp += int8(code - row.from)
			return m
		}
	}
	switch code {
	case 0x38:
		// Which water it is the code does not say.
		return meaning{NoQuantity, "°C", -3}
	case 0x39:
		return meaning{HeatCostUnits, "", 0}
	}
	return meaning{}
}

// fixedHeader reads what stands before the counters. Bits 1 and 0 of its status are not those of the other header.
func fixedHeader(b []byte, backwards bool) Header {
	h := Header{Known: true, ID: uint32(whole(b[:4])), Access: b[4], Status: Status(b[5]) &^ 3}
	if backwards {
		h.ID = bits.ReverseBytes32(h.ID)
	}
	h.Medium = Medium(b[6]>>6 | b[7]>>6<<2)
	return h
}

// fixedBits tells whether the counters are binary. Where the status says that they are digits and they are none, they are
// taken for binary, and that is in doubt.
func fixedBits(b []byte, backwards bool) (binary bool, doubt string) {
	if b[5]&fixedBinary != 0 {
		return true, ""
	}
	if isDecimal(b[8:12], backwards) && isDecimal(b[12:16], backwards) {
		return false, ""
	}
	return true, "the counters' digits are none, so they are read as binary"
}

// fixed gives the two counters.
func (r *reader) fixed(b []byte, offset int, backwards bool, each func(*Value)) {
	binary, _ := fixedBits(b, backwards)
	units := [2]byte{b[6] & 0x3F, b[7] & 0x3F}
	for i := range 2 {
		v := &r.v
		*v = Value{Offset: offset + 8 + 4*i, fixed: true, Plain: true, field: 0xC, backwards: backwards, data: b[8+4*i : 12+4*i]}
		if binary {
			v.field = 0x4
		}
		code := units[i]
		if code == fixedHistoric {
			code, v.Storage = units[1-i], 1
		}
		if b[5]&fixedStored != 0 {
			v.Storage = 1
		}
		if code == fixedNone {
			continue
		}
		m := fixedUnit(code)
		v.Quantity, v.Unit, v.Plain = m.quantity, m.unit, m.quantity != NoQuantity
		low := [4]byte(v.data)
		if backwards {
			slices.Reverse(low[:])
		}
		if v.Number, v.Lack = number(v.field, binary, low[:]); v.Lack == Present {
			v.Number = scale(v.Number, int(m.exp))
		}
		each(v)
	}
}

func isDecimal(b []byte, backwards bool) bool {
	low := [4]byte(b)
	if backwards {
		slices.Reverse(low[:])
	}
	_, ok := decimal(low[:])
	return ok
}
