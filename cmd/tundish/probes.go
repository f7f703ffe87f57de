package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"time"

	"tundish/capture"
	wire "tundish/capture/onewire"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode/onewire"
)

// probeValue is what one probe gave in one sweep, or a word about it.
type probeValue struct {
	source, probe string
	at            time.Duration
	sweep         uint32
	c, step       float64 // °C, K
	err           error   // why there is no temperature
	note          string
}

// watchProbes reads probes until the context ends, and gives each value to take, in one goroutine. The error says which
// bus is gone.
func watchProbes(ctx context.Context, sources []wire.Config, take func(probeValue) error) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	clock := capture.StartClock()
	var (
		one  sync.Mutex
		wait sync.WaitGroup
		errs = make([]error, len(sources))
	)
	for i, cfg := range sources {
		wait.Go(func() {
			defer stop()
			errs[i] = wire.New(cfg, clock).Capture(ctx, func(r capture.Record) error {
				one.Lock()
				defer one.Unlock()
				if ctx.Err() != nil {
					return ctx.Err()
				}
				v := probeValue{source: r.Source, probe: r.Channel, at: r.At, sweep: r.Sweep, note: r.Note}
				if r.Note == "" {
					v.c, v.step, v.err = onewire.Celsius(r.Channel, r.Payload)
				}
				return take(v)
			})
			if errors.Is(errs[i], context.Canceled) || errors.Is(errs[i], context.DeadlineExceeded) {
				errs[i] = nil // the time to read is over
			}
		})
	}
	wait.Wait()
	return errors.Join(errs...)
}

// editJob changes the points of a job sheet in its file, if nobody else changed it since it was read.
func editJob(sheet *jobsheet.Sheet, edits []jobsheet.ProbeEdit) error {
	path, err := filepath.EvalSymlinks(sheet.File)
	if err != nil {
		return err
	}
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	if !bytes.Equal(bytes.TrimPrefix(text, []byte("\ufeff")), sheet.Text) {
		return fmt.Errorf("%s: was changed by somebody else meanwhile, and is left as it is", sheet.File)
	}
	text, err = jobsheet.EditProbes(sheet.File, text, edits)
	if err != nil {
		return err
	}
	return writeAsideAs(path, text, info.Mode().Perm())
}

// writeAsideAs replaces a file in one step.
func writeAsideAs(path string, text []byte, mode fs.FileMode) error {
	if err := writeAside(path, func(w io.Writer) error { _, err := w.Write(text); return err }); err != nil {
		return err
	}
	return os.Chmod(path, mode)
}
