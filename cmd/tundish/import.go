package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"strings"
	"time"

	"tundish/capture"
	"tundish/capture/readingscsv"
	"tundish/capture/recorder"
	"tundish/capture/timedlines"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
)

type importCmd struct {
	Job   string   `arg:"" placeholder:"JOB.toml" help:"The job sheet."`
	Files []string `arg:"" name:"SOURCE=FILE" help:"A file of timed lines (*.log) or readings (*.csv) for a source of the job sheet."`
	Out   string   `short:"o" required:"" placeholder:"OUT.capture" help:"The capture to make; it must not exist."`
}

func (c importCmd) Run(ctx context.Context, s *streams) error {
	sheet, err := jobsheet.Load(c.Job)
	if err != nil {
		return noSheet(err)
	}
	files, err := c.files(sheet)
	if err != nil {
		return err
	}
	if _, err := newDecoders(sheet, sheet); err != nil {
		return usageError{fmt.Errorf("%s: %w", c.Job, err)}
	}
	if err := checkFolder(c.Out); err != nil {
		return err
	}
	if _, err := os.Lstat(c.Out); err == nil {
		return hinted{usagef("%s exists: import makes a new capture and overwrites nothing", c.Out), "name another file with -o"}
	}
	for i := range files {
		if err := files[i].survey(ctx); err != nil {
			return err
		}
	}
	head, err := c.write(ctx, sheet, files)
	if err != nil {
		return err
	}
	for _, f := range files {
		fmt.Fprintf(s.out, "%s: %s\n", f.path, f.told)
	}
	_, err = fmt.Fprintf(s.out, "%s: %s, head %s\n", c.Out, count(head.Records, "record"), head)
	return err
}

// files pairs the words SOURCE=FILE with the sources of the job sheet. All that is wrong is told at once.
func (c importCmd) files(sheet *jobsheet.Sheet) ([]inputFile, error) {
	var out []inputFile
	var errs []error
	for _, word := range c.Files {
		name, path, ok := strings.Cut(word, "=")
		if !ok || name == "" || path == "" {
			errs = append(errs, fmt.Errorf("%q: write SOURCE=FILE", word))
			continue
		}
		src, ok := sheet.Source(name)
		if !ok {
			var names []string
			for _, s := range sheet.Sources {
				names = append(names, s.Name)
			}
			errs = append(errs, fmt.Errorf("%s: %s has no source %q; it has %s", word, c.Job, name, strings.Join(names, ", ")))
			continue
		}
		f := inputFile{path: path, source: src, zone: sheet.Job.Zone}
		if err := f.recognise(); err != nil {
			errs = append(errs, absent(err, filepath.Ext(path), "give the file with its folder, as SOURCE=FOLDER/FILE"))
			continue
		}
		out = append(out, f)
	}
	if len(errs) > 0 {
		return nil, usageError{errors.Join(errs...)}
	}
	return out, nil
}

// inputFile is one file to be imported.
type inputFile struct {
	path   string
	source *jobsheet.Source
	csv    bool
	zone   *time.Location // of local times
	// base is UTC at zero of the file's run: later clock steps of the file are already in it.
	base time.Time
	told string
}

// recognise tells the two formats apart: by the file's ending, else by its first line.
func (f *inputFile) recognise() error {
	info, err := os.Stat(f.path) // before opening: a pipe would wait for somebody to write into it
	switch {
	case err != nil:
		return err
	case info.IsDir():
		return fmt.Errorf("%s: is a folder, not a file", f.path)
	case !info.Mode().IsRegular():
		return fmt.Errorf("%s: is a pipe or a device; a file to import is read twice, so write what it gives into a file first", f.path)
	}
	in, err := os.Open(f.path)
	if err != nil {
		return err
	}
	defer in.Close()
	switch strings.ToLower(filepath.Ext(f.path)) {
	case ".csv":
		f.csv = true
	case ".log":
	default:
		start, err := bufio.NewReader(in).Peek(5)
		f.csv = err == nil && bytes.EqualFold(start, []byte("time,"))
	}
	if !f.csv && !kindOf(f.source).lines {
		return fmt.Errorf("%s: a source of kind %q takes readings as a .csv file here, not timed lines", f.path, f.source.Kind)
	}
	return nil
}

// stamped is a record of a file with the wall time that stands beside it.
type stamped struct {
	wall time.Time
	rec  capture.Record
}

var errStop = errors.New("enough")

// read yields the file's records in order; an error ends it. The payload is valid until the next one.
func (f *inputFile) read(ctx context.Context) iter.Seq2[stamped, error] {
	return func(yield func(stamped, error) bool) {
		in, err := os.Open(f.path)
		if err != nil {
			yield(stamped{}, err)
			return
		}
		defer in.Close()
		emit := func(wall time.Time, rec capture.Record) error {
			if !yield(stamped{wall, rec}, nil) {
				return errStop
			}
			return nil
		}
		if err := f.readAll(ctx, in, emit); err != nil && !errors.Is(err, errStop) {
			if ctx.Err() == nil {
				err = usageError{err}
			}
			yield(stamped{}, err)
		}
	}
}

// readAll reads the file through, and notes what it held.
func (f *inputFile) readAll(ctx context.Context, in io.Reader, emit func(time.Time, capture.Record) error) error {
	if f.csv && f.source.Table != nil {
		form := f.source.Table.Form
		if form.Zone == nil {
			form.Zone = f.zone
		}
		st, err := readingscsv.ReadAs(ctx, in, f.path, f.source.Name, form, emit)
		f.told = tell(st.Records, "value", st.Rows, "row", st.Noted, st.Untimed, st.Back, st.Truncated)
		if st.Twice > 0 {
			f.told += fmt.Sprintf("; %d at a local time that came twice, taken in the order of the rows", st.Twice)
		}
		return err
	}
	if f.csv {
		known := func(name string) bool {
			_, err := decode.ParsePoint(name)
			return err == nil
		}
		st, err := readingscsv.Read(ctx, in, f.path, f.source.Name, known, emit)
		f.told = tell(st.Records, "value", st.Rows, "row", st.Noted, st.Untimed, st.Back, st.Truncated)
		if st.Others > 0 {
			f.told += fmt.Sprintf("; %d of other sources", st.Others)
		}
		return err
	}
	st, err := timedlines.Read(ctx, in, f.path, f.source.Name, emit)
	f.told = tell(st.Records, "record", st.Lines, "line", st.NoTime+st.Overlong, st.Untimed, st.Back, st.Truncated)
	return err
}

func tell(records uint64, what string, lines uint64, of string, noted, untimed, back uint64, truncated bool) string {
	t := fmt.Sprintf("%s from %s", count(records, what), count(lines, of))
	for _, x := range []struct {
		n    uint64
		text string
	}{
		{noted, "kept with a note, since they are not as they should be"},
		{untimed, "left out, since no time is known for them"},
		{back, "timed earlier than the one before"},
	} {
		if x.n > 0 {
			t += fmt.Sprintf("; %d %s", x.n, x.text)
		}
	}
	if truncated {
		t += "; the last line is cut short"
	}
	return t
}

// survey reads the file once to find its clock steps, so that the files can be merged in order of true time.
func (f *inputFile) survey(ctx context.Context) error {
	var line recorder.Timeline
	n := 0
	for s, err := range f.read(ctx) {
		if err != nil {
			return err
		}
		n++
		at, observe := line.Place(s.wall)
		if observe {
			f.base = s.wall.Add(-at)
		}
	}
	if n == 0 {
		return usagef("%s: holds no record", f.path)
	}
	return nil
}
