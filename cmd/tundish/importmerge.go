package main

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"os"
	"path/filepath"
	"time"

	"tundish/capture/capfile"
	"tundish/capture/recorder"
	"tundish/cmd/tundish/jobsheet"
)

// write makes the capture aside and puts it in place when it is whole. Each file is a run of its own, since each has
// a clock of its own.
func (c importCmd) write(ctx context.Context, sheet *jobsheet.Sheet, files []inputFile) (head capfile.Head, err error) {
	dir, err := os.MkdirTemp(filepath.Dir(c.Out), ".import-*")
	if err != nil {
		return head, underName(c.Out, err)
	}
	defer func() { err = firstError(err, os.RemoveAll(dir)) }()
	aside := filepath.Join(dir, "capture")
	w, err := capfile.Create(aside, capfile.Options{})
	if err != nil {
		return head, fmt.Errorf("%s: %w", c.Out, err)
	}
	if err := fill(ctx, w, sheet, files); err != nil {
		return head, errors.Join(fmt.Errorf("%s: %w", c.Out, err), ignoreFull(w.Close()))
	}
	if err := w.Close(); err != nil {
		return head, fmt.Errorf("%s: %w", c.Out, err)
	}
	head = w.Head()
	// A link, unlike a rename, refuses to take the place of a file that has appeared meanwhile. Some file systems
	// of memory sticks have no links.
	if err := os.Link(aside, c.Out); err != nil {
		if errors.Is(err, os.ErrExist) {
			return head, usagef("%s appeared meanwhile: import overwrites nothing", c.Out)
		}
		if err := os.Rename(aside, c.Out); err != nil {
			return head, fmt.Errorf("%s: %w", c.Out, err)
		}
	}
	syncFolder(c.Out)
	return head, nil
}

// ignoreFull drops the echo of an error that has been reported.
func ignoreFull(err error) error {
	if errors.Is(err, capfile.ErrFull) {
		return nil
	}
	return err
}

// commitRecords is how many records are imported between commits: what is in memory stays small.
const commitRecords = 50_000

func fill(ctx context.Context, w *capfile.Writer, sheet *jobsheet.Sheet, files []inputFile) error {
	merge := make([]*openFile, len(files))
	for i := range files {
		o, err := openRun(ctx, w, sheet, &files[i], i == 0)
		if err != nil {
			return err
		}
		defer o.stop()
		merge[i] = o
	}
	for n := 0; ; n++ {
		next := earliest(merge)
		if next == nil {
			break
		}
		if err := next.put(w); err != nil {
			return err
		}
		if n%commitRecords == commitRecords-1 {
			if err := w.Commit(); err != nil {
				return err
			}
		}
		if err := next.advance(); err != nil {
			return err
		}
	}
	for _, o := range merge {
		if err := w.EndRun(o.run, o.at, "the file ends here"); err != nil {
			return err
		}
	}
	return ctx.Err()
}

// openFile is a file being merged.
type openFile struct {
	*inputFile
	run     uint32
	line    recorder.Timeline
	at      time.Duration
	observe bool
	cur     stamped
	more    bool
	next    func() (stamped, error, bool)
	stop    func()
}

// openRun begins the run of a file. Unless it gives an error, stop must be called.
func openRun(ctx context.Context, w *capfile.Writer, sheet *jobsheet.Sheet, f *inputFile, first bool) (*openFile, error) {
	o := &openFile{inputFile: f}
	o.next, o.stop = iter.Pull2(f.records(ctx))
	err := o.advance()
	if err == nil {
		o.run, err = w.StartRun(capfile.RunInfo{Kind: capfile.Import, Program: programName(), Started: o.cur.wall, Sources: []string{f.source.Name}})
	}
	if err == nil && first {
		err = keepSheet(w, o.run, sheet)
	}
	if err != nil {
		o.stop()
		return nil, err
	}
	return o, nil
}

func (o *openFile) advance() error {
	s, err, ok := o.next()
	if err != nil {
		return err
	}
	o.more = ok
	if ok {
		o.cur = s
		o.at, o.observe = o.line.Place(s.wall)
	}
	return nil
}

func (o *openFile) put(w *capfile.Writer) error {
	if o.observe {
		if err := w.Observe(o.run, capfile.Observation{At: o.at, Wall: o.cur.wall}); err != nil {
			return err
		}
	}
	rec := o.cur.rec
	rec.Run, rec.At = o.run, o.at
	return w.Append(rec)
}

// earliest finds the file whose next record comes first in true time.
func earliest(files []*openFile) *openFile {
	var best *openFile
	for _, o := range files {
		if o.more && (best == nil || o.base.Add(o.at).Before(best.base.Add(best.at))) {
			best = o
		}
	}
	return best
}
