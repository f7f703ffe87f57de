package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"tundish/capture"
	"tundish/capture/capfile"
	"tundish/cmd/tundish/house"
	"tundish/cmd/tundish/jobsheet"
)

// simulate runs a simulated house into a new capture, through the same file and the same records as a real job, and
// returns what truly happened. A capture that does not become whole is left as it is, for the caller to remove.
func simulate(ctx context.Context, path string, scenario house.Scenario, seed uint64, progress func(done, total time.Duration)) (truth house.Truth, err error) {
	text := scenario.JobSheet(seed)
	sheet, err := jobsheet.Parse(demoSheet, text)
	if err != nil {
		return truth, fmt.Errorf("the scenario's own job sheet: %w", err)
	}
	w, err := capfile.Create(path, capfile.Options{})
	if err != nil {
		return truth, err
	}
	defer func() { err = firstError(err, w.Close()) }()
	info := capfile.RunInfo{Kind: capfile.Simulated, Program: programName(), Started: scenario.Start}
	for _, src := range sheet.Sources {
		info.Sources = append(info.Sources, src.Name)
	}
	run, err := w.StartRun(info)
	if err != nil {
		return truth, err
	}
	if err := errors.Join(keepSheet(w, run, sheet), w.Observe(run, capfile.Observation{Wall: scenario.Start, Synced: true})); err != nil {
		return truth, err
	}
	var committed, last time.Duration
	truth, err = scenario.Simulate(ctx, seed, house.Listener{Progress: progress, Record: func(rec capture.Record) error {
		rec.Run, last = run, rec.At
		if rec.At-committed >= time.Hour {
			committed = rec.At
			if err := w.Commit(); err != nil {
				return err
			}
		}
		return w.Append(rec)
	}})
	if err != nil {
		return truth, err
	}
	return truth, w.EndRun(run, last, "the simulated days were over")
}
