package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"tundish/capture/capfile"
	"tundish/cmd/tundish/house"
	"tundish/dashboards/findings"
	"tundish/dashboards/report"
)

type demoCmd struct {
	Into string `default:"tundish-demo" placeholder:"DIR" help:"Folder to make (default: ${default})."`
	Seed uint64 `default:"1" help:"Another seed is another winter in the same house."`
}

const (
	demoScenario = "cold-mornings"
	demoMark     = "made-by-tundish-demo.txt"
	demoSheet    = "job.toml"
	demoCapture  = "job.capture"
	demoAside    = "job.capture.part" // while it is being made
	demoPDF      = "report.pdf"
	demoHTML     = "report.html"
)

func (c demoCmd) Run(ctx context.Context, s *streams) error {
	scenario, ok := house.Find(demoScenario)
	if !ok {
		return fmt.Errorf("the scenario %q is missing from this program", demoScenario)
	}
	if err := c.makeFolder(); err != nil {
		return err
	}
	fmt.Fprintf(s.out, "A simulated house, %d days, recorded into %s\n%s\n\n", scenario.Days, c.path(demoCapture), scenario.Doc)
	if err := c.record(ctx, s, scenario); err != nil {
		return err
	}
	proof, err := capfile.Verify(ctx, c.path(demoCapture))
	if err != nil {
		return err
	}
	if err := c.tell(ctx, s); err != nil {
		return err
	}
	if err := c.reports(ctx); err != nil {
		return err
	}
	fmt.Fprintf(s.out, "\nREPORT\n  %s\n  %s\n  %s, sealed; chain head %s…\n", c.path(demoPDF), c.path(demoHTML), count(proof.Records, "record"), proof.Head.String()[:12])
	c.next(s.out)
	return nil
}

func (c demoCmd) path(name string) string { return filepath.Join(c.Into, name) }

// makeFolder makes the folder, or clears one that an earlier demo made. It touches nothing else.
func (c demoCmd) makeFolder() error {
	entries, err := os.ReadDir(c.Into)
	switch {
	case errors.Is(err, os.ErrNotExist):
		if err := os.MkdirAll(c.Into, 0o755); err != nil {
			return err
		}
	case err != nil:
		return usageError{err}
	case len(entries) > 0:
		if _, err := os.Stat(c.path(demoMark)); err != nil {
			return hinted{usagef("%s is there already, and no demo made it: nothing was touched", c.Into), "name another folder with --into DIR"}
		}
		for _, e := range entries {
			if !demoMade(e.Name()) {
				return hinted{usagef("%s is not from a demo: nothing was touched", c.path(e.Name())), "name another folder with --into DIR"}
			}
		}
		for _, e := range entries {
			if e.Name() == demoMark {
				continue
			}
			if err := os.Remove(c.path(e.Name())); err != nil {
				return err
			}
		}
	}
	return os.WriteFile(c.path(demoMark), []byte("tundish demo made this folder and may clear it when it runs again.\n"), 0o644)
}

// sideSuffixes are what a capture has beside it while it is written.
var sideSuffixes = []string{"-head", "-wal", "-shm", "-journal"}

// demoMade tells whether a demo makes a file of that name, also one that was killed in its work.
func demoMade(name string) bool {
	for _, suffix := range sideSuffixes {
		name = strings.TrimSuffix(name, suffix)
	}
	return slices.Contains([]string{demoMark, demoSheet, demoCapture, demoAside, demoPDF, demoHTML}, name) ||
		strings.HasPrefix(name, asideName(demoPDF)) || strings.HasPrefix(name, asideName(demoHTML))
}

// record writes the job sheet and runs the simulated house into a capture, which has its name only when it is whole.
func (c demoCmd) record(ctx context.Context, s *streams, scenario house.Scenario) error {
	if err := os.WriteFile(c.path(demoSheet), scenario.JobSheet(c.Seed), 0o644); err != nil {
		return err
	}
	bar := newProgress(s.err, "simulating", int64(scenario.Days)*24*60)
	defer bar.end()
	aside := c.path(demoAside)
	_, err := simulate(ctx, aside, scenario, c.Seed, bar.minutes)
	if err == nil {
		err = os.Rename(aside, c.path(demoCapture))
	}
	if err != nil {
		for _, suffix := range append([]string{""}, sideSuffixes...) {
			if gone := os.Remove(aside + suffix); gone != nil && !errors.Is(gone, os.ErrNotExist) {
				err = errors.Join(err, gone)
			}
		}
	}
	if ctx.Err() != nil {
		return errors.New("the demo was stopped before its capture was whole; start it again")
	}
	return err
}

func (c demoCmd) tell(ctx context.Context, s *streams) (err error) {
	kept, err := openCapture(c.path(demoCapture), "")
	if err != nil {
		return err
	}
	defer func() { err = firstError(err, kept.close()) }()
	result, seen, err := kept.analyse(ctx)
	if err != nil {
		return err
	}
	return findings.WriteText(s.out, result, kept.sheet.Job.Zone, textWidth(s.out), findings.Options{Warnings: append(kept.warnings(seen), kept.disputes(result)...)})
}

func (c demoCmd) reports(ctx context.Context) error {
	return reportCmd{Capture: c.path(demoCapture)}.with(ctx, nil, func(in report.Input) error {
		for _, name := range []string{demoPDF, demoHTML} {
			write, err := reportWriter(name)
			if err != nil {
				return err
			}
			if err := writeAside(c.path(name), func(w io.Writer) error { return write(ctx, in, w) }); err != nil {
				return err
			}
		}
		return nil
	})
}

func (c demoCmd) next(w io.Writer) {
	fmt.Fprintf(w, `
WHAT TO TRY NEXT
  tundish verify %[1]s
  tundish analyse %[1]s --json --episodes
  tundish decode C000030A 40193D80
  %[2]s is a job sheet to start your own from;
  tundish record JOB.toml runs the logger on a real system.
`, c.path(demoCapture), c.path(demoSheet))
}
