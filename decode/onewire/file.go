package onewire

import (
	"bytes"
	"errors"
)

// ErrLayout is the error of a payload that is neither a w1_slave file nor a number.
var ErrLayout = errors.New("neither the two lines of w1_slave nor millidegrees")

// ErrLines is the error of a w1_slave file whose two lines hold different bytes although the kernel says YES.
var ErrLines = errors.New("the two lines hold different bytes")

// content is what a payload turned out to be.
type content uint8

const (
	isEmpty   content = iota // the driver gave up: recent kernels return an empty file
	isRefused                // the kernel says NO; line 2 then repeats bytes of the last good read
	isPad                    // a scratchpad
	isMilli                  // millidegrees alone
)

// slave is a w1_slave or temperature file taken apart.
type slave struct {
	content content
	pad     Scratchpad
	milli   int  // of isMilli, or behind t=
	hasT    bool // line 2 with its t= is there
}

// The places in a file as the kernel's driver writes it: the nine bytes, its verdict, the bytes again, and t=.
const (
	padText   = 3 * len(Scratchpad{})
	crcWord   = ": crc="
	crcAt     = padText + len(crcWord)
	yesWord   = " YES\n"
	yesAt     = crcAt + 2
	againAt   = yesAt + len(yesWord)
	milliWord = "t="
	milliAt   = againAt + padText + len(milliWord)
)

// usual takes the file of a sound measurement apart, if it is letter by letter as the driver writes it. ok is false where
// it has to be looked at more closely.
func (s *slave) usual(b []byte) (ok bool) {
	n := len(b) - 1
	if n <= milliAt || b[n] != '\n' || b[crcAt] == '\n' || b[crcAt+1] == '\n' || string(b[padText:crcAt]) != crcWord || string(b[yesAt:againAt]) != yesWord ||
		string(b[againAt:againAt+padText]) != string(b[:padText]) || string(b[milliAt-len(milliWord):milliAt]) != milliWord {
		return false
	}
	if _, ok = padBytes(b, &s.pad); ok {
		s.content = isPad
		s.milli, s.hasT = integer(b[milliAt:n])
	}
	return ok && s.hasT
}

// parse takes a payload apart. The offset belongs to the error.
func parse(b []byte) (s slave, offset int, err error) {
	if s.usual(b) {
		return s, 0, nil
	}
	return closely(b)
}

// closely is parse for whatever file there is.
func closely(b []byte) (s slave, offset int, err error) {
	text := bytes.TrimSpace(b)
	if len(text) == 0 {
		return s, 0, nil
	}
	start := bytes.Index(b, text)
	if n, ok := integer(text); ok {
		return slave{content: isMilli, milli: n}, 0, nil
	}
	first, second, _ := bytes.Cut(text, []byte("\n"))
	rest, ok := padBytes(first, &s.pad)
	if !ok {
		return s, start, ErrLayout
	}
	rest, ok = bytes.CutPrefix(rest, []byte(": crc="))
	if !ok || len(rest) < len("00 NO") {
		return s, start + len(first) - len(rest), ErrLayout
	}
	verdict, behind, _ := bytes.Cut(bytes.TrimSpace(rest[2:]), []byte(" "))
	at := start + len(first) + 1
	if len(behind) > 0 { // both lines on one, as they stand in a file of timed lines
		if len(second) > 0 {
			return s, start + len(first) - len(rest), ErrLayout
		}
		second, at = bytes.TrimLeft(behind, " \t"), start+len(first)-len(behind)
	}
	switch string(verdict) {
	case "NO":
		s.content = isRefused
		return s, 0, nil
	case "YES":
		s.content = isPad
	default:
		return s, start + len(first) - len(rest), ErrLayout
	}
	if len(second) == 0 {
		return s, 0, nil // cut off behind line 1, which holds all that is needed
	}
	err = s.secondLine(second)
	return s, at, err
}

// secondLine reads the bytes again and t=.
func (s *slave) secondLine(line []byte) error {
	var again Scratchpad
	rest, ok := padBytes(line, &again)
	if !ok {
		return ErrLayout
	}
	if again != s.pad {
		return ErrLines
	}
	rest, ok = bytes.CutPrefix(rest, []byte("t="))
	if !ok {
		return ErrLayout
	}
	if s.milli, s.hasT = integer(bytes.TrimSpace(rest)); !s.hasT {
		return ErrLayout
	}
	return nil
}

// padBytes reads nine bytes, each two hexadecimal digits and a space, and gives what stands behind them.
func padBytes(line []byte, p *Scratchpad) ([]byte, bool) {
	if len(line) < 3*len(p) {
		return line, false
	}
	for i := range p {
		h, l := nibbles[line[3*i]], nibbles[line[3*i+1]]
		if h|l < 0 || line[3*i+2] != ' ' {
			return line, false
		}
		p[i] = byte(h<<4 | l)
	}
	return line[3*len(p):], true
}

// nibbles are the values of the hexadecimal digits, −1 for any other byte.
var nibbles = func() (t [256]int8) {
	for i := range t {
		t[i] = -1
	}
	for i := range 10 {
		t['0'+i] = int8(i)
	}
	for i := range 6 {
		t['a'+i], t['A'+i] = int8(10+i), int8(10+i)
	}
	return t
}()

// integer reads a whole number of at most 7 digits: millidegrees have 6.
func integer(b []byte) (int, bool) {
	negative := len(b) > 0 && b[0] == '-'
	if negative {
		b = b[1:]
	}
	if len(b) == 0 || len(b) > 7 {
		return 0, false
	}
	n := 0
	for _, c := range b {
		if c < '0' || c > '9' {
			return 0, false
		}
		n = n*10 + int(c-'0')
	}
	if negative {
		n = -n
	}
	return n, true
}
