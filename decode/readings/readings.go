// Package readings decodes values that arrive as a file: the cells of a table whose columns are points.
//
// The table's first line is "time,POINT,POINT,…"; every cell that holds something becomes a record of its own:
//
//	channel   "readings/" and the point's name:  readings/flow
//	payload   the cell's text as it stood there: 61.5
//	time      that of the cell's row
//
// A cell is a plain decimal number with a point, in the unit of its column's point; a sign and an exponent are
// allowed, white space around it is not part of it. An empty cell is no reading and should not become a record; where
// one does, it is passed over. What is not read: a decimal comma, hexadecimal, digits set apart, NaN and infinity.
package readings

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"tundish/capture"
	"tundish/decode"
)

const (
	prefix         = "readings/"
	doubtfulPrefix = "doubtful/" // of one that was doubtful when it was exported
)

// IsReadings tells whether a record's channel is one of a table of readings, whatever the source's kind.
func IsReadings(channel string) bool {
	return strings.HasPrefix(channel, prefix) || strings.HasPrefix(channel, doubtfulPrefix) || strings.HasPrefix(channel, ColumnPrefix)
}

// Channel is the channel of the records of a point's column.
func Channel(p decode.Point) string { return prefix + p.String() }

// The rules that a cell can break; they are the causes of the [*decode.Error].
var (
	ErrNumber     = errors.New("a cell is a plain decimal number")
	ErrImpossible = errors.New("the point cannot have this value")
	ErrPoint      = errors.New("the column is no point")
)

// Config is what a [Decoder] needs to know of its source.
type Config struct {
	Source string // name in the job sheet; the readings' series carry it
	// Columns are those of a table whose headings are no points, by heading. What is not here is no reading.
	Columns map[string]Column
}

// Decoder turns cells into readings of quality good. It belongs to one goroutine. The zero Decoder is not usable.
type Decoder struct {
	source  string
	points  map[string]decode.Point // by channel
	columns map[string]Column       // by heading

	cells, empty, numbers, impossible, unknown, unmapped, notes uint64
}

// New makes a decoder for the cells of one source.
func New(c Config) (*Decoder, error) {
	if c.Source == "" {
		return nil, errors.New("readings: the source has no name")
	}
	d := &Decoder{source: c.Source, points: make(map[string]decode.Point), columns: c.Columns}
	for _, p := range decode.Points() {
		d.points[Channel(p)] = p
	}
	return d, nil
}

// Decode takes one cell.
func (d *Decoder) Decode(rec capture.Record, emit func(decode.Reading)) error {
	if rec.Note != "" {
		d.notes++
		return nil
	}
	if heading, ok := strings.CutPrefix(rec.Channel, ColumnPrefix); ok {
		return d.column(rec, heading, emit)
	}
	quality, why := decode.Good, ""
	if name, ok := strings.CutPrefix(rec.Channel, doubtfulPrefix); ok {
		rec.Channel, quality, why = prefix+name, decode.Doubtful, "it was doubtful when it was exported"
	}
	d.cells++
	p, ok := d.points[rec.Channel]
	if !ok {
		d.unknown++
		return &decode.Error{Rule: fmt.Sprintf("channel %q", clip(rec.Channel)), Err: ErrPoint}
	}
	text, at := trim(rec.Payload)
	if len(text) == 0 {
		d.empty++
		return nil
	}
	v, err := Parse(string(text))
	if err != nil {
		d.numbers++
		return &decode.Error{Series: decode.Series{Source: d.source, Point: p}, Fault: decode.NoAnswer, Offset: at, Rule: p.String(), Err: err}
	}
	if !p.Holds(v) {
		d.impossible++
		return &decode.Error{Series: decode.Series{Source: d.source, Point: p}, Fault: decode.Impossible, Value: v, Offset: at, Rule: fmt.Sprintf("%s %q %s", p, clip(string(text)), p.Unit()), Err: ErrImpossible}
	}
	emit(decode.Reading{Seq: rec.Seq, Time: rec.Time, Series: decode.Series{Source: d.source, Point: p},
		Value: v, Quality: quality, Why: why})
	return nil
}

// Tally says what was counted so far.
func (d *Decoder) Tally() []decode.Count {
	return []decode.Count{
		{Name: "cells", N: d.cells},
		{Name: "empty cells", N: d.empty},
		{Name: "cells that are not numbers", N: d.numbers},
		{Name: "values that cannot be", N: d.impossible},
		{Name: "cells of columns that are no point", N: d.unknown},
		{Name: "cells of columns that the job sheet does not name", N: d.unmapped},
		{Name: "notes passed over", N: d.notes},
	}
}

// Parse reads a cell: a plain decimal number, without white space. The error is an [ErrNumber].
func Parse(text string) (float64, error) {
	for _, c := range []byte(text) {
		// ParseFloat would also take hexadecimal, "inf", "nan" and underscores.
		if (c < '0' || c > '9') && c != '+' && c != '-' && c != '.' && c != 'e' && c != 'E' {
			return 0, fmt.Errorf("%q: %w", clip(text), ErrNumber)
		}
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return 0, fmt.Errorf("%q: %w", clip(text), ErrNumber)
	}
	return v + 0, nil // −0 becomes 0
}

// trim takes white space (space, tab, line ends) off both ends and says how much stood in front.
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

func space(c byte) bool { return c == ' ' || c == '\t' || c == '\r' || c == '\n' }

// clip keeps an error message on one line.
func clip(s string) string {
	const most = 24
	if len(s) > most {
		return s[:most] + "…"
	}
	return s
}
