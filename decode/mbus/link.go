package mbus

import (
	"errors"
	"fmt"
)

// The bytes that frames begin and end with (EN 13757-2; MB 5.2).
const (
	ackByte    = 0xE5
	shortStart = 0x10
	longStart  = 0x68
	stopByte   = 0x16
)

// LongestFrame is the most bytes a frame has: L is one byte, and six stand around what it counts.
const LongestFrame = 255 + 6

// The reasons for which bytes are no frame; find them with [errors.Is].
var (
	ErrStart    = errors.New("a frame begins with E5, 10 or 68")
	ErrShort    = errors.New("the frame is cut short")
	ErrLengths  = errors.New("the two lengths differ")
	ErrLength   = errors.New("a length below 3 cannot be")
	ErrTooLong  = errors.New("bytes follow behind the frame")
	ErrChecksum = errors.New("the checksum is wrong")
	ErrStop     = errors.New("the frame does not end with 16")
)

// FrameKind is the form of a frame.
type FrameKind uint8

// The forms.
const (
	Ack     FrameKind = iota + 1 // E5
	Short                        // C and A
	Control                      // C, A and CI
	Long                         // C, A, CI and data
)

// Frame is a frame of the link layer. Data is a part of the bytes it was parsed from.
type Frame struct {
	Kind     FrameKind
	C, A, CI byte
	Data     []byte
}

// Bits and functions of C (MB 5.2).
const (
	fromMaster = 0x40
	function   = 0x0F
	rspUD      = 0x08 // an answer with data
)

// FromMaster tells whether the master sent it.
func (f Frame) FromMaster() bool { return f.Kind != Ack && f.C&fromMaster != 0 }

// Answer tells whether it is a meter's answer with data, RSP_UD.
func (f Frame) Answer() bool {
	return (f.Kind == Long || f.Kind == Control) && !f.FromMaster() && f.C&function == rspUD
}

// ParseFrame takes bytes that are one frame, no less and no more. The offset belongs to the error.
func ParseFrame(b []byte) (f Frame, offset int, err error) {
	if len(b) == 0 {
		return f, 0, ErrShort
	}
	n, offset, err := Span(b)
	switch {
	case err != nil:
		return f, offset, err
	case len(b) < n:
		return f, len(b), ErrShort
	case len(b) > n:
		return f, n, ErrTooLong
	}
	switch b[0] {
	case ackByte:
		return Frame{Kind: Ack}, 0, nil
	case shortStart:
		f, b = Frame{Kind: Short, C: b[1], A: b[2]}, b[1:]
		offset = 1
	default:
		f = Frame{Kind: Long, C: b[4], A: b[5], CI: b[6], Data: b[7 : n-2]}
		if len(f.Data) == 0 {
			f.Kind = Control
		}
		b, offset = b[4:], 4
	}
	end := len(b) - 2
	switch {
	case b[end+1] != stopByte:
		return Frame{}, offset + end + 1, ErrStop
	case sum(b[:end]) != b[end]:
		return Frame{}, offset + end, fmt.Errorf("%w: %02X instead of %02X", ErrChecksum, b[end], sum(b[:end]))
	}
	return f, 0, nil
}

// Span says how many bytes the frame has that b begins with, by its first bytes; b may be cut short. 0: too few bytes
// to know. The error says at which offset it cannot be a frame.
func Span(b []byte) (n, offset int, err error) {
	if len(b) == 0 {
		return 0, 0, nil
	}
	switch b[0] {
	case ackByte:
		return 1, 0, nil
	case shortStart:
		return 5, 0, nil
	case longStart:
	default:
		return 0, 0, ErrStart
	}
	switch {
	case len(b) > 1 && b[1] < 3:
		return 0, 1, ErrLength
	case len(b) > 2 && b[2] != b[1]:
		return 0, 2, ErrLengths
	case len(b) > 3 && b[3] != longStart:
		return 0, 3, ErrStart
	case len(b) < 4:
		return 4, 0, nil // at least: whoever waits for bytes wants no fewer
	}
	return int(b[1]) + 6, 0, nil
}

func sum(b []byte) (s byte) {
	for _, x := range b {
		s += x
	}
	return s
}
