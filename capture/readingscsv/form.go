package readingscsv

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"

	"tundish/capture"
)

// ColumnPrefix stands before a column's own heading in the channel of a record from a table with a [Form].
const ColumnPrefix = "column/"

// Form says how a table is written that a logger of any kind has made. The zero Form is one with commas and a column
// "time" of RFC 3339 times or Unix seconds.
type Form struct {
	// Separator stands between cells: ',', ';', '|' or a tab; 0: the one that stands most often in the heading.
	Separator byte
	// Heading is the number of the line with the headings, from 1; 0: the first in which all columns of Time stand.
	Heading int
	// Time are the headings of the columns that are the time, joined by a space: a date and a time of day may stand apart.
	// None: "time".
	Time []string
	// Layout is how they are written, as for [time.Parse]; empty: RFC 3339 or Unix seconds. [UnixMillis] is a layout too.
	Layout string
	// Zone is where times without an offset are local; nil: UTC. Where an hour comes twice in autumn, the order of the rows
	// tells which is meant.
	Zone *time.Location
	// Windows1252 says that the file is no UTF-8 but of that code page; a byte order mark goes before it.
	Windows1252 bool
	// Want are the headings that must be there.
	Want []string
}

// UnixMillis is the layout of Unix milliseconds.
const UnixMillis = "unix-ms"

// ReadAs is [Read] for a table of a form. Every column but those of the time is emitted, under its own heading: what a
// column means is the decoder's.
func ReadAs(ctx context.Context, r io.Reader, name, source string, form Form, emit func(wall time.Time, rec capture.Record) error) (Stats, error) {
	if len(form.Time) == 0 {
		form.Time = []string{"time"}
	}
	other := encoding.Nop.NewDecoder()
	if form.Windows1252 {
		other = charmap.Windows1252.NewDecoder()
	}
	t := table{name: name, source: source, emit: emit, form: &form, separator: ','}
	return t.read(ctx, transform.NewReader(r, unicode.BOMOverride(other)))
}

// headings looks whether a line is that of the headings, and takes them.
func (t *table) headings(line []byte) error {
	f := t.form
	sep := f.Separator
	if sep == 0 {
		sep = likeliest(line)
	}
	cells, err := split(line, sep)
	names := make([]string, len(cells))
	for i, c := range cells {
		names[i] = string(bytes.TrimSpace(c))
	}
	var missing []string
	for _, n := range slices.Concat(f.Time, f.Want) {
		if !slices.Contains(names, n) {
			missing = append(missing, n)
		}
	}
	times := slices.ContainsFunc(f.Time, func(n string) bool { return slices.Contains(missing, n) })
	switch {
	case f.Heading == 0 && (err != nil || times):
		t.seen = append(t.seen, names)
		t.Skipped++
		if t.line > headingWithin {
			return t.noHeading()
		}
		return nil
	case f.Heading > 0 && t.line < uint64(f.Heading):
		t.Skipped++
		return nil
	case err != nil:
		return fmt.Errorf("%s: line %d: %w", t.name, t.line, err)
	case len(missing) > 0:
		return fmt.Errorf("%s: line %d: no column %s; the columns are %s", t.name, t.line, quotedList(missing), quotedList(names))
	}
	t.separator, t.channels = sep, make([]string, len(names))
	for i, n := range names {
		switch {
		case slices.Contains(f.Time, n) && slices.Index(names, n) == i:
		case slices.Index(names, n) < i && slices.Contains(f.Want, n):
			return fmt.Errorf("%s: line %d: the heading %q stands over two columns", t.name, t.line, n)
		default:
			t.channels[i] = ColumnPrefix + n
		}
	}
	for _, n := range f.Time {
		t.times = append(t.times, slices.Index(names, n))
	}
	return nil
}

// headingWithin is how many lines may stand before the headings. Own choice: what loggers write there is a page.
const headingWithin = 100

// noHeading says that no line was the one of the headings.
func (t *table) noHeading() error {
	best := []string{}
	for _, s := range t.seen {
		if len(s) > len(best) {
			best = s
		}
	}
	return fmt.Errorf("%s: no line has the heading of the time, %s; the line with most columns has %s", t.name, quotedList(t.form.Time), quotedList(best))
}

// likeliest is the separator that stands most often in a line.
func likeliest(line []byte) byte {
	best := byte(',')
	for _, c := range []byte{',', ';', '\t', '|'} {
		if bytes.Count(line, []byte{c}) > bytes.Count(line, []byte{best}) {
			best = c
		}
	}
	return best
}

// quotedList shows some names, no more than fit a message.
func quotedList(names []string) string {
	const most = 20
	var out []string
	for i, n := range names {
		if i == most {
			out = append(out, "…")
			break
		}
		out = append(out, fmt.Sprintf("%.60q", n))
	}
	return strings.Join(out, ", ")
}

var (
	errNoSuchTime = errors.New("there is no such time of day: clocks were put forward over it")
	errTime       = errors.New("is not a time as the job sheet says they are written")
)

// timeOf reads the time of a row.
func (t *table) timeOf(cells [][]byte) (time.Time, error) {
	parts := make([]string, len(t.times))
	for i, c := range t.times {
		parts[i] = string(bytes.TrimSpace(cells[c]))
	}
	text := strings.Join(parts, " ")
	layout := ""
	if t.form != nil {
		layout = t.form.Layout
	}
	switch layout {
	case "":
		if wall, ok := parseTime(text); ok {
			return wall, nil
		}
		return time.Time{}, fmt.Errorf("%.40q is neither an RFC 3339 time nor Unix seconds", text)
	case UnixMillis:
		ms, err := strconv.ParseInt(text, 10, 64)
		if err != nil || ms < 0 || ms/1000 > lastSecond {
			return time.Time{}, fmt.Errorf("%.40q %w", text, errTime)
		}
		return time.UnixMilli(ms).UTC(), nil
	}
	wall, err := time.Parse(t.form.Layout, text)
	if err != nil || wall.Unix() > lastSecond || wall.Year() < 1 {
		return time.Time{}, fmt.Errorf("%.40q %w", text, errTime)
	}
	if strings.Contains(t.form.Layout, "Z07") || strings.Contains(t.form.Layout, "-07") || t.form.Zone == nil {
		return wall.UTC(), nil
	}
	return t.local(wall, text)
}

// local finds the moment that a clock on the wall shows. Where it shows the same time twice, the first is meant that is
// not before the row before. A row at the time of the row before is the second where rows are as far apart as the clocks
// are put back.
func (t *table) local(wall time.Time, text string) (time.Time, error) {
	var found []time.Time
	for _, near := range []time.Duration{-24 * time.Hour, 24 * time.Hour} {
		_, offset := wall.Add(near).In(t.form.Zone).Zone()
		at := wall.Add(-time.Duration(offset) * time.Second)
		if _, real := at.In(t.form.Zone).Zone(); real == offset && !slices.ContainsFunc(found, at.Equal) {
			found = append(found, at)
		}
	}
	slices.SortFunc(found, time.Time.Compare)
	switch len(found) {
	case 0:
		return time.Time{}, fmt.Errorf("%.40q: %w", text, errNoSuchTime)
	case 1:
		return found[0].UTC(), nil
	}
	t.Twice++
	if found[0].Before(t.last) || found[0].Equal(t.last) && t.apart == found[1].Sub(found[0]) {
		return found[1].UTC(), nil
	}
	return found[0].UTC(), nil
}
