package main

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"time"

	"tundish/capture/capfile"
	"tundish/dashboards/findings"
)

// checkAfter is when a recording says once whether the set-up is fit to be left: late enough that every source has
// been read often and a burner that was asked for heat has lit, early enough that whoever fitted it is still there.
// Own proposal.
const checkAfter = 10 * time.Minute

// firstCheck judges one run while it is recorded, once.
type firstCheck struct {
	path string
	run  uint32
	to   *screen
	log  *slog.Logger
}

// start waits in the background, and gives a function that ends the waiting, or the check, and returns when it has
// ended: a capture cannot be closed cleanly while somebody reads it. After 0 or less nothing is checked.
func (f firstCheck) start(ctx context.Context, after time.Duration) (stop func()) {
	if after <= 0 {
		return func() {}
	}
	ctx, cancel := context.WithCancel(ctx)
	var wait sync.WaitGroup
	wait.Go(func() {
		timer := time.NewTimer(after)
		defer timer.Stop()
		select {
		case <-ctx.Done():
			return
		case <-timer.C:
		}
		if err := f.tell(ctx); err != nil && ctx.Err() == nil {
			f.log.Warn("the set-up could not be checked; the recording goes on", "error", err)
		}
	})
	return func() { cancel(); wait.Wait() }
}

// tell checks the run and writes what comes of it above the status. Nothing that goes wrong here may end the recording.
func (f firstCheck) tell(ctx context.Context) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("a defect of the program: %v", r)
		}
	}()
	kept, err := openCapture(f.path, "")
	if err != nil {
		return err
	}
	defer func() { err = firstError(err, kept.close()) }()
	// Only this run: what an earlier one of weeks holds takes long to read, and tells of another set-up.
	runs := slices.DeleteFunc(kept.reader.Runs(), func(r capfile.Run) bool { return r.Number != f.run })
	if len(runs) == 0 {
		return fmt.Errorf("run %d is not in the capture yet", f.run)
	}
	summary, _, err := kept.fit(ctx, runs, capfile.Window{From: runs[0].From})
	if err != nil {
		return err
	}
	var text bytes.Buffer
	fmt.Fprintln(&text)
	if err := findings.FitText(&text, summary, kept.sheet.Job.Zone, f.to.width(), nil); err != nil {
		return err
	}
	fmt.Fprintf(&text, "\n\"tundish check %s\" says it again at any time.\n\n", f.path)
	_, err = f.to.Write(text.Bytes())
	return err
}
