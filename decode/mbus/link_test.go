package mbus

import (
	"errors"
	"testing"
)

// TestFrames has the exchanges of MB 5.2 and 7, and frames with something wrong.
func TestFrames(t *testing.T) {
	for _, c := range []struct {
		bytes string
		kind  FrameKind
		err   error
		at    int
	}{
		{"E5", Ack, nil, 0},
		{"10 40 01 41 16", Short, nil, 0},
		{"10 7B FD 78 16", Short, nil, 0},
		{"68 03 03 68 53 01 50 A4 16", Control, nil, 0},
		{"68 0B 0B 68 53 FD 52 78 56 34 12 FF FF FF FF B2 16", Long, nil, 0},
		{"68 0B 0B 68 53 FD 52 FF FF FF 1F FF FF FF FF BA 16", Long, nil, 0},
		{"", 0, ErrShort, 0},
		{"00", 0, ErrStart, 0},
		{"10 40 01 41", 0, ErrShort, 4},
		{"10 40 01 42 16", 0, ErrChecksum, 3},
		{"10 40 01 41 17", 0, ErrStop, 4},
		{"10 40 01 41 16 16", 0, ErrTooLong, 5},
		{"68 0B 0C 68 53", 0, ErrLengths, 2},
		{"68 0B 0B 69 53", 0, ErrStart, 3},
		{"68 02 02 68 53 01 54 16", 0, ErrLength, 1},
		{"68 04 04 68 53 01 50 A4 16", 0, ErrShort, 9},
		{"68 03 03 68 53 01 50 A5 16", 0, ErrChecksum, 7},
		{"68 03 03 68 53 01 50 A4 17", 0, ErrStop, 8},
		{"68 FF FF", 0, ErrShort, 3},
	} {
		f, at, err := ParseFrame(frame(t, c.bytes))
		if f.Kind != c.kind || !errors.Is(err, c.err) || at != c.at {
			t.Errorf("%s: kind %d, %v at %d; want %d, %v at %d", c.bytes, f.Kind, err, at, c.kind, c.err, c.at)
		}
	}
}

// TestOneBitFlipped: no flip of one bit of the heat meter's telegram passes (the checksum is a sum of bytes: one flip
// always changes it, and start, lengths and stop are fixed).
func TestOneBitFlipped(t *testing.T) {
	good := frame(t, heatMeter)
	for i := range 8 * len(good) {
		b := append([]byte(nil), good...)
		b[i/8] ^= 1 << (i % 8)
		if _, _, err := ParseFrame(b); err == nil {
			t.Errorf("bit %d flipped was not noticed", i)
		}
	}
}
