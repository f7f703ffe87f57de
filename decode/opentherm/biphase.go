package opentherm

import "time"

// GlitchBelow is the time below which two changes are a glitch and neither counts, µs. An edge takes 50 µs at the most
// (OpenTherm Protocol Specification v2.2, 3.2.1.2), so that a receiver may chatter for as long; half a bit is nominally
// 500 µs. Own proposal: twice that slope, a fifth of half a bit.
const GlitchBelow = 100

// The bounds of 3.4.2 in µs. A frame begins after a time of quiet that no sound frame has within it: with nothing longer
// than from one middle to the next, whatever is above that bound is idle line. The specification has 20 ms and more
// between frames (4.3.1).
const (
	midBitLeastUS = uint64(MidBitLeast / time.Microsecond)
	midBitMostUS  = uint64(MidBitMost / time.Microsecond)
)

// wireFault is why a frame on the wire was given up.
type wireFault uint8

const (
	sound      wireFault = iota
	cutOff               // the line fell quiet before the stop bit
	mistimed             // two changes between two middles
	lostChange           // the level did not alternate
	noStop               // the last bit is not 1
)

// minFrameBits is how many bits a beginning must have had to be called a frame given up, and not a stray pulse. Own
// proposal: by chance, changes hardly keep the time for so many.
const minFrameBits = 8

// wire is one direction of the line, read change by change. The zero wire waits for the first change, and takes it for
// one after quiet.
type wire struct {
	state, before wireState
	level         level
	undo          bool // before is what was before the last change
}

// wireState is what a change can alter and a glitch takes back.
type wireState struct {
	at      uint64 // of the last change, µs
	begun   bool   // there was a change
	reading bool   // within a frame; else what comes is passed over until the line is quiet
	active  bool   // the last change went to active
	between bool   // it lies between two middles
	n       int    // bits read
	bits    uint64
	fault   wireFault // why this frame was given up; told when the line is quiet, since a glitch may take it back
	middle  uint64    // of the last bit, µs; before the first one, the beginning of the start bit
}

// wireEvent is what came of a change.
type wireEvent struct {
	frame   Frame
	whole   bool      // frame was read
	fault   wireFault // the frame before this change was given up, and why
	bits    int       // after so many bits
	glitch  bool      // with the change before it
	outside bool      // the change belongs to no frame
}

// change takes a change of level at a time, µs. quiet says that it follows quiet whatever the times say. Times may only
// grow, modulo 2^64.
func (w *wire) change(at uint64, lv level, quiet bool) (e wireEvent) {
	s := &w.state
	since := at - s.at
	quiet = quiet || !s.begun || since > midBitMostUS
	missed := lv != noLevel && lv == w.level && !quiet
	w.level = lv
	switch {
	case quiet:
		e.fault, e.bits = s.end()
		w.before, w.undo = *s, true
		*s = wireState{at: at, begun: true, reading: true, active: true, middle: at}
		return e
	case missed:
		s.giveUp(lostChange)
		s.at, w.undo = at, false
		return e
	case since < GlitchBelow && w.undo:
		*s, w.undo = w.before, false
		e.glitch = true
		return e
	}
	w.before, w.undo = *s, true
	s.at, s.active = at, !s.active
	if !s.reading {
		e.outside = true
		return e
	}
	s.step(at, &e)
	if e.whole {
		w.undo = false // what chatters after the last change does not read the frame again
	}
	return e
}

// step takes a change within a frame.
func (s *wireState) step(at uint64, e *wireEvent) {
	switch since := at - s.middle; {
	case s.n == 0: // the middle of the start bit comes half a bit after its beginning, so well before a whole one
		if since >= midBitLeastUS {
			s.giveUp(mistimed)
			return
		}
	case since < midBitLeastUS:
		if s.between {
			s.giveUp(mistimed)
		}
		s.between = true
		return
	case since > midBitMostUS:
		s.giveUp(mistimed)
		return
	}
	s.middle, s.between = at, false
	s.bits <<= 1
	if !s.active { // a 1 goes to idle in its middle
		s.bits |= 1
	}
	if s.n++; s.n < WireBits {
		return
	}
	if s.bits&1 == 0 {
		s.giveUp(noStop)
		return
	}
	s.reading = false
	e.frame, e.whole = Frame(s.bits>>1), true
}

// giveUp ends a frame; the rest of it is passed over.
func (s *wireState) giveUp(why wireFault) {
	if s.reading {
		s.fault, s.reading = why, false
	}
}

// end says, once, why the frame under way was given up at the latest when the line fell quiet.
func (s *wireState) end() (why wireFault, bits int) {
	s.giveUp(cutOff)
	why, bits = s.fault, s.n
	s.fault = sound
	return why, bits
}
