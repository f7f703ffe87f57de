// Package readingscsv reads readings that arrive as a table, *.csv, one record a cell.
//
//	time,flow,return          header: time first, then a column a point
//	2026-01-12T06:30:00Z,55.1,44.0
//	1768199410.5,55.3,        Unix seconds do as well; an empty cell is no reading
//
// Cells are separated by commas and may be quoted as in RFC 4180, but a quoted cell ends on its line. The payload
// is the cell's text, unquoted, otherwise as it stands; the channel is "readings/" and the point. Cells of a row
// share its number as Sweep, counted from 1 without the header. A UTF-8 byte order mark, blank lines and lines that
// start with # are passed over.
//
// A row that cannot be used is kept whole as a record with a note, at the last time known: nothing is dropped and
// nothing guessed. Where the file ends without a line end, the last cell may be half a number: it is kept with a
// note, and the cells before it are taken. A file of any length is read in one pass and bounded memory. What the
// numbers mean, and whether they are numbers, is the decoder's.
package readingscsv

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"tundish/capture"
)

// LineLimit is the longest row kept in one piece, in bytes. Own choice: hundreds of times a row of all points.
const LineLimit = 64 << 10

// ChannelPrefix stands before the point's name in a record's channel.
const ChannelPrefix = "readings/"

// ErrNoTimes is a table whose rows have no usable time.
var ErrNoTimes = errors.New("no row has a time; the first cell wants RFC 3339 (2026-01-12T06:30:00Z) or Unix seconds")

// Stats says what a file held.
type Stats struct {
	Rows    uint64 // data rows
	Records uint64 // emitted, those with a note included
	Skipped uint64 // lines blank or comment
	Noted   uint64 // rows kept whole with a note: bad time, wrong number of cells, bad quotes, too long
	// Untimed rows came before any time was known: there is no time to keep them at, and they are only counted.
	// FirstUntimed is the line of the first, from 1; 0: none.
	Untimed, FirstUntimed uint64
	Back                  uint64 // rows timed earlier than the timed row before
	Others                uint64 // of a table of several sources: rows of other sources
	Twice                 uint64 // rows at a local time that came twice, as clocks were put back
	Truncated             bool   // the last line has no line end
}

// Read emits the cells of r row by row, each with its row's wall time (UTC) and as a record of the named source
// whose At is zero. known tells whether a point's name is in the vocabulary; name is what errors call the file. A
// wrong header gives all its errors joined, each with line and column, and nothing is emitted. The payload is valid
// until emit returns; emit's error comes back unchanged. Where there are rows but none has a time the error is an
// [ErrNoTimes]. Stats are right up to the point reached, also beside an error.
func Read(ctx context.Context, r io.Reader, name, source string, known func(point string) bool,
	emit func(wall time.Time, rec capture.Record) error) (Stats, error) {
	t := table{name: name, source: source, known: known, emit: emit, separator: ',', times: []int{0}}
	return t.read(ctx, r)
}

// read reads all lines.
func (t *table) read(ctx context.Context, r io.Reader) (Stats, error) {
	in := bufio.NewReaderSize(r, LineLimit)
	if mark, _ := in.Peek(3); string(mark) == "\ufeff" {
		in.Discard(3)
	}
	for {
		if err := ctx.Err(); err != nil {
			return t.Stats, err
		}
		piece, err := in.ReadSlice('\n')
		if len(piece) > 0 {
			if err := t.take(piece, err); err != nil {
				return t.Stats, err
			}
		}
		switch {
		case err == nil || errors.Is(err, bufio.ErrBufferFull):
		case errors.Is(err, io.EOF):
			t.Truncated = t.Truncated || t.middle
			return t.Stats, t.atEnd()
		default:
			return t.Stats, fmt.Errorf("%s: after line %d: %w", t.name, t.line, err)
		}
	}
}

// table is the state between two lines.
type table struct {
	Stats
	name, source string
	known        func(string) bool
	emit         func(time.Time, capture.Record) error
	form         *Form // nil: time,POINT,POINT,…
	separator    byte
	times        []int         // columns of the time
	channels     []string      // by column, empty for the time's; nil before the header
	seen         [][]string    // lines that may be meant as the headings
	long         bool          // a row a reading: time,series,value,unit,quality
	line         uint64        // number of the current line, from 1
	last         time.Time     // of the last timed row; zero: none yet
	apart        time.Duration // of the last two rows at different times
	middle       bool          // the next piece goes on an overlong line
	comment      bool          // which is a comment
}

