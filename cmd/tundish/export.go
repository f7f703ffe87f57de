package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"tundish/capture/capfile"
	"tundish/dashboards/findings"
	"tundish/decode"
)

type exportCmd struct {
	Capture string `arg:"" help:"The capture to export."`
	Out     string `short:"o" required:"" placeholder:"FILE" help:"Where to write: FILE.csv or FILE.parquet."`
	Wide    bool   `help:"A row a moment and a column a series, instead of a row a reading."`
	Job     string `placeholder:"JOB.toml" help:"A job sheet that amends the one in the capture."`
	Named   bool   `help:"Also what a device said of which there is no point: a meter's energy of last year, its number. A text stands in the column of the value."`
}

// table takes the readings of a capture, in order, and writes them as a file.
type table interface {
	add(decode.Reading) error
	// addNamed takes what has no point; a table with a column a series has no room for it.
	addNamed(decode.Named) error
	close() error
}

func (c exportCmd) Run(ctx context.Context, s *streams) (err error) {
	ending := strings.ToLower(filepath.Ext(c.Out))
	if ending != ".csv" && ending != ".parquet" {
		return usagef("%s: readings are exported as .csv or .parquet", c.Out)
	}
	if c.Wide && c.Named {
		return usagef("--named: what has no point has no column: leave --wide out")
	}
	kept, err := openCapture(c.Capture, c.Job)
	if err != nil {
		return err
	}
	defer func() { err = firstError(err, kept.close()) }()
	var rows, left uint64
	var seen *scanned
	err = writeAside(c.Out, func(w io.Writer) error {
		out, err := c.open(ctx, kept, ending, w)
		if err != nil {
			return err
		}
		bar := newProgress(s.err, "exporting", int64(kept.reader.Head().Records))
		defer bar.end()
		done := int64(0)
		step := func(string, uint32, time.Time, string) {
			if done++; done%barEvery == 0 {
				bar.at(done)
			}
		}
		l := listener{record: step}
		var failed error
		if c.Named {
			l.named = func(n decode.Named) {
				rows++
				failed = firstError(failed, out.addNamed(n))
			}
		}
		seen, err = kept.scan(ctx, capfile.Window{}, l, func(r decode.Reading) error {
			rows++
			return out.add(r)
		})
		err = firstError(err, failed)
		if m, ok := out.(interface{ leftOut() uint64 }); ok {
			left = m.leftOut()
		}
		return firstError(err, out.close())
	})
	if err != nil {
		return err
	}
	return c.told(s, rows-left, left, kept, seen)
}

// barEvery is how many records pass between two looks at the bar.
const barEvery = 4096

// open begins the table that was asked for.
func (c exportCmd) open(ctx context.Context, kept *captured, ending string, w io.Writer) (table, error) {
	if !c.Wide {
		if ending == ".csv" {
			return newLongCSV(w)
		}
		return newLongParquet(w, kept), nil
	}
	series, err := kept.seriesList(ctx)
	if err != nil {
		return nil, err
	}
	if ending == ".csv" {
		return newWideCSV(w, series)
	}
	return newWideParquet(w, kept, series), nil
}

// seriesList are the series that a capture gives, in the order in which they first come.
func (c *captured) seriesList(ctx context.Context) ([]decode.Series, error) {
	var out []decode.Series
	known := map[decode.Series]bool{}
	_, err := c.scan(ctx, capfile.Window{}, listener{}, func(r decode.Reading) error {
		if !known[r.Series] {
			known[r.Series] = true
			out = append(out, r.Series)
		}
		return nil
	})
	return out, err
}

// told says what was written, and what a reader of it must know: the columns of the file have no room for that. It
// goes to standard error too, for whoever keeps that alone.
func (c exportCmd) told(s *streams, rows, left uint64, kept *captured, seen *scanned) error {
	closing := fmt.Sprintf("%s in %s", count(rows, "reading"), c.Out)
	warnings := kept.warnings(seen)
	if left > 0 {
		warnings = append(warnings, fmt.Sprintf("%s left out, which the form without --wide has", count(left, "doubtful reading")))
	}
	if a := kept.amendedWords(); a != "" {
		warnings = append([]string{a}, warnings...)
	}
	for _, w := range warnings {
		fmt.Fprintf(s.err, "warning: %s\n", findings.Printable(w))
		closing += "; " + findings.Printable(w)
	}
	_, err := fmt.Fprintln(s.out, closing)
	return err
}
