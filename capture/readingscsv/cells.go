package readingscsv

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"tundish/capture"
)

var (
	errOpenQuote = errors.New("a quoted cell is not closed on its line")
	errAfter     = errors.New("something stands between a closing quote and the separator")
	errBareQuote = errors.New("a quote stands inside a cell that is not quoted")
)

// split cuts a line into its cells (RFC 4180, section 2, rules 4 to 7, and with another separator). The line end, \n or \r\n, is no part of the
// last. Cells that are not quoted share the line's memory.
func split(line []byte, separator byte) ([][]byte, error) {
	line = bytes.TrimSuffix(bytes.TrimSuffix(line, []byte("\n")), []byte("\r"))
	var cells [][]byte
	for {
		if len(line) == 0 || line[0] != '"' {
			cell, rest, more := bytes.Cut(line, []byte{separator})
			if bytes.IndexByte(cell, '"') >= 0 {
				return nil, errBareQuote
			}
			cells = append(cells, cell)
			if !more {
				return cells, nil
			}
			line = rest
			continue
		}
		cell, rest, err := quoted(line[1:])
		if err != nil {
			return nil, err
		}
		cells = append(cells, cell)
		if len(rest) == 0 {
			return cells, nil
		}
		if rest[0] != separator {
			return nil, errAfter
		}
		line = rest[1:]
	}
}

// quoted takes what stands after an opening quote: the cell, with "" as ", and what follows the closing quote.
func quoted(line []byte) (cell, rest []byte, err error) {
	for {
		before, after, closed := bytes.Cut(line, []byte(`"`))
		if !closed {
			return nil, nil, errOpenQuote
		}
		cell = append(cell, before...)
		if len(after) == 0 || after[0] != '"' {
			return cell, after, nil
		}
		cell, line = append(cell, '"'), after[1:]
	}
}

// header takes the column names, or says all that is wrong with them.
func (t *table) header(line []byte) error {
	cells, err := split(line, t.separator)
	if err != nil {
		return fmt.Errorf("%s: line %d: %w; the header wants time,POINT,POINT,…", t.name, t.line, err)
	}
	var wrong []error
	bad := func(column int, format string, args ...any) {
		wrong = append(wrong, fmt.Errorf("%s: line %d, column %d: %s", t.name, t.line, column, fmt.Sprintf(format, args...)))
	}
	names := make([]string, len(cells))
	for i, c := range cells {
		names[i] = string(bytes.TrimSpace(c))
	}
	if strings.Join(names, ",") == longHeader {
		t.long, t.channels = true, make([]string, len(names))
		return nil
	}
	if names[0] != "time" {
		bad(1, "%.40q where time must stand; the header wants time,POINT,POINT,…", names[0])
	}
	channels := []string{""}
	for i, n := range names[1:] {
		switch first := slices.Index(names, n); {
		case n == "time":
			bad(i+2, "time must stand in column 1, and there only")
		case strings.Contains(n, "/"): // a table of several sources, a column a series
			if own, ok := strings.CutPrefix(n, t.source+"/"); ok && t.known(own) {
				channels = append(channels, ChannelPrefix+own)
			} else {
				channels = append(channels, "")
			}
			continue
		case !t.known(n):
			bad(i+2, "%.40q is not a point", n)
		case first <= i:
			bad(i+2, "%s stands in column %d already", n, first+1)
		}
		channels = append(channels, ChannelPrefix+n)
	}
	if len(names) == 1 && len(wrong) == 0 {
		bad(2, "no point; the header wants time,POINT,POINT,…")
	}
	if len(wrong) == 0 && strings.Join(channels, "") == "" {
		bad(2, "no column is of the source %q; the columns are %s", t.source, quotedList(names[1:]))
	}
	t.channels = channels
	return errors.Join(wrong...)
}

// longHeader is the header of a table as it is exported: a row a reading, of all sources.
const longHeader = "time,series,value,unit,quality"

// DoubtfulPrefix stands before the point's name in the channel of a reading that was exported as doubtful.
const DoubtfulPrefix = "doubtful/"

// reading takes a row of a table with a row a reading.
func (t *table) reading(wall time.Time, cells [][]byte) error {
	point, ok := strings.CutPrefix(string(cells[1]), t.source+"/")
	if !ok {
		t.Others++
		return nil
	}
	rec := capture.Record{Source: t.source, Channel: ChannelPrefix + point, Sweep: uint32(t.Rows), Payload: cells[2]}
	switch quality := string(cells[4]); {
	case t.Truncated:
		rec.Note = fmt.Sprintf("line %d: the file ends here without a line end: the row may be cut off", t.line)
	case !t.known(point):
		rec.Note = fmt.Sprintf("line %d: %.40q is not a point", t.line, point)
	case quality == "doubtful":
		rec.Channel = DoubtfulPrefix + point
	case quality != "good":
		rec.Note = fmt.Sprintf("line %d: the quality is %.40q", t.line, quality)
	}
	t.Records++
	return t.emit(wall, rec)
}

// lastSecond is the last second that RFC 3339 can write, 9999-12-31T23:59:59Z, in Unix seconds. Later "seconds" are
// milliseconds or no time at all.
const lastSecond = 253402300799

// parseTime reads an RFC 3339 time or Unix seconds, with any fraction cut to nanoseconds. The result is UTC.
func parseTime(text string) (time.Time, bool) {
	whole, fraction, dot := strings.Cut(text, ".")
	if digits(whole) && (!dot || digits(fraction)) {
		sec, err := strconv.ParseInt(whole, 10, 64)
		if err != nil || sec > lastSecond {
			return time.Time{}, false
		}
		const nine = "000000000"
		nsec, err := strconv.ParseInt((fraction + nine)[:len(nine)], 10, 64)
		return time.Unix(sec, nsec).UTC(), err == nil
	}
	var wall time.Time
	// T and Z may be in lower case (RFC 3339, 5.6).
	if len(text) > 64 || wall.UnmarshalText([]byte(strings.ToUpper(text))) != nil || wall.IsZero() {
		return time.Time{}, false
	}
	return wall.UTC(), true
}

// digits tells whether s is one or more decimal digits.
func digits(s string) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return s != ""
}
