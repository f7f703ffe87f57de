package mbus

import "strings"

// isWhen tells whether the data is a date or a time.
func (v *Value) isWhen() bool {
	switch v.Quantity {
	case Date:
		return v.field == 2
	case DateTime, BatteryChanged:
		return v.field == 2 || v.field == 3 || v.field == 4 || v.field == 6
	}
	return false
}

// When gives the date or time that the record holds; false: it holds another thing.
func (v *Value) When() (When, bool) {
	if !v.isWhen() || v.backwards {
		return When{}, false
	}
	switch v.field {
	case 2:
		return typeG(v.data), true
	case 3:
		return typeJ(v.data), true
	case 4:
		return typeF(v.data), true
	}
	return typeI(v.data), true
}

// Text gives what is no number in words: a text, a date, digits as they stand, bytes as they stand.
func (v *Value) Text() string {
	if w, ok := v.When(); ok {
		return w.String()
	}
	if v.isText {
		return latin(v.data)
	}
	return digits(v.data, v.backwards)
}

// latin turns text that is sent last character first, in Latin-1, around. What would steer a terminal is a "?".
func latin(b []byte) string {
	var t strings.Builder
	for i := len(b) - 1; i >= 0; i-- {
		c := rune(b[i])
		if c < ' ' || c >= 0x7F && c < 0xA0 {
			c = '?'
		}
		t.WriteRune(c)
	}
	return t.String()
}

// digits prints data in hexadecimal, highest byte first: BCD as the meter's display has it.
func digits(b []byte, backwards bool) string {
	const hex = "0123456789ABCDEF"
	t := make([]byte, 0, 2*len(b))
	for i := range b {
		x := b[i]
		if !backwards {
			x = b[len(b)-1-i]
		}
		t = append(t, hex[x>>4], hex[x&0xF])
	}
	return string(t)
}
