package mbus

import "bytes"

// frameOf finds the bytes of a frame in a payload. A payload that begins as a frame does is one; else it is a line of
// text that has the bytes in hexadecimal, with or without spaces between them, and before them, behind a colon, the
// meter's name where there are several. The bytes of a line are put into room.
func frameOf(payload, room []byte) (frame []byte, name string, ok bool) {
	if len(payload) == 0 {
		return nil, "", false
	}
	_, at, err := Span(payload)
	binary := err == nil || at > 0 && !printable(payload)
	if err == nil && payload[0] == longStart && len(payload) < 4 {
		binary = false
	}
	if binary {
		return payload, "", true
	}
	text := payload
	if i := bytes.LastIndexByte(text, ':'); i >= 0 {
		name, text = string(bytes.TrimSpace(text[:i])), text[i+1:]
	}
	n, half := 0, false
	for _, c := range text {
		if c == ' ' || c == '\t' || c == '\r' || c == '\n' {
			if half {
				return nil, "", false
			}
			continue
		}
		x := nibble(c)
		if x < 0 || n == len(room) && !half {
			return nil, "", false
		}
		if half {
			room[n-1] |= byte(x)
		} else {
			room[n] = byte(x << 4)
			n++
		}
		half = !half
	}
	return room[:n], name, n > 0 && !half
}

func nibble(c byte) int {
	switch {
	case c >= '0' && c <= '9':
		return int(c - '0')
	case c >= 'a' && c <= 'f':
		return int(c-'a') + 10
	case c >= 'A' && c <= 'F':
		return int(c-'A') + 10
	}
	return -1
}

// printable tells whether bytes are a line of text.
func printable(b []byte) bool {
	for _, c := range b {
		if c < ' ' && c != '\r' && c != '\n' && c != '\t' {
			return false
		}
	}
	return true
}
