package modbus

import (
	"errors"
	"math"
)

// What registers can hold that is no value.
var (
	// ErrNoNumber is a float that is not a number or infinite.
	ErrNoNumber = errors.New("the registers hold no number")
	// ErrDigit is a BCD digit above 9.
	ErrDigit = errors.New("a BCD digit is above 9")
	// ErrImpossible is a value that the point cannot have.
	ErrImpossible = errors.New("no such value can be; are type, word order and scale right?")
)

// bits puts an entry's registers together, highest digit first. regs are the bytes of just its registers.
func (e *Entry) bits(regs []byte) (v uint64) {
	n := len(regs) / 2
	for i := range n {
		at := i
		if e.LittleWords {
			at = n - 1 - i
		}
		high, low := regs[2*at], regs[2*at+1]
		if e.LittleBytes {
			high, low = low, high
		}
		v = v<<16 | uint64(high)<<8 | uint64(low)
	}
	return v
}

// raw is the number that an entry's bits mean. absent: it is one that says that there is no value.
// Whole numbers beyond 2⁵³ lose their last digits; no point needs them.
func (e *Entry) raw(v uint64) (x float64, absent bool, err error) {
	switch e.Type {
	case U16, U32, U64:
		x = float64(v)
	case I16:
		x = float64(int16(v))
	case I32:
		x = float64(int32(v))
	case I64:
		x = float64(int64(v))
	case F32:
		x = float64(math.Float32frombits(uint32(v)))
	case F64:
		x = math.Float64frombits(v)
	case BCD16, BCD32:
		if e.says(v, 0) { // before the digits: 0xFFFF is a common way to say none
			return 0, true, nil
		}
		x, err = bcd(v)
		return x, false, err
	case Bit:
		x = float64(v >> e.Bit & 1)
	}
	if e.Type == F32 || e.Type == F64 {
		if !finite(x) {
			return 0, false, ErrNoNumber
		}
	}
	return x, e.says(v, x), nil
}

// says tells whether the map counts a raw value as none.
func (e *Entry) says(v uint64, x float64) bool {
	for _, a := range e.AbsentFloats {
		if a == x || e.Type == F32 && float32(a) == float32(x) {
			return true
		}
	}
	for _, a := range e.Absent {
		if uint64(a)&e.mask() == v {
			return true
		}
	}
	return false
}

// mask has as many bits as the type.
func (e *Entry) mask() uint64 { return math.MaxUint64 >> (64 - 16*e.Type.Words()) }

func bcd(v uint64) (float64, error) {
	x, unit := 0.0, 1.0
	for ; v > 0; v >>= 4 {
		d := v & 0xF
		if d > 9 {
			return 0, ErrDigit
		}
		x += float64(d) * unit
		unit *= 10
	}
	return x, nil
}

// value is the reading's value, in the point's unit.
func (e *Entry) value(raw float64) float64 {
	v := raw
	if e.Scale != 0 {
		v = scaled(v, e.Scale)
	}
	v += e.Offset
	if e.To.Factor != 0 {
		v = e.To.Of(v)
	}
	if e.Invert {
		v = 1 - v
	}
	return v
}

// scaled is v × scale. A scale such as 0.1 is none that a float can hold; to divide by 10 gives the very number that is
// meant, 54.9 and not 54.900000000000006.
func scaled(v, scale float64) float64 {
	by := math.Round(1 / scale)
	if math.Abs(by) >= 2 && 1/by == scale {
		return v / by
	}
	return v * scale
}
