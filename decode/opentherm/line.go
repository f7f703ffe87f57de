package opentherm

import (
	"errors"
	"fmt"
	"regexp"
	"unicode"
	"unicode/utf8"
)

// FrameGroup is the name of the group that a pattern must have, see [CompilePattern].
const FrameGroup = "frame"

// CompilePattern reads a pattern (RE2) that says where an adapter's line holds the frame: in the group named "frame",
// which must take exactly 8 hexadecimal digits. The line end is not part of what the pattern is matched against; the
// first match counts. An empty pattern gives nil, which stands for the usual rule of [FindFrame].
func CompilePattern(pattern string) (*regexp.Regexp, error) {
	if pattern == "" {
		return nil, nil
	}
	re, err := regexp.Compile(pattern)
	if err != nil {
		return nil, fmt.Errorf("pattern: %w", err)
	}
	if re.SubexpIndex(FrameGroup) < 0 {
		return nil, fmt.Errorf("pattern %q: %w", pattern, errNoGroup)
	}
	return re, nil
}

var errNoGroup = errors.New("it has no group named frame; write the digits as (?P<frame>[0-9A-Fa-f]{8})")

// FindFrame finds the frame in a line that an adapter printed: one run of exactly 8 hexadecimal digits that no other
// letter, digit or underscore touches. Anything may stand before and after it. A line with two such runs holds no
// frame, as there is no telling which one is meant. A pattern of [CompilePattern] replaces the rule. Parity and
// type are not looked at.
//
// Without a pattern nothing is allocated.
func FindFrame(line []byte, pattern *regexp.Regexp) (Frame, bool) {
	at := locate(line, pattern)
	if at < 0 {
		return 0, false
	}
	return digits(line[at : at+FrameDigits])
}

// locate gives the offset of the frame's first digit, −1 where the line has none.
func locate(line []byte, pattern *regexp.Regexp) int {
	if pattern == nil {
		return locateRun(line)
	}
	m := pattern.FindSubmatchIndex(trimLineEnd(line))
	if m == nil {
		return -1
	}
	g := 2 * pattern.SubexpIndex(FrameGroup)
	from, to := m[g], m[g+1]
	if from < 0 || to-from != FrameDigits {
		return -1
	}
	if _, ok := digits(line[from:to]); !ok {
		return -1
	}
	return from
}

// locateRun walks over the words of the line: stretches of letters, digits and underscores.
func locateRun(line []byte) int {
	found := -1
	for i := 0; i < len(line); {
		start, hex := i, true
		for i < len(line) {
			c := line[i]
			if hexDigit[c] >= 0 {
				i++
				continue
			}
			n := wordSize(line[i:])
			if n == 0 {
				break
			}
			hex = false
			i += n
		}
		if hex && i-start == FrameDigits {
			if found >= 0 {
				return -1
			}
			found = start
		}
		if i < len(line) {
			i++ // the separator; of a longer rune the other bytes are separators too
		}
	}
	return found
}

// wordSize is the length in bytes of the letter, digit or underscore at the beginning of b; 0 where there is none.
func wordSize(b []byte) int {
	c := b[0]
	switch {
	case c < utf8.RuneSelf:
		if c == '_' || c >= 'g' && c <= 'z' || c >= 'G' && c <= 'Z' {
			return 1 // the hexadecimal digits are taken already
		}
		return 0
	default:
		r, n := utf8.DecodeRune(b)
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return n
		}
		return 0
	}
}

func trimLineEnd(line []byte) []byte {
	n := len(line)
	for n > 0 && (line[n-1] == '\n' || line[n-1] == '\r') {
		n--
	}
	return line[:n]
}

// digits reads 8 hexadecimal digits.
func digits(b []byte) (Frame, bool) {
	var f Frame
	for _, c := range b {
		d := hexDigit[c]
		if d < 0 {
			return 0, false
		}
		f = f<<4 | Frame(d)
	}
	return f, true
}

// hexDigit is the value of a hexadecimal digit, −1 for any other byte.
var hexDigit = func() (t [256]int8) {
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
