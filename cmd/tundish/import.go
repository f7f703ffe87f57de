package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"tundish/capture/capfile"
	"tundish/cmd/tundish/jobsheet"
)

type importCmd struct {
	Job   string   `arg:"" placeholder:"JOB.toml" help:"The job sheet."`
	Files []string `arg:"" name:"SOURCE=FILE" help:"A file of timed lines (*.log) or readings (*.csv) for a source of the job sheet."`
	Out   string   `short:"o" required:"" placeholder:"OUT.capture" help:"The capture to make; it must not exist."`
}

func (c importCmd) Run(ctx context.Context, s *streams) error {
	sheet, err := loadSheet(c.Job)
	if err != nil {
		return err
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
	head, err := c.make(ctx, s, sheet, files)
	if err != nil {
		return err
	}
	for _, f := range files {
		fmt.Fprintf(s.out, "%s: %s\n", f.path, f.told)
	}
	_, err = fmt.Fprintf(s.out, "%s: %s, head %s\n", c.Out, count(head.Records, "record"), head)
	return err
}

// make reads each file twice: to find its clock steps, and to keep what it holds.
func (c importCmd) make(ctx context.Context, s *streams, sheet *jobsheet.Sheet, files []inputFile) (head capfile.Head, err error) {
	read := readSoFar{progress: newProgress(s.err, "importing", 2*sizes(files))}
	defer read.end()
	for i := range files {
		files[i].read = &read
	}
	for i := range files {
		if err := files[i].survey(ctx); err != nil {
			return head, err
		}
	}
	return c.write(ctx, sheet, files)
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
