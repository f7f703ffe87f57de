package modbus

import (
	"bytes"
	"strings"
)

// longest is the most registers that one answer holds (MODBUS Application Protocol V1.1b3, 6.3 and 6.4: 0x7D).
const longest = 125

// place is what a channel says: which registers of which device.
type place struct {
	unit  uint8
	table Table
	first int
	count int
}

// parseChannel reads "unit 5 holding 100-103"; unit and its number may be left out, and so may the last address
// where it is the first.
func parseChannel(s string) (p place, ok bool) {
	if rest, is := strings.CutPrefix(s, "unit "); is {
		number, after, found := strings.Cut(rest, " ")
		n, isNumber := number16(number)
		if !found || !isNumber || n == 0 || n > 255 {
			return p, false
		}
		p.unit, s = uint8(n), after
	}
	table, registers, _ := strings.Cut(s, " ")
	switch table {
	case "holding":
		p.table = Holding
	case "input":
		p.table = Input
	default:
		return p, false
	}
	from, to, ranged := strings.Cut(registers, "-")
	first, ok := number16(from)
	last := first
	if ok && ranged {
		last, ok = number16(to)
	}
	p.first, p.count = first, last-first+1
	return p, ok && p.count >= 1 && p.count <= longest
}

// number16 reads a decimal number up to 65535, digits only.
func number16(s string) (n int, ok bool) {
	if s == "" || len(s) > 5 {
		return 0, false
	}
	for _, c := range []byte(s) {
		if c < '0' || c > '9' {
			return 0, false
		}
		n = n*10 + int(c-'0')
	}
	return n, n <= 65535
}

// parseLine reads a line of text, "input 100-101 00C8 012C", into into, which has room for one answer. White space
// between digits of the registers is of no account. It gives the channel and the registers' bytes.
func parseLine(line []byte, into []byte) (channel, registers []byte, ok bool) {
	line = bytes.TrimSpace(line)
	// The channel ends where its range does: after "holding" or "input" and one word more.
	at := 0
	for {
		i := bytes.IndexByte(line[at:], ' ')
		if i < 0 || at+i > len("unit 255 holding ") {
			return nil, nil, false
		}
		word := line[at : at+i]
		at += i + 1
		if string(word) == "holding" || string(word) == "input" {
			break
		}
	}
	i := bytes.IndexByte(line[at:], ' ')
	if i < 0 {
		return nil, nil, false
	}
	channel = line[:at+i]
	n, half := 0, false
	for _, c := range line[at+i:] {
		digit, is := hexDigit(c)
		switch {
		case c == ' ' || c == '\t':
			if half {
				return nil, nil, false
			}
			continue
		case !is || n == len(into):
			return nil, nil, false
		case !half:
			into[n] = digit << 4
		default:
			into[n] |= digit
			n++
		}
		half = !half
	}
	return channel, into[:n], !half
}

func hexDigit(c byte) (byte, bool) {
	switch {
	case c >= '0' && c <= '9':
		return c - '0', true
	case c >= 'a' && c <= 'f':
		return c - 'a' + 10, true
	case c >= 'A' && c <= 'F':
		return c - 'A' + 10, true
	}
	return 0, false
}
