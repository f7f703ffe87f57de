package opentherm

import (
	"errors"
	"fmt"
	"math/bits"
)

// FrameDigits is the number of hexadecimal digits of a printed frame.
const FrameDigits = 8

// The reasons for which a frame is rejected; find them with [errors.Is].
var (
	ErrDigits       = errors.New("a frame is 8 hexadecimal digits")
	ErrImpossible   = errors.New("the point cannot have this value")
	ErrOddParity    = errors.New("the count of ones in the 32 bits must be even")
	ErrReservedType = errors.New("no device sends message type 3")
)

// Frame is one telegram, 32 bits, as it was on the line between start and stop bit. Any value can be held, also one
// that no device may send: see [Frame.Check]. The zero Frame is a sound Read-Data of data id 0.
type Frame uint32

// ParseFrame reads exactly 8 hexadecimal digits, upper or lower case, with nothing before or after them. The error is
// an [ErrDigits] that says what was there instead. Parity and type are not looked at, so that a frame which breaks
// those rules can still be explained: see [Frame.Check].
func ParseFrame(hex string) (Frame, error) {
	if len(hex) != FrameDigits {
		return 0, fmt.Errorf("frame %q has %d characters: %w", clip(hex), len(hex), ErrDigits)
	}
	var f Frame
	for i := range FrameDigits {
		d := hexDigit[hex[i]]
		if d < 0 {
			return 0, fmt.Errorf("frame %q has %q at place %d: %w", hex, hex[i:i+1], i+1, ErrDigits)
		}
		f = f<<4 | Frame(d)
	}
	return f, nil
}

// clip keeps an error message on one line when somebody passes a whole file for a frame.
func clip(s string) string {
	const most = 24
	if len(s) > most {
		return s[:most] + "…"
	}
	return s
}

// NewFrame makes a frame with even parity and spare bits 0. Type and id are not checked against the table.
func NewFrame(t MsgType, id uint8, word uint16) Frame {
	f := Frame(t&7)<<28 | Frame(id)<<16 | Frame(word)
	if !f.EvenParity() {
		f |= 1 << 31
	}
	return f
}

// Type is the message type, bits 30–28.
func (f Frame) Type() MsgType { return MsgType(f >> 28 & 7) }

// Spare is bits 27–24. A sender leaves them 0, a receiver ignores them (4.2.3, 5.1).
func (f Frame) Spare() uint8 { return uint8(f >> 24 & 15) }

// ID is the data id, bits 23–16.
func (f Frame) ID() uint8 { return uint8(f >> 16) }

// Word is HB and LB as one 16-bit word, HB the more significant.
func (f Frame) Word() uint16 { return uint16(f) }

// HB is the high data byte, bits 15–8.
func (f Frame) HB() uint8 { return uint8(f >> 8) }

// LB is the low data byte, bits 7–0.
func (f Frame) LB() uint8 { return uint8(f) }

// EvenParity tells whether the count of ones in all 32 bits is even, as it must be (4.2.1).
func (f Frame) EvenParity() bool { return bits.OnesCount32(uint32(f))&1 == 0 }

// FromMaster tells whether the master sent the frame; by bit 30 alone (4.2.2).
func (f Frame) FromMaster() bool { return f&(1<<30) == 0 }

// The rules that a frame can break, in words.
const (
	ruleParity = "odd parity"
	ruleType   = "reserved type"
)

// Check says why the frame must be rejected, an [ErrOddParity] or [ErrReservedType], or nil for a sound frame.
func (f Frame) Check() error {
	switch {
	case !f.EvenParity():
		return fmt.Errorf("%s: %w", ruleParity, ErrOddParity)
	case f.Type() == ReservedType:
		return fmt.Errorf("%s: %w", ruleType, ErrReservedType)
	}
	return nil
}

// String gives the 8 digits, upper case.
func (f Frame) String() string { return fmt.Sprintf("%08X", uint32(f)) }
