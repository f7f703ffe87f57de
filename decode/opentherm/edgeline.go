package opentherm

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
)

// Groups of a pattern for edges, see [CompileEdgePattern].
const (
	TimeGroup    = "us"
	LevelGroup   = "level"
	ChannelGroup = "channel"
)

var errNoTimeGroup = errors.New(`it has no group named us; write the number as (?P<us>\d+)`)

// CompileEdgePattern reads a pattern (RE2) that says where an adapter's line holds a level change: the microseconds in
// the group named "us", which it must have, the level in "level" and the channel in "channel", which it may. A group
// level takes 0 or 1 or a word of the general rule of [EdgeDecoder]. An empty pattern gives nil: the general rule.
func CompileEdgePattern(pattern string) (*regexp.Regexp, error) {
	if pattern == "" {
		return nil, nil
	}
	re, err := regexp.Compile(pattern)
	if err != nil {
		return nil, fmt.Errorf("pattern: %w", err)
	}
	if re.SubexpIndex(TimeGroup) < 0 {
		return nil, fmt.Errorf("pattern %q: %w", pattern, errNoTimeGroup)
	}
	return re, nil
}

// level is what a line says of the line's level. Which of the two is active, and whether it is the level before the
// change or after it, is never asked: it is enough that it alternates.
type level uint8

const (
	noLevel level = iota
	lowLevel
	highLevel
)

// channelName is the word that names a channel, filled up with zeros; all zero: the lines name none.
type channelName [8]byte

// change is what one line says.
type change struct {
	us      uint64
	level   level
	channel channelName
}

// edgeLines reads lines. It belongs to one stream, since a line like "1 0" is read as the lines before it were.
type edgeLines struct {
	pattern                  *regexp.Regexp
	timeAt, levelAt, channAt int  // the pattern's groups; below 0: it has none
	levelFirst               bool // of two bare numbers the first one was the level last time
}

func newEdgeLines(pattern string) (edgeLines, error) {
	re, err := CompileEdgePattern(pattern)
	l := edgeLines{pattern: re}
	if re != nil {
		l.timeAt, l.levelAt, l.channAt = re.SubexpIndex(TimeGroup), re.SubexpIndex(LevelGroup), re.SubexpIndex(ChannelGroup)
	}
	return l, err
}

// read reads a line; false: it holds no level change.
func (l *edgeLines) read(line []byte) (change, bool) {
	line = trimLineEnd(line)
	if l.pattern != nil {
		return l.match(line)
	}
	return l.general(line)
}

// general reads a line by the rule that stands at [EdgeDecoder].
func (l *edgeLines) general(line []byte) (c change, ok bool) {
	var numbers [2]uint64
	n := 0
	glued := false // a number ends where the rest begins
	for len(line) > 0 {
		switch kinds[line[0]] {
		case separator:
			line, glued = line[1:], false
		case digit:
			word := run(line, digit)
			v, fits := number10(word)
			if n == len(numbers) || !fits {
				return c, false
			}
			numbers[n] = v
			n++
			line, glued = line[len(word):], true
		case letter:
			word := run(line, letter)
			line = line[len(word):]
			if glued && len(line) > 0 && kinds[line[0]] == digit || !c.word(word) { // 0x200 is no number of these
				return c, false
			}
		default:
			return c, false
		}
	}
	switch {
	case n == 1:
		c.us = numbers[0]
	case n == 2 && c.level == noLevel:
		return c, l.two(&c, numbers)
	default:
		return c, false
	}
	return c, true
}

// two takes two bare numbers, of which one must be a level.
func (l *edgeLines) two(c *change, numbers [2]uint64) bool {
	switch first, last := numbers[0] <= 1, numbers[1] <= 1; {
	case first && !last:
		l.levelFirst = true
	case last && !first:
		l.levelFirst = false
	case !first:
		return false
	}
	at, us := numbers[1], numbers[0]
	if l.levelFirst {
		at, us = us, at
	}
	c.level, c.us = lowLevel+level(at), us
	return true
}

// word takes a word of letters: a unit, a level or the channel, each at most once.
func (c *change) word(w []byte) bool {
	if isUnit(w) {
		return true
	}
	if v := levelOf(w); v != noLevel {
		if c.level != noLevel {
			return false
		}
		c.level = v
		return true
	}
	return c.name(w)
}

func (c *change) name(w []byte) bool {
	if c.channel != (channelName{}) || len(w) > len(c.channel) {
		return false
	}
	copy(c.channel[:], w)
	return true
}

// match reads a line by the pattern.
func (l *edgeLines) match(line []byte) (c change, ok bool) {
	m := l.pattern.FindSubmatchIndex(line)
	if m == nil {
		return c, false
	}
	group := func(i int) []byte {
		if i < 0 || m[2*i] < 0 {
			return nil
		}
		return line[m[2*i]:m[2*i+1]]
	}
	if c.us, ok = number10(group(l.timeAt)); !ok {
		return c, false
	}
	if w := group(l.levelAt); len(w) > 0 {
		switch {
		case len(w) == 1 && w[0]|1 == '1':
			c.level = lowLevel + level(w[0]-'0')
		default:
			if c.level = levelOf(w); c.level == noLevel {
				return c, false
			}
		}
	}
	if w := group(l.channAt); len(w) > 0 && !c.name(w) {
		return c, false
	}
	return c, true
}

// levelOf reads a word for a level, in any case: a rising edge and a high level are one, a falling edge and a low level.
func levelOf(w []byte) level {
	const longest = len("falling")
	if len(w) > longest {
		return noLevel
	}
	var b [longest]byte
	for i, c := range w {
		b[i] = c | 0x20
	}
	switch string(b[:len(w)]) {
	case "r", "h", "rising", "rise", "high", "up":
		return highLevel
	case "f", "l", "falling", "fall", "low", "down":
		return lowLevel
	}
	return noLevel
}

func isUnit(w []byte) bool {
	return bytes.EqualFold(w, []byte("us")) || string(w) == "µs" || string(w) == "μs"
}

// The kinds of bytes of a line.
const (
	other uint8 = iota
	separator
	digit
	letter
)

// kinds are the kinds of all bytes.
var kinds = func() (t [256]uint8) {
	for c := '0'; c <= '9'; c++ {
		t[c] = digit
	}
	for c := 'a'; c <= 'z'; c++ {
		t[c], t[c-'a'+'A'] = letter, letter
	}
	for _, c := range []byte("µμ") { // either of the two signs for micro
		t[c] = letter
	}
	for _, c := range []byte(" \t\r,;:=") {
		t[c] = separator
	}
	return t
}()

// run is the beginning of b that is of one kind.
func run(b []byte, kind uint8) []byte {
	n := 0
	for n < len(b) && kinds[b[n]] == kind {
		n++
	}
	return b[:n]
}

// number10 reads a number of at most 18 digits.
func number10(b []byte) (v uint64, ok bool) {
	if len(b) == 0 || len(b) > 18 {
		return 0, false
	}
	for _, c := range b {
		if c < '0' || c > '9' {
			return 0, false
		}
		v = v*10 + uint64(c-'0')
	}
	return v, true
}
