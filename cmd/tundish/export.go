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
	"tundish/decode"
)

type exportCmd struct {
	Capture string `arg:"" help:"The capture to export."`
	Out     string `short:"o" required:"" placeholder:"FILE.csv" help:"Where to write."`
	Job     string `placeholder:"JOB.toml" help:"A job sheet that amends the one in the capture."`
}

func (c exportCmd) Run(ctx context.Context, s *streams) (err error) {
	if strings.ToLower(filepath.Ext(c.Out)) != ".csv" {
		return usagef("%s: this version exports .csv files", c.Out)
	}
	cap, err := openCapture(c.Capture, c.Job)
	if err != nil {
		return err
	}
	defer func() { err = firstError(err, cap.close()) }()
	var rows uint64
	err = writeAside(c.Out, func(w io.Writer) error {
		rows, err = exportCSV(ctx, cap, w)
		return err
	})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.out, "%d readings in %s\n", rows, c.Out)
	return err
}

// exportCSV writes a row a reading: time, series, value, unit, quality.
func exportCSV(ctx context.Context, cap *captured, w io.Writer) (rows uint64, err error) {
	out := csv.NewWriter(w)
	if err := out.Write([]string{"time", "series", "value", "unit", "quality"}); err != nil {
		return 0, err
	}
	_, err = cap.scan(ctx, capfile.Window{}, nil, func(r decode.Reading) error {
		rows++
		return out.Write([]string{r.Time.UTC().Format(time.RFC3339Nano), r.Series.String(),
			strconv.FormatFloat(r.Value, 'f', -1, 64), r.Series.Point.Unit(), r.Quality.String()})
	})
	out.Flush()
	return rows, firstError(err, out.Error())
}
