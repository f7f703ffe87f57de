package mbus

import "fmt"

// When is a date, a time of day or both, as a meter's clock has them: local time, mostly winter time. Parts that a
// meter leaves open ("every") are −1.
type When struct {
	Year, Month, Day     int
	Hour, Minute, Second int
	HasDate, HasTime     bool
	HasSecond            bool
	Summer               bool
	Invalid              bool // the meter itself says so, or the parts are none
}

// Bits of types F and I (EN 13757-3, annex A).
const (
	invalidBit = 0x80
	summerBit  = 0x80 // byte 1 of F
)

// typeG reads a date of 16 bits: day 4–0, month 11–8, year 7–5 and 15–12; FFFF is none.
func typeG(b []byte) When {
	w := When{HasDate: true, Day: int(b[0] & 0x1F), Month: int(b[1] & 0x0F), Year: int(b[0]>>5) | int(b[1]>>4)<<3}
	if b[0] == 0xFF && b[1] == 0xFF {
		w.Invalid = true
	}
	return w.dated(0)
}

// typeF reads date and time of 32 bits.
func typeF(b []byte) When {
	w := typeG(b[2:])
	w.Year = int(b[2]>>5) | int(b[3]>>4)<<3
	w.HasTime, w.Minute, w.Hour = true, int(b[0]&0x3F), int(b[1]&0x1F)
	w.Summer = b[1]&summerBit != 0
	w.Invalid = w.Invalid || b[0]&invalidBit != 0
	return w.dated(int(b[1] >> 5 & 3)).timed()
}

// typeI reads date and time of 48 bits; its week of the year is left out.
func typeI(b []byte) When {
	w := typeG(b[3:])
	w.HasTime, w.HasSecond = true, true
	w.Second, w.Minute, w.Hour = int(b[0]&0x3F), int(b[1]&0x3F), int(b[2]&0x1F)
	w.Summer = b[0]&0x40 != 0
	w.Invalid = w.Invalid || b[1]&invalidBit != 0
	return w.timed()
}

// typeJ reads a time of day of 24 bits.
func typeJ(b []byte) When {
	return When{HasTime: true, HasSecond: true, Second: int(b[0] & 0x3F), Minute: int(b[1] & 0x3F), Hour: int(b[2] & 0x1F)}.timed()
}

// dated completes the year and checks month and day. Century 0 with a year up to 80 is this one (EN 13757-3, table
// A.5); types G and I have no century.
func (w When) dated(century int) When {
	switch {
	case w.Year == 127:
		w.Year = -1
	case century == 0 && w.Year <= 80:
		w.Year += 2000
	case w.Year < 1900:
		w.Year += 1900 + 100*century
	}
	switch {
	case w.Month == 15:
		w.Month = -1
	case w.Month < 1 || w.Month > 12:
		w.Invalid = true
	}
	if w.Day == 0 {
		w.Day = -1
	}
	return w
}

func (w When) timed() When {
	if w.Hour == 31 {
		w.Hour = -1
	}
	if w.Minute == 63 {
		w.Minute = -1
	}
	if w.Second == 63 {
		w.Second = -1
	}
	if w.Hour > 23 || w.Minute > 59 || w.Second > 59 {
		w.Invalid = true
	}
	return w
}

// part prints one part, "*" where it is open.
func part(n, width int) string {
	if n < 0 {
		return "**"
	}
	return fmt.Sprintf("%0*d", width, n)
}

func (w When) String() string {
	if w.Invalid {
		return "invalid"
	}
	t := ""
	if w.HasDate {
		t = part(w.Year, 4) + "-" + part(w.Month, 2) + "-" + part(w.Day, 2)
	}
	if w.HasTime {
		if t != "" {
			t += " "
		}
		t += part(w.Hour, 2) + ":" + part(w.Minute, 2)
		if w.HasSecond {
			t += ":" + part(w.Second, 2)
		}
		if w.Summer {
			t += " summer time"
		}
	}
	return t
}
