package mbus

import (
	"fmt"
	"strings"
)

// Secondary is the secondary address of a meter, by which it is found among others without a primary one (MB 7): its
// number, its maker, its version and what it meters. The zero Secondary is none; see [ParseSecondary].
type Secondary struct {
	id              [4]byte // BCD, highest digits first; F: any
	maker           uint16  // FFFF: any
	version, medium byte    // FF: any
	given           bool
}

// ParseSecondary makes a secondary address of 8 digits, F for any of them, and the rest: maker is the code of three
// letters, FFFF for any; version and medium are FF for any.
func ParseSecondary(id string, maker uint16, version, medium byte) (Secondary, error) {
	s := Secondary{maker: maker, version: version, medium: medium, given: true}
	if len(id) != 8 {
		return Secondary{}, fmt.Errorf("%q: a meter's number has 8 digits", id)
	}
	for i, c := range []byte(strings.ToUpper(id)) {
		switch {
		case c >= '0' && c <= '9':
			c -= '0'
		case c == 'F':
			c = 0xF
		default:
			return Secondary{}, fmt.Errorf("%q: a meter's number has digits, and F where any may stand", id)
		}
		s.id[i/2] = s.id[i/2]<<4 | c
	}
	return s, nil
}

// String is the number, with F where any digit may stand.
func (s Secondary) String() string { return fmt.Sprintf("%X", s.id[:]) }

// fits tells whether an answer is of a meter with this address.
func (s Secondary) fits(frame []byte) bool {
	id, maker, version, medium, ok := identity(frame)
	if !ok { // it does not say who it is
		return true
	}
	for i := range id {
		high, low := s.id[i]>>4, s.id[i]&0xF
		if high != 0xF && high != id[i]>>4 || low != 0xF && low != id[i]&0xF {
			return false
		}
	}
	return (s.maker == 0xFFFF || maker == 0xFFFF || s.maker == maker) && (s.version == 0xFF || version == 0xFF || s.version == version) &&
		(s.medium == 0xFF || medium == 0xFF || s.medium == medium)
}
