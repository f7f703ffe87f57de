package opentherm

import (
	"errors"
	"fmt"
	"time"
)

// The wire, by OpenTherm Protocol Specification v2.2, 3.4 and 4.2: a start bit 1, the 32 bits of the frame, most
// significant first, and a stop bit 1, Manchester coded (Bi-phase-L) at 1000 bit/s. A 1 goes from active to idle in
// the middle of its bit, a 0 from idle to active.
//
//	start 1      bit 31 = 1   bit 30 = 0
//	▔▔▔▔▔▁▁▁▁▁   ▔▔▔▔▔▁▁▁▁▁   ▁▁▁▁▁▔▔▔▔▔   high: active
const (
	// WireBits is start, frame and stop.
	WireBits = 34
	// HalfBit is the nominal length of half a bit (3.4.2).
	HalfBit = 500 * time.Microsecond
	// MidBitLeast and MidBitMost bound the time from the middle of one bit to the middle of the next (3.4.2: 1 ms
	// −10 % +15 %). The timing starts anew at every middle; edges between are not bounded by themselves.
	MidBitLeast, MidBitMost = 900 * time.Microsecond, 1150 * time.Microsecond
)

// Errors of [FromEdges], for errors.Is.
var (
	ErrTiming = errors.New("edge out of time")
	ErrShort  = errors.New("edges end before the frame does")
	ErrMarker = errors.New("start or stop bit is not 1")
)

// wireBit is a bit of the 34, from the start bit (0).
func (f Frame) wireBit(i int) bool {
	if i == 0 || i == WireBits-1 {
		return true
	}
	return f>>(32-i)&1 == 1
}

// Edges are the ideal times at which the level changes, counted from the first change from idle to active. They
// alternate active, idle, …; the last one goes to idle.
func (f Frame) Edges() []time.Duration {
	var out []time.Duration
	active := false
	set := func(at time.Duration, to bool) {
		if to != active {
			active = to
			out = append(out, at)
		}
	}
	for i := range WireBits {
		at := time.Duration(2*i) * HalfBit
		one := f.wireBit(i)
		set(at, one)
		set(at+HalfBit, !one)
	}
	return out
}

// FromEdges reads one frame from the times at which the level changed, the first one from idle to active. Edges after
// the stop bit are not looked at. A missing or mistimed middle rejects the frame (3.4.3). The frame's parity and type
// are not judged here, see [Frame.Check].
func FromEdges(edges []time.Duration) (Frame, error) {
	if len(edges) < 2 {
		return 0, fmt.Errorf("%d edges: %w", len(edges), ErrShort)
	}
	// The first edge begins the start bit; the second is its middle.
	var bits uint64 = 1
	middle := edges[1]
	between := 0
	n := 1
	for i := 2; i < len(edges) && n < WireBits; i++ {
		since := edges[i] - middle
		switch {
		case since < 0 || since > MidBitMost:
			return 0, fmt.Errorf("edge %d, %v after the middle of bit %d: %w", i, since, n-1, ErrTiming)
		case since < MidBitLeast: // between two bits that are alike
			if between++; between > 1 {
				return 0, fmt.Errorf("edge %d, a second one between two bits: %w", i, ErrTiming)
			}
		default:
			bits <<= 1
			if i%2 == 1 { // odd edges go to idle
				bits |= 1
			}
			middle, between = edges[i], 0
			n++
		}
	}
	switch {
	case n < WireBits:
		return 0, fmt.Errorf("%d of %d bits: %w", n, WireBits, ErrShort)
	case bits&1 == 0 || bits>>(WireBits-1)&1 == 0:
		return 0, ErrMarker
	}
	return Frame(bits >> 1), nil
}
