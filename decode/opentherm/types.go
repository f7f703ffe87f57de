package opentherm

import (
	"fmt"
	"math"
)

// MsgType is the message type of a frame, 0–7 (4.2.2, 4.4).
type MsgType uint8

// The message types. The first four are the master's, the others the slave's.
const (
	ReadData      MsgType = iota // asks for a value
	WriteData                    // carries a value to the slave
	InvalidData                  // the master has no valid value but keeps the id alive
	ReservedType                 // never sent
	ReadAck                      // carries the value asked for
	WriteAck                     // value accepted, possibly changed by the slave
	DataInvalid                  // id known, value not available or not valid
	UnknownDataID                // id not supported
)

// String gives the specification's name of the type.
func (t MsgType) String() string {
	if t > UnknownDataID {
		return fmt.Sprintf("type-%d", uint8(t))
	}
	return [...]string{"Read-Data", "Write-Data", "Invalid-Data", "reserved type 3",
		"Read-Ack", "Write-Ack", "Data-Invalid", "Unknown-DataId"}[t]
}

// DataType is how a byte or the 16-bit word carries its value (5.1).
type DataType uint8

// The data types. The zero DataType is none: the byte is reserved.
const (
	NoType  DataType = iota
	Flag8            // 8 single bits, bit 0 the least significant
	U8               // 0…255
	S8               // −128…127, two's complement
	U16              // 0…65535
	S16              // −32768…32767, two's complement
	F88              // S16 ÷ 256: −128…+127.99609375, step 0.00390625
	Special          // laid out in a way of its own
)

// String gives the specification's name of the type.
func (d DataType) String() string {
	return [...]string{"none", "flag8", "u8", "s8", "u16", "s16", "f8.8", "special"}[min(d, Special)]
}

// wide tells whether the type takes the whole word.
func (d DataType) wide() bool { return d == U16 || d == S16 || d == F88 }

// FromF88 gives the number that a word of type f8.8 stands for. The bytes are never taken apart: HB is the integer
// part of values ≥ 0 only.
func FromF88(word uint16) float64 { return float64(int16(word)) / 256 }

// ToF88 gives the nearest word of type f8.8; false where v is NaN or outside −128…+127.99609375.
func ToF88(v float64) (uint16, bool) {
	n := math.Round(v * 256)
	if !(n >= math.MinInt16 && n <= math.MaxInt16) {
		return 0, false
	}
	return uint16(int16(n)), true
}

// FromS16 gives the number that a word of type s16 stands for.
func FromS16(word uint16) float64 { return float64(int16(word)) }

// FromS8 gives the number that a byte of type s8 stands for.
func FromS8(b uint8) float64 { return float64(int8(b)) }

// Bytes joins HB and LB into a word.
func Bytes(hb, lb uint8) uint16 { return uint16(hb)<<8 | uint16(lb) }

// Part says which part of the word a [Field] takes.
type Part uint8

// The parts. The zero Part is no part: the field does not exist.
const (
	NoPart Part = iota
	HB          // high byte
	LB          // low byte
	Word        // both
)

func (p Part) String() string { return [...]string{"", "HB", "LB", "word"}[min(p, Word)] }

// raw cuts the part out of a word.
func (p Part) raw(word uint16) uint16 {
	switch p {
	case HB:
		return word >> 8
	case LB:
		return word & 0xFF
	}
	return word
}

// number gives the value of a part by its type. Flags and specials are given as their plain number.
func number(d DataType, raw uint16) float64 {
	switch d {
	case F88:
		return FromF88(raw)
	case S16:
		return FromS16(raw)
	case S8:
		return FromS8(uint8(raw))
	}
	return float64(raw)
}
