package mbus

import (
	"errors"
	"fmt"
)

// Telegram is what stands around a meter's values.
type Telegram struct {
	Frame  Frame
	Header Header
	Fixed  bool   // the older fixed structure
	Doubt  string // why its counters may not be what they seem
	Maker  []byte // the maker's own data behind the records
	More   bool   // more telegrams follow: ask for the next one
	// Locked: the records are encrypted or special, and were not read.
	Locked bool
}

// The reasons for which a telegram gives no values; find them with [errors.Is].
var (
	ErrNoAnswer    = errors.New("not a meter's answer")
	ErrHeader      = errors.New("the header is cut short")
	ErrApplication = errors.New("the meter answered with an error")
	ErrCI          = errors.New("a kind of answer that is not read here")
)

// The kinds of answer (EN 13757-3; EN 13757-7, table of CI; MB 6).
const (
	ciError     = 0x70
	ciAlarm     = 0x71
	ciLong      = 0x72
	ciFixed     = 0x73
	ciLongHigh  = 0x76 // high byte first, obsolete
	ciFixedHigh = 0x77
	ciNone      = 0x78
	ciShort     = 0x7A
)

// applicationErrors are the codes behind CI 70 (MB 6).
var applicationErrors = map[byte]string{0: "unspecified", 1: "that kind of request is not known", 2: "the request is too long",
	3: "too many records", 4: "the request ends too early", 5: "more than ten DIFE", 6: "more than ten VIFE", 8: "busy",
	9: "read too often"}

// unusedConfig stands in the header of older meters that have no use for the word: no mode of encryption is all ones
// (from memory; seen in the public test telegrams of libmbus).
const unusedConfig = 0xFFFF

// dataAt is where what follows CI lies in a long frame.
const dataAt = 7

// reader has the room for one telegram, so that reading many costs the heap nothing.
type reader struct {
	t Telegram
	v Value
}

// Read takes a frame apart: begin is told the header, then each gets the values in order; what they are given is valid
// until they return. Where it breaks off, what came before has been given; the offset belongs to the error.
func Read(b []byte, begin func(*Telegram), each func(*Value)) (t Telegram, offset int, err error) {
	var r reader
	offset, err = r.read(b, begin, each)
	return r.t, offset, err
}

func (r *reader) read(b []byte, begin func(*Telegram), each func(*Value)) (offset int, err error) {
	t := &r.t
	*t = Telegram{}
	if t.Frame, offset, err = ParseFrame(b); err != nil {
		return offset, err
	}
	if !t.Frame.Answer() {
		return 0, ErrNoAnswer
	}
	d := t.Frame.Data
	backwards := t.Frame.CI == ciLongHigh || t.Frame.CI == ciFixedHigh
	at := dataAt
	switch t.Frame.CI {
	case ciLong, ciLongHigh:
		if len(d) < longHeader {
			return at + len(d), ErrHeader
		}
		t.Header, at = parseLong(d, backwards), at+longHeader
	case ciShort:
		if len(d) < shortHeader {
			return at + len(d), ErrHeader
		}
		t.Header = Header{Access: d[0], Status: Status(d[1]), Config: uint16(d[2]) | uint16(d[3])<<8}
		at += shortHeader
	case ciNone:
	case ciFixed, ciFixedHigh:
		if len(d) != fixedLength { // in EN 13757-7 the code is that of a compact frame
			return 6, ErrCI
		}
		t.Fixed, t.Header = true, fixedHeader(d, backwards)
		_, t.Doubt = fixedBits(d, backwards)
		begin(t)
		r.fixed(d, at, backwards, each)
		return 0, nil
	case ciError:
		code := byte(0)
		if len(d) > 0 {
			code = d[0]
		}
		return at, fmt.Errorf("%w: %s", ErrApplication, applicationWords(code))
	default:
		return 6, ErrCI
	}
	t.Locked = t.Header.Config != 0 && t.Header.Config != unusedConfig
	begin(t)
	if t.Locked {
		return 0, nil
	}
	rest, offset, err := r.records(d[at-dataAt:], at, backwards, each)
	t.More = rest.more
	if rest.maker >= 0 {
		t.Maker = d[rest.maker-dataAt:]
	}
	return offset, err
}

func applicationWords(code byte) string {
	if w, ok := applicationErrors[code]; ok {
		return w
	}
	return fmt.Sprintf("code %02X", code)
}
