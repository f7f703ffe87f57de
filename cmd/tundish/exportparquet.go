package main

import (
	"io"

	"github.com/parquet-go/parquet-go"

	"tundish/decode"
)

// groupRows is how many rows a group of a Parquet file has: what is kept in memory until it is written.
const groupRows = 1 << 18

// reading is a row of the long form.
type reading struct {
	Time    int64   `parquet:"time,timestamp(nanosecond)"`
	Series  string  `parquet:"series,dict"`
	Value   float64 `parquet:"value"`
	Text    string  `parquet:"text,optional,dict"` // of what has no point and is no number; else null
	Unit    string  `parquet:"unit,dict"`
	Quality string  `parquet:"quality,dict"`
}

// about is what stands in the file besides the rows: of what capture they are, and the units.
func about(kept *captured, series []decode.Series) []parquet.WriterOption {
	out := []parquet.WriterOption{parquet.MaxRowsPerRowGroup(groupRows), parquet.Compression(&parquet.Zstd), parquet.KeyValueMetadata("program", programName()),
		parquet.KeyValueMetadata("job", kept.sheet.Job.Name),
		parquet.KeyValueMetadata("timezone", kept.sheet.Job.Zone.String()),
		parquet.KeyValueMetadata("capture head", kept.reader.Head().String())}
	if a := kept.amendedWords(); a != "" {
		out = append(out, parquet.KeyValueMetadata("amended", a))
	}
	for _, s := range series {
		out = append(out, parquet.KeyValueMetadata("unit "+s.String(), s.Point.Unit()))
	}
	return out
}

// longParquet is a row a reading.
type longParquet struct {
	out  *parquet.GenericWriter[reading]
	rows []reading
}

func newLongParquet(w io.Writer, kept *captured) *longParquet {
	return &longParquet{out: parquet.NewGenericWriter[reading](w, about(kept, nil)...)}
}

func (t *longParquet) add(r decode.Reading) error {
	t.rows = append(t.rows, reading{r.Time.UnixNano(), r.Series.String(), r.Value, "", r.Series.Point.Unit(), r.Quality.String()})
	return t.full()
}

func (t *longParquet) addNamed(n decode.Named) error {
	t.rows = append(t.rows, reading{n.Time.UnixNano(), n.Series(), n.Value, n.Text, n.Unit, n.Quality.String()})
	return t.full()
}

func (t *longParquet) full() error {
	if len(t.rows) < 1024 {
		return nil
	}
	return t.flush()
}

func (t *longParquet) flush() error {
	_, err := t.out.Write(t.rows)
	t.rows = t.rows[:0]
	return err
}

func (t *longParquet) close() error { return firstError(t.flush(), t.out.Close()) }

// wideParquet is a row a moment, a column a series; each column's unit stands in the file's key and value pairs.
type wideParquet struct {
	moments
	out   *parquet.GenericWriter[any]
	time  int   // column of the time
	place []int // columns of the series: the format sorts them by name
	row   parquet.Row
}

func newWideParquet(w io.Writer, kept *captured, series []decode.Series) *wideParquet {
	columns := parquet.Group{"time": parquet.Timestamp(parquet.Nanosecond)}
	for _, s := range series {
		columns[s.String()] = parquet.Optional(parquet.Leaf(parquet.DoubleType))
	}
	schema := parquet.NewSchema("readings", columns)
	t := &wideParquet{moments: newMoments(series), out: parquet.NewGenericWriter[any](w, append(about(kept, series), schema)...)}
	at := func(name string) int {
		leaf, _ := schema.Lookup(name)
		return leaf.ColumnIndex
	}
	t.time = at("time")
	for _, s := range series {
		t.place = append(t.place, at(s.String()))
	}
	t.row = make(parquet.Row, len(series)+1)
	return t
}

func (t *wideParquet) add(r decode.Reading) error { return t.moments.add(r, t.put) }

func (t *wideParquet) put() error {
	t.row[t.time] = parquet.Int64Value(t.at.UnixNano()).Level(0, 0, t.time)
	for i, c := range t.place {
		t.row[c] = parquet.NullValue().Level(0, 0, c)
		if t.there[i] {
			t.row[c] = parquet.DoubleValue(t.values[i]).Level(0, 1, c)
		}
	}
	_, err := t.out.WriteRows([]parquet.Row{t.row})
	return err
}

func (t *wideParquet) close() error { return firstError(t.end(t.put), t.out.Close()) }
