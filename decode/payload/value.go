package payload

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"tundish/decode"
)

// The ways in which a value can fail; they are the causes of a [*decode.Error].
var (
	ErrNumber     = errors.New("a value is a plain decimal number, or a word that the job sheet knows")
	ErrWord       = errors.New("the word is not one of those for on and off; on = […] and off = […] of the topic name others")
	ErrImpossible = errors.New("the point cannot have this value")
	ErrTime       = errors.New("the sender's time cannot be read")
)

// The words for what is 0 or 1, in any case, where a value names none. "open" and "closed" are not among them: of a
// valve and of a contact they say the opposite.
var (
	onWords  = []string{"on", "true", "1"}
	offWords = []string{"off", "false", "0"}
)

// numberMost is the longest number read, in bytes. Own proposal: a float64 in full has 24.
const numberMost = 64

// number reads a plain decimal number. What ParseFloat takes besides (hexadecimal, "inf", "nan", underscores) is none.
func number(text []byte) (float64, bool) {
	if len(text) == 0 || len(text) > numberMost {
		return 0, false
	}
	for _, c := range text {
		if (c < '0' || c > '9') && c != '+' && c != '-' && c != '.' && c != 'e' && c != 'E' {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(string(text), 64) // an overflow is an error
	return v, err == nil
}

// scalar takes the quotes off a JSON string; ok is false for arrays, objects and null. Text that is no string passes.
func scalar(text []byte) (out []byte, ok bool) {
	switch {
	case len(text) == 0:
		return text, true
	case text[0] == '"':
		inner := text[1 : len(text)-1]
		if bytes.IndexByte(inner, '\\') >= 0 {
			return []byte(unquote(text)), true
		}
		return inner, true
	case text[0] == '{' || text[0] == '[' || string(text) == "null":
		return nil, false
	}
	return text, true
}

// of makes a value of the point out of text.
func (v *Value) of(text []byte) (float64, error) {
	text, _ = trim(text)
	if v.Point.Binary() {
		switch {
		case oneOf(text, v.On):
			return v.turned(1), nil
		case oneOf(text, v.Off):
			return v.turned(0), nil
		}
		if _, isNumber := number(text); !isNumber || v.words {
			return 0, fmt.Errorf("%q: %w", clip(text), ErrWord)
		}
	}
	x, ok := number(text)
	if !ok {
		return 0, fmt.Errorf("%q: %w", clip(text), ErrNumber)
	}
	x = v.To.Of(x*v.Scale+v.Offset) + 0 // −0 becomes 0
	if !v.Point.Holds(x) {
		return x, fmt.Errorf("%s %q: %w", v.Point, clip(text), ErrImpossible)
	}
	return v.turned(x), nil
}

// turned turns 0 and 1 round where a contact is wired so.
func (v *Value) turned(x float64) float64 {
	if v.Invert {
		return 1 - x
	}
	return x
}

// oneOf compares without regard to case, and without allocating.
func oneOf(text []byte, words []string) bool {
	for _, w := range words {
		if len(text) <= 4*len(w) && strings.EqualFold(string(text), w) {
			return true
		}
	}
	return false
}

// TimeUnit says how a number tells the sender's time.
type TimeUnit uint8

const (
	RFC3339 TimeUnit = iota // text; a number is not read
	Seconds                 // since 1970, UTC; fractions allowed
	Millis                  // likewise
)

// The years in which a sender's time is believed at all. Own proposal: a clock without a battery starts in 1970 or 2000.
var earliest, latest = time.Date(2000, 2, 1, 0, 0, 0, 0, time.UTC), time.Date(2150, 1, 1, 0, 0, 0, 0, time.UTC)

// when reads the sender's time.
func (u TimeUnit) when(text []byte) (time.Time, error) {
	var t time.Time
	if u == RFC3339 {
		// T and Z may be in lower case (RFC 3339, 5.6).
		if len(text) > numberMost || t.UnmarshalText(text) != nil && t.UnmarshalText(bytes.ToUpper(text)) != nil {
			return t, fmt.Errorf("%q: %w", clip(text), ErrTime)
		}
	} else {
		x, ok := number(text)
		if u == Millis {
			x /= 1000
		}
		if !ok || !(x > 0 && x < float64(latest.Unix())) {
			return t, fmt.Errorf("%q: %w", clip(text), ErrTime)
		}
		t = time.UnixMicro(int64(x*1e6 + 0.5))
	}
	t = t.UTC()
	if t.Before(earliest) || t.After(latest) {
		return t, fmt.Errorf("%q: %w", clip(text), ErrTime)
	}
	return t, nil
}

func trim(b []byte) ([]byte, int) {
	from, to := 0, len(b)
	for from < to && space(b[from]) {
		from++
	}
	for to > from && space(b[to-1]) {
		to--
	}
	return b[from:to], from
}

// space is white space as JSON has it (RFC 8259, 2).
func space(c byte) bool { return c == ' ' || c == '\t' || c == '\r' || c == '\n' }

// clip keeps an error message on one line.
func clip(b []byte) string {
	const most = 24
	if len(b) > most {
		return string(b[:most]) + "…"
	}
	return string(b)
}

// fault says what kind of failure of a sensor an error is.
func fault(err error) decode.SensorFault {
	if errors.Is(err, ErrImpossible) {
		return decode.Impossible
	}
	return decode.NoAnswer
}
