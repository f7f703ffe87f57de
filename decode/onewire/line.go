package onewire

import (
	"bytes"
	"errors"
)

// ErrLine is the error of a record without a channel that is no line of a file of timed lines.
var ErrLine = errors.New("it does not begin with a probe, as 28-0000a71c01f4 is")

// probeText is the length of a probe's folder name: family, "-", serial number.
const probeText = 2 + 1 + 12

// line parts a line of text into the probe and what its file held. The channel is that of the decoder's own probe where
// it has one, so that nothing is made anew for each line.
func (d *Decoder) line(b []byte) (channel string, file []byte, start int, ok bool) {
	end := bytes.IndexAny(b, " \t\r\n")
	if end < 0 {
		end = len(b)
	}
	if end != probeText {
		return "", nil, 0, false
	}
	var name [probeText]byte
	for i, c := range b[:end] {
		if c >= 'A' && c <= 'F' {
			c += 'a' - 'A'
		}
		if (i == 2) != (c == '-') || i != 2 && nibbles[c] < 0 {
			return "", nil, 0, false
		}
		name[i] = c
	}
	if channel, ok = d.names[string(name[:])]; !ok {
		channel = "of no probe of the job sheet"
	}
	return channel, b[end:], end, true
}
