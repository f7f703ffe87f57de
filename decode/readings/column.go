package readings

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"tundish/capture"
	"tundish/decode"
	"tundish/decode/unit"
)

// ColumnPrefix stands before a column's own heading in the channel of a record from a table of any logger.
const ColumnPrefix = "column/"

// Column says what a column of a table means that is not headed by a point.
type Column struct {
	Point decode.Point
	// Scale turns its numbers into the point's unit.
	Scale unit.Scale
	// Comma says that its decimals stand behind a comma.
	Comma bool
	// On and Off are the words for 1 and 0 of a 0/1 point, besides the numbers; case does not matter.
	On, Off []string
	// Invert says that what the cells call on is off: a contact that opens for a call.
	Invert bool
	// Absent are words that say that there is no value.
	Absent []string
}

// The usual words, where a job sheet names none.
var (
	usualOn  = []string{"on", "true", "yes"}
	usualOff = []string{"off", "false", "no"}
)

// ErrWord is a cell of a 0/1 point that holds neither.
var ErrWord = errors.New("is neither 0 nor 1, nor one of the words for on and off")

// read gives the value of a cell; none: the cell says that there is no value.
func (c *Column) read(text string) (v float64, none bool, err error) {
	same := func(list []string) bool {
		return slices.ContainsFunc(list, func(w string) bool { return strings.EqualFold(w, text) })
	}
	if same(c.Absent) {
		return 0, true, nil
	}
	if c.Point.Binary() {
		on, off := c.On, c.Off
		if len(on)+len(off) == 0 {
			on, off = usualOn, usualOff
		}
		switch {
		case same(on):
			return 1, false, nil
		case same(off):
			return 0, false, nil
		}
	}
	if c.Comma {
		if strings.Contains(text, ".") {
			return 0, false, fmt.Errorf("%q: %w, with a decimal comma", clip(text), ErrNumber)
		}
		text = strings.Replace(text, ",", ".", 1)
	}
	v, err = Parse(text)
	if err != nil && c.Point.Binary() {
		return 0, false, fmt.Errorf("%q %w", clip(text), ErrWord)
	}
	return c.Scale.Of(v), false, err
}

// column takes a cell of a table of any logger.
func (d *Decoder) column(rec capture.Record, heading string, emit func(decode.Reading)) error {
	c, ok := d.columns[heading]
	if !ok {
		d.unmapped++
		return nil
	}
	d.cells++
	text, at := trim(rec.Payload)
	if len(text) == 0 {
		d.empty++
		return nil
	}
	v, none, err := c.read(string(text))
	if c.Invert && err == nil && !none && c.Point.Holds(v) {
		v = 1 - v
	}
	switch {
	case none:
		d.empty++
		return nil
	case err != nil:
		d.numbers++
		return &decode.Error{Series: decode.Series{Source: d.source, Point: c.Point}, Fault: decode.NoAnswer, Offset: at, Rule: c.Point.String(), Err: err}
	case !c.Point.Holds(v):
		d.impossible++
		return &decode.Error{Series: decode.Series{Source: d.source, Point: c.Point}, Fault: decode.Impossible, Value: v, Offset: at, Rule: fmt.Sprintf("%s %q", c.Point, clip(string(text))), Err: ErrImpossible}
	}
	emit(decode.Reading{Seq: rec.Seq, Time: rec.Time, Series: decode.Series{Source: d.source, Point: c.Point}, Value: v + 0, Quality: decode.Good})
	return nil
}
