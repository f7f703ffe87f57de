package main

import (
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strconv"
	"time"

	"tundish/decode"
)

// number prints a value so that it reads back as it is.
func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func stampOf(t time.Time) string { return t.UTC().Format(time.RFC3339Nano) }

// longCSV is a row a reading: time, series, value, unit, quality.
type longCSV struct{ out *csv.Writer }

func newLongCSV(w io.Writer) (longCSV, error) {
	t := longCSV{csv.NewWriter(w)}
	return t, t.out.Write([]string{"time", "series", "value", "unit", "quality"})
}

func (t longCSV) add(r decode.Reading) error {
	return t.out.Write([]string{stampOf(r.Time), r.Series.String(), number(r.Value), r.Series.Point.Unit(), r.Quality.String()})
}

// addNamed puts a text into the column of the value.
func (t longCSV) addNamed(n decode.Named) error {
	value := n.Text
	if value == "" {
		value = number(n.Value)
	}
	return t.out.Write([]string{stampOf(n.Time), n.Series(), value, n.Unit, n.Quality.String()})
}

func (t longCSV) close() error {
	t.out.Flush()
	return t.out.Error()
}

// moments gathers the good readings of a moment into one row, a column a series.
type moments struct {
	columns map[decode.Series]int
	at      time.Time
	values  []float64
	there   []bool
	any     bool
	// doubtful are those that were left out.
	doubtful uint64
}

func (m *moments) leftOut() uint64 { return m.doubtful }

func newMoments(series []decode.Series) moments {
	m := moments{columns: map[decode.Series]int{}, values: make([]float64, len(series)), there: make([]bool, len(series))}
	for i, s := range series {
		m.columns[s] = i
	}
	return m
}

// add takes a reading; where it does not belong to the row under way, that is put first.
func (m *moments) add(r decode.Reading, put func() error) error {
	if r.Quality != decode.Good {
		m.doubtful++ // a column has no room for doubt
		return nil
	}
	i, ok := m.columns[r.Series]
	if !ok {
		return fmt.Errorf("%s came up between two looks at the capture", r.Series)
	}
	if m.any && (!r.Time.Equal(m.at) || m.there[i]) {
		if err := m.end(put); err != nil {
			return err
		}
	}
	m.at, m.any, m.values[i], m.there[i] = r.Time, true, r.Value, true
	return nil
}

func (m *moments) end(put func() error) error {
	if !m.any {
		return nil
	}
	err := put()
	m.any = false
	clear(m.there)
	return err
}

// wideCSV is a row a moment.
type wideCSV struct {
	moments
	out *csv.Writer
	row []string
}

func newWideCSV(w io.Writer, series []decode.Series) (*wideCSV, error) {
	t := &wideCSV{moments: newMoments(series), out: csv.NewWriter(w), row: make([]string, len(series)+1)}
	head := []string{"time"}
	for _, s := range series {
		head = append(head, s.String())
	}
	return t, t.out.Write(head)
}

func (t *wideCSV) add(r decode.Reading) error { return t.moments.add(r, t.put) }

func (m *moments) addNamed(decode.Named) error { return nil }

func (t *wideCSV) put() error {
	t.row[0] = stampOf(t.at)
	for i, v := range t.values {
		t.row[i+1] = ""
		if t.there[i] {
			t.row[i+1] = number(v)
		}
	}
	return t.out.Write(slices.Clip(t.row))
}

func (t *wideCSV) close() error {
	err := t.end(t.put)
	t.out.Flush()
	return firstError(err, t.out.Error())
}
