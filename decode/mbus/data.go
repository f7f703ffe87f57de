package mbus

import (
	"encoding/binary"
	"math"
)

// Function says over what a value was taken, bits 5–4 of the DIF.
type Function uint8

// The functions.
const (
	Instantaneous Function = iota
	Maximum
	Minimum
	InError // the value while the meter is in its error state
)

// Lack says why a record holds no number.
type Lack uint8

// The reasons.
const (
	Present   Lack = iota // it holds one
	NoData                // the record has no data, or is no number: a text, a date
	BadDigits             // A–E, or an F that is no sign, among BCD digits: a display code or an error
	Refused               // a VIFE says that there is no value
	NotANumber
	Lowest // the most negative integer: a common mark for "not known" (from memory)
	TooWide
)

func (l Lack) String() string {
	return [...]string{"", "no number", "digits that are none", "the meter says that there is no value", "not a number",
		"the most negative number, a mark for none", "too many digits for a number"}[min(l, TooWide)]
}

// fieldLengths are the bytes of each kind of data, −1: special (EN 13757-3, 6.3; MB 6.3.3).
var fieldLengths = [16]int8{0, 1, 2, 3, 4, 4, 6, 8, 0, 1, 2, 3, 4, -1, 6, -1}

const (
	fieldReal     = 0x5
	fieldReadOut  = 0x8 // selection for read-out
	fieldVariable = 0xD
	fieldSpecial  = 0xF
)

// integer reads a two's complement number, low byte first, of 1 to 8 bytes.
func integer(b []byte) int64 {
	var u uint64
	for i, x := range b {
		u |= uint64(x) << (8 * i)
	}
	unused := 64 - 8*len(b)
	return int64(u<<unused) >> unused
}

// whole reads an unsigned number, low byte first, of up to 8 bytes.
func whole(b []byte) (u uint64) {
	for i, x := range b {
		u |= uint64(x) << (8 * i)
	}
	return u
}

// decimal reads BCD digits, low byte first. A top digit F is a minus; any other digit above 9 makes it no number
// (EN 13757-3, annex A, type A).
func decimal(b []byte) (v float64, ok bool) {
	var n uint64
	negative := false
	for i := len(b) - 1; i >= 0; i-- {
		high, low := b[i]>>4, b[i]&0xF
		if i == len(b)-1 && high == 0xF {
			negative, high = true, 0
		}
		if high > 9 || low > 9 {
			return 0, false
		}
		n = n*100 + uint64(high)*10 + uint64(low)
	}
	if negative {
		return -float64(n), true
	}
	return float64(n), true
}

// number reads the data of a record by its kind.
func number(field byte, unsigned bool, b []byte) (float64, Lack) {
	switch {
	case len(b) == 0:
		return 0, NoData
	case field == fieldReal:
		v := float64(math.Float32frombits(binary.LittleEndian.Uint32(b)))
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return 0, NotANumber
		}
		return shortest(v), Present
	case field >= 9:
		v, ok := decimal(b)
		if !ok {
			return 0, BadDigits
		}
		return v, Present
	case unsigned:
		return float64(whole(b)), Present
	}
	v := integer(b)
	if v == math.MinInt64>>(64-8*len(b)) {
		return 0, Lowest
	}
	return float64(v), Present
}

// shortest gives the float64 with the fewest decimal digits that is still this float32, so that 12.8 stays 12.8. Nine
// digits always tell one.
func shortest(v float64) float64 {
	if v == 0 {
		return 0
	}
	lead := int(math.Floor(math.Log10(math.Abs(v))))
	for digits := 6; digits <= 9; digits++ {
		e := digits - 1 - lead
		if r := scale(math.Round(scale(v, e)), -e); float32(r) == float32(v) {
			return r
		}
	}
	return v
}

// powers of ten that a float64 holds exactly.
var powers = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// scale gives v × 10^e, rounded once where |e| ≤ 22: 585 × 10^-1 is 58.5, not nearly so.
func scale(v float64, e int) float64 {
	for ; e < -22; e += 22 {
		v /= powers[22]
	}
	for ; e > 22; e -= 22 {
		v *= powers[22]
	}
	if e < 0 {
		return v / powers[-e]
	}
	return v * powers[e]
}

// variable takes the byte LVAR apart: how many bytes follow, and what they are (EN 13757-3, table 5; MB 6.3.3). field
// is the kind of data that reads them; false: a length that is reserved.
func variable(lvar byte) (n int, field byte, negative, text, ok bool) {
	switch {
	case lvar <= 0xBF:
		return int(lvar), 0, false, true, true
	case lvar <= 0xC9:
		return int(lvar) - 0xC0, 0x9, false, false, true
	case lvar >= 0xD0 && lvar <= 0xD9:
		return int(lvar) - 0xD0, 0x9, true, false, true
	case lvar >= 0xE0 && lvar <= 0xEF:
		return int(lvar) - 0xE0, 0x7, false, false, true
	case lvar >= 0xF0 && lvar <= 0xF4:
		return 4 * (int(lvar) - 0xEC), 0x7, false, false, true
	}
	return 0, 0, false, false, false
}
