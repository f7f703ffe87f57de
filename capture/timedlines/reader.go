// Package timedlines reads files of timed lines, *.log: what an adapter printed, each line with the time it came.
//
//	# boiler bus, 9600 Bd                      passed over, like blank lines
//	2026-01-12T06:30:00.250Z  80190000\r\n    wall time, white space, the line just as the adapter printed it
//	2026-01-12T06:30:00.310Z  40193D80\r\n
//
// The time is an RFC 3339 date-time (section 5.6) with Z or an offset; more than nine digits of a fraction are cut
// to nanoseconds. White space is one run of spaces and tabs. The payload is the rest up to and with \n, so that the
// adapter's \r\n stays whole. A UTF-8 byte order mark before the first line is passed over.
//
// A file of any length is read in one pass and bounded memory. A line that cannot be timed is not dropped and ends
// nothing: it is a record with a note, at the last time known. Times that go back are passed on as they are; they
// are steps of a clock and the caller's to record as such.
package timedlines

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"tundish/capture"
)

// LineLimit is the longest line kept in one piece, in bytes. Own choice: a thousand times an adapter's line.
const LineLimit = 64 << 10

// ErrNoTimes is a file in which no line has a time, so that it is no file of timed lines.
var ErrNoTimes = errors.New("no line has a time; each wants an RFC 3339 time (2026-01-12T06:30:00Z), white space, and the line as the adapter printed it")

// Stats says what a file held. Counts are of lines, but for Records.
type Stats struct {
	Lines   uint64 // all
	Records uint64 // emitted, those with a note included
	Skipped uint64 // blank or comment
	NoTime  uint64 // without a usable time, emitted with a note
	// Untimed lines came before any time was known: there is no time to keep them at, and they are only counted.
	// FirstUntimed is the number of the first, from 1; 0: none.
	Untimed, FirstUntimed uint64
	Overlong              uint64 // longer than LineLimit, emitted in pieces with a note
	Back                  uint64 // timed earlier than the timed line before
	Truncated             bool   // the last line has no line end
}

// Read emits the lines of r in order, each with its wall time (UTC) and as a record of the named source whose At is
// zero. name is what errors call the file. The payload is valid until emit returns; emit's error comes back
// unchanged. Where no line has a time the error is an [ErrNoTimes] and nothing was emitted. Stats are right up to
// the point reached, also beside an error.
func Read(ctx context.Context, r io.Reader, name, source string, emit func(wall time.Time, rec capture.Record) error) (Stats, error) {
	rd := reader{source: source, emit: emit}
	in := bufio.NewReaderSize(r, LineLimit)
	if mark, _ := in.Peek(3); string(mark) == "\ufeff" {
		in.Discard(3)
	}
	for {
		if err := ctx.Err(); err != nil {
			return rd.Stats, err
		}
		piece, err := in.ReadSlice('\n')
		if len(piece) > 0 {
			if err := rd.take(piece, err); err != nil {
				return rd.Stats, err
			}
		}
		switch {
		case err == nil || errors.Is(err, bufio.ErrBufferFull):
		case errors.Is(err, io.EOF):
			rd.Truncated = rd.Truncated || rd.middle
			if rd.last.IsZero() {
				return rd.Stats, fmt.Errorf("%s: line %d: %w", name, max(rd.FirstUntimed, 1), ErrNoTimes)
			}
			return rd.Stats, nil
		default:
			return rd.Stats, fmt.Errorf("%s: after line %d: %w", name, rd.Lines, err)
		}
	}
}

// reader is the state between two lines.
type reader struct {
	Stats
	source  string
	emit    func(time.Time, capture.Record) error
	last    time.Time // wall time of the last timed line; zero: none yet
	middle  bool      // the next piece goes on an overlong line
	comment bool      // which is a comment
}

// take deals with a line, or with a piece of a line that is longer than the buffer (bufio.ErrBufferFull).
func (rd *reader) take(piece []byte, readErr error) error {
	full := errors.Is(readErr, bufio.ErrBufferFull)
	began := !rd.middle
	if began {
		rd.Lines++
		rd.comment = piece[0] == '#'
	}
	rd.middle = full
	if !full && readErr != nil {
		rd.Truncated = true
	}
	switch {
	case began && (rd.comment || len(bytes.TrimSpace(piece)) == 0 && !full):
		rd.Skipped++
		return nil
	case rd.comment:
		return nil
	case full || !began:
		if began {
			rd.Overlong++
		}
		return rd.note(piece, began, fmt.Sprintf("line %d: longer than %d bytes: kept in pieces", rd.Lines, LineLimit))
	}
	wall, rest, why := parse(piece)
	if why != "" {
		if rd.Truncated {
			why += ": cut off"
		}
		if !rd.last.IsZero() {
			rd.NoTime++
		}
		return rd.note(piece, true, fmt.Sprintf("line %d: no time: %s", rd.Lines, why))
	}
	if !rd.last.IsZero() && wall.Before(rd.last) {
		rd.Back++
	}
	rd.last = wall
	rd.Records++
	return rd.emit(wall, capture.Record{Source: rd.source, Payload: rest})
}

// note emits what cannot be timed at the last time known; before there is one it only counts, once a line.
func (rd *reader) note(payload []byte, began bool, note string) error {
	if rd.last.IsZero() {
		if began {
			rd.Untimed++
		}
		if rd.FirstUntimed == 0 {
			rd.FirstUntimed = rd.Lines
		}
		return nil
	}
	rd.Records++
	return rd.emit(rd.last, capture.Record{Source: rd.source, Payload: payload, Note: note})
}

// parse cuts a line into its time and what stands after the white space; why tells what is wrong.
func parse(line []byte) (wall time.Time, rest []byte, why string) {
	i := bytes.IndexAny(line, " \t\r\n")
	end := i < 0 // the line ends with the time, and in the middle of itself
	if end {
		i = len(line)
	}
	// A time of RFC 3339 has 20 bytes and up; one with more digits than any clock gives is no time.
	const longest = 64
	if i > longest {
		return wall, nil, "it does not begin with one"
	}
	// T and Z may be in lower case (RFC 3339, 5.6).
	if err := wall.UnmarshalText([]byte(strings.ToUpper(string(line[:i])))); err != nil {
		return wall, nil, fmt.Sprintf("%q is not an RFC 3339 time", line[:i])
	}
	if wall.IsZero() {
		return wall, nil, "the year 1 is before any clock"
	}
	rest = bytes.TrimLeft(line[i:], " \t")
	if end || len(rest) == 0 {
		return time.Time{}, nil, "nothing stands after it"
	}
	return wall.UTC(), rest, ""
}
