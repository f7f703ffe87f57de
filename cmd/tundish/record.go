package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"tundish/capture"
	"tundish/capture/capfile"
	"tundish/capture/recorder"
	"tundish/cmd/tundish/jobsheet"
)

type recordCmd struct {
	Job        string        `arg:"" placeholder:"JOB.toml" help:"The job sheet."`
	Out        string        `short:"o" placeholder:"FILE" help:"The capture (default: beside the job sheet, NAME.capture). If it exists, recording goes on in it."`
	CheckAfter time.Duration `placeholder:"TIME" default:"${check_after}" help:"Say once, after this time, whether the set-up is fit to be left; 0s: never (default: ${default})."`
}

func (c recordCmd) Run(ctx context.Context, s *streams) error {
	sheet, err := loadSheet(c.Job)
	if err != nil {
		return err
	}
	clock := capture.StartClock()
	sources, err := openSources(sheet, clock)
	if err != nil {
		return usageError{fmt.Errorf("%s: %w", c.Job, err)}
	}
	// All that can be wrong with the sheet is found before the disk is touched.
	all, err := newDecoders(sheet, sheet)
	if err != nil {
		return usageError{fmt.Errorf("%s: %w", c.Job, err)}
	}
	path := c.Out
	if path == "" {
		path = capturePath(c.Job)
	}
	w, err := openWriter(path)
	if err != nil {
		return err
	}
	run, err := beginRun(w, sheet)
	if err != nil {
		return errors.Join(err, w.Close())
	}
	var seen *watch
	if s.screen.terminal() {
		seen = newWatch(all)
	}
	marks, err := newMarkTaker(path, clock, s.log)
	if err != nil {
		return errors.Join(err, w.Close())
	}
	logger := recorder.New(recorder.Config{Sources: sources, Sink: sink{w, run, seen, marks}, Due: marks.due, Clock: clock, Run: run, Log: s.log})
	stopStatus := showStatus(s.screen, logger, seen, path)
	stopCheck := firstCheck{path, run, s.screen, s.log}.start(ctx, c.CheckAfter)
	err = logger.Run(ctx)
	stopCheck()
	stopStatus()
	return c.end(w, run, clock, path, err, ctx.Err() != nil, s)
}

// end closes the capture, whatever ended the run.
func (c recordCmd) end(w *capfile.Writer, run uint32, clock capture.Clock, path string, err error, asked bool, s *streams) error {
	why := "every source had ended"
	switch {
	case err != nil:
		why = err.Error()
	case asked:
		why = "stopped"
	}
	if err != nil {
		if errors.Is(err, capfile.ErrFull) {
			err = hinted{err, "make room, then start again: it goes on in the same capture"}
		}
		// Nothing more can be written as it seems; the file is closed as it stands.
		return errors.Join(err, ignoreFull(w.Close()))
	}
	err = errors.Join(w.EndRun(run, clock.Now(), why), w.Commit())
	if closing := w.Close(); closing != nil {
		return errors.Join(err, fmt.Errorf("%s: %w", path, closing))
	}
	if err != nil {
		return err
	}
	head := w.Head()
	_, err = fmt.Fprintf(s.out, "%s: %s, head %s\n", path, count(head.Records, "record"), head)
	return err
}

// capturePath is where a job records: beside its sheet, under its name.
func capturePath(job string) string {
	return strings.TrimSuffix(job, filepath.Ext(job)) + ".capture"
}

func openSources(sheet *jobsheet.Sheet, clock capture.Clock) ([]recorder.Named, error) {
	var out []recorder.Named
	var errs []error
	for i := range sheet.Sources {
		src := &sheet.Sources[i]
		k := kindOf(src)
		if k.source == nil {
			errs = append(errs, fmt.Errorf("line %d: source %q: this version cannot record from kind %q; a file can be imported for it", src.Line, src.Name, src.Kind))
			continue
		}
		s, err := k.source(src, clock)
		if err != nil {
			errs = append(errs, fmt.Errorf("line %d: %w", src.Line, err))
			continue
		}
		out = append(out, recorder.Named{Name: src.Name, Source: s})
	}
	return out, errors.Join(errs...)
}

func openWriter(path string) (*capfile.Writer, error) {
	if err := checkFolder(path); err != nil {
		return nil, err
	}
	w, err := capfile.Create(path, capfile.Options{})
	if errors.Is(err, os.ErrExist) {
		return capfile.Continue(path, capfile.Options{})
	}
	return w, err
}

func beginRun(w *capfile.Writer, sheet *jobsheet.Sheet) (uint32, error) {
	info := capfile.RunInfo{Kind: capfile.Record, Program: programName(), Started: time.Now()}
	for _, s := range sheet.Sources {
		info.Sources = append(info.Sources, s.Name)
	}
	run, err := w.StartRun(info)
	if err != nil {
		return 0, err
	}
	return run, errors.Join(keepSheet(w, run, sheet), w.Commit())
}

// sink is the capture as the recorder sees it.
type sink struct {
	w    *capfile.Writer
	run  uint32
	seen *watch // nil: nobody looks
	// marks are those that people make meanwhile.
	marks *markTaker
}

func (s sink) Append(rec capture.Record) error {
	if err := s.w.Append(rec); err != nil {
		return err
	}
	if s.seen != nil {
		s.seen.see(rec)
	}
	return nil
}

func (s sink) Commit() error {
	if err := s.marks.take(s.w, s.run); err != nil {
		return err
	}
	if err := s.w.Commit(); err != nil {
		return err
	}
	s.marks.committed()
	return nil
}

func (s sink) Observe(l recorder.Look) error {
	return s.w.Observe(s.run, capfile.Observation{At: l.At, Wall: l.Wall, Synced: l.Synced, Slept: l.Slept})
}
