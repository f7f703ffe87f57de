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
// the stop bit are not looked at, and two that are closer than [GlitchBelow] do not count. A missing or mistimed middle
// rejects the frame (3.4.3). The frame's parity and type are not judged here, see [Frame.Check].
func FromEdges(edges []time.Duration) (Frame, error) {
	var w wire
	for i, at := range edges {
		if at < 0 || i > 0 && at < edges[i-1] {
			return 0, fmt.Errorf("edge %d is before the one before it: %w", i, ErrTiming)
		}
		e := w.change(uint64(at/time.Microsecond), noLevel, false)
		switch {
		case e.whole:
			return e.frame, nil
		case w.state.fault == noStop:
			return 0, ErrMarker
		case e.fault != sound || w.state.fault != sound:
			return 0, fmt.Errorf("edge %d: %w", i, ErrTiming)
		}
	}
	return 0, fmt.Errorf("%d of %d bits: %w", w.state.n, WireBits, ErrShort)
}
