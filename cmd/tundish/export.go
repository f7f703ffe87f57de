package main

import (
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"tundish/capture/capfile"
	"tundish/dashboards/findings"
	"tundish/decode"
)

type exportCmd struct {
	Capture string `arg:"" help:"The capture to export."`
	Out     string `short:"o" required:"" placeholder:"FILE.csv" help:"Where to write."`
	Job     string `placeholder:"JOB.toml" help:"A job sheet that amends the one in the capture."`
	Named   bool   `help:"Also what a device said of which there is no point: a meter's energy of last year, its number. A text stands in the column of the value."`
}

func (c exportCmd) Run(ctx context.Context, s *streams) (err error) {
	if strings.ToLower(filepath.Ext(c.Out)) != ".csv" {
		return usagef("%s: this version exports .csv files", c.Out)
	}
	kept, err := openCapture(c.Capture, c.Job)
	if err != nil {
		return err
	}
	defer func() { err = firstError(err, kept.close()) }()
	var rows uint64
	var seen *scanned
	err = writeAside(c.Out, func(w io.Writer) error {
		rows, seen, err = exportCSV(ctx, kept, w, c.Named)
		return err
	})
	if err != nil {
		return err
	}
	return c.told(s, rows, kept, seen)
}

// told says what was written, and what a reader of it must know: the columns of the file have no room for that. It
// goes to standard error too, for whoever keeps that alone.
func (c exportCmd) told(s *streams, rows uint64, kept *captured, seen *scanned) error {
	closing := fmt.Sprintf("%s in %s", count(rows, "reading"), c.Out)
	warnings := kept.warnings(seen)
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

// exportCSV writes a row a reading: time, series, value, unit, quality; and one for each thing that has no point, if those
// are wanted.
func exportCSV(ctx context.Context, kept *captured, w io.Writer, withNamed bool) (rows uint64, seen *scanned, err error) {
	out := csv.NewWriter(w)
	if err := out.Write([]string{"time", "series", "value", "unit", "quality"}); err != nil {
		return 0, nil, err
	}
	var l listener
	if withNamed {
		l.named = func(n decode.Named) {
			value := n.Text
			if value == "" {
				value = strconv.FormatFloat(n.Value, 'f', -1, 64)
			}
			rows++
			// What went wrong is told by out.Error at the end.
			_ = out.Write([]string{n.Time.UTC().Format(time.RFC3339Nano), n.Series(), value, n.Unit, n.Quality.String()})
		}
	}
	seen, err = kept.scan(ctx, capfile.Window{}, l, func(r decode.Reading) error {
		rows++
		return out.Write([]string{r.Time.UTC().Format(time.RFC3339Nano), r.Series.String(),
			strconv.FormatFloat(r.Value, 'f', -1, 64), r.Series.Point.Unit(), r.Quality.String()})
	})
	out.Flush()
	return rows, seen, firstError(err, out.Error())
}