// take deals with a line, or with a piece of one that is longer than the buffer (bufio.ErrBufferFull).
func (t *table) take(piece []byte, readErr error) error {
	full := errors.Is(readErr, bufio.ErrBufferFull)
	began := !t.middle
	if began {
		t.line++
		t.comment = piece[0] == '#'
	}
	t.middle = full
	t.Truncated = !full && readErr != nil
	switch {
	case began && (t.comment || len(bytes.TrimSpace(piece)) == 0 && !full):
		t.Skipped++
		return nil
	case t.comment:
		return nil
	case t.channels == nil && full:
		return fmt.Errorf("%s: line %d: longer than %d bytes; the header wants time,POINT,POINT,…", t.name, t.line, LineLimit)
	case t.channels == nil && t.form != nil:
		return t.headings(piece)
	case t.channels == nil:
		return t.header(piece)
	}
	if began {
		t.Rows++
	}
	if full || !began {
		return t.note(piece, began, fmt.Sprintf("longer than %d bytes: kept in pieces", LineLimit))
	}
	return t.row(piece)
}

// row emits the cells of a data row.
func (t *table) row(line []byte) error {
	cells, err := split(line, t.separator)
	if err != nil {
		return t.note(line, true, err.Error())
	}
	if last := slices.Max(t.times); t.Truncated && len(cells) <= last+1 {
		return t.note(line, true, "cut off in the time")
	} else if len(cells) <= last {
		return t.note(line, true, fmt.Sprintf("%d cells, the header has %d", len(cells), len(t.channels)))
	}
	wall, err := t.timeOf(cells)
	if err != nil {
		return t.note(line, true, err.Error())
	}
	want := len(t.channels)
	if t.form != nil && len(cells) == want+1 && len(bytes.TrimSpace(cells[want])) == 0 {
		cells = cells[:want] // a separator at the end of each row
	}
	if len(cells) > want || len(cells) < want && !t.Truncated {
		return t.note(line, true, fmt.Sprintf("%d cells, the header has %d", len(cells), want))
	}
	if !t.last.IsZero() && wall.Before(t.last) {
		t.Back++
	}
	if !t.last.IsZero() && !wall.Equal(t.last) {
		t.apart = wall.Sub(t.last)
	}
	t.last = wall
	if t.long {
		return t.reading(wall, cells)
	}
	for i, cell := range cells {
		if t.channels[i] == "" {
			continue
		}
		rec := capture.Record{Source: t.source, Channel: t.channels[i], Sweep: uint32(t.Rows), Payload: cell}
		if len(bytes.TrimSpace(cell)) == 0 {
			continue
		}
		if t.Truncated && i == len(cells)-1 {
			rec.Note = fmt.Sprintf("line %d: the file ends here without a line end: the last cell may be cut off", t.line)
		}
		t.Records++
		if err := t.emit(wall, rec); err != nil {
			return err
		}
	}
	return nil
}

// note keeps a row that cannot be used, at the last time known; before there is one it only counts, once a row.
func (t *table) note(payload []byte, began bool, why string) error {
	if t.last.IsZero() {
		if began {
			t.Untimed++
		}
		if t.FirstUntimed == 0 {
			t.FirstUntimed = t.line
		}
		return nil
	}
	if began {
		t.Noted++
	}
	t.Records++
	return t.emit(t.last, capture.Record{Source: t.source, Sweep: uint32(t.Rows), Payload: payload,
		Note: fmt.Sprintf("line %d: %s", t.line, why)})
}

// atEnd tells what is wrong with the file as a whole.
func (t *table) atEnd() error {
	switch {
	case t.channels == nil && t.form != nil:
		return t.noHeading()
	case t.channels == nil:
		return fmt.Errorf("%s: line %d: no header; it wants time,POINT,POINT,…", t.name, max(t.line, 1))
	case t.Rows > 0 && t.last.IsZero():
		return fmt.Errorf("%s: line %d: %w", t.name, t.FirstUntimed, ErrNoTimes)
	}
	return nil
}
