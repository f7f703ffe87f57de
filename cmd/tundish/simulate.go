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
	k := runKeeper{w: w, sheet: sheet, scenario: scenario}
	truth, err = scenario.Simulate(ctx, seed, house.Listener{Progress: progress, Record: k.record})
	if err != nil {
		return truth, err
	}
	return truth, k.end("the simulated days were over")
}

// runKeeper writes a house's records into a capture in the runs of its logger, with what the logger noted of its clock.
type runKeeper struct {
	w        *capfile.Writer
	sheet    *jobsheet.Sheet
	scenario house.Scenario

	number, run     uint32        // of the run under way: the house's, 0 for none yet, and the capture's
	begin           time.Duration // of the run, since the scenario's start
	last, committed time.Duration
}

func (k *runKeeper) record(rec capture.Record) error {
	if rec.Run != k.number {
		if err := k.start(rec); err != nil {
			return err
		}
	}
	if err := k.clockSteps(k.last, rec.At); err != nil {
		return err
	}
	k.last = rec.At
	rec.Run, rec.At = k.run, rec.At-k.begin
	if k.last-k.committed >= time.Hour {
		k.committed = k.last
		if err := k.w.Commit(); err != nil {
			return err
		}
	}
	return k.w.Append(rec)
}

// start begins a run with the second of its first record.
func (k *runKeeper) start(rec capture.Record) error {
	if err := k.end("the logger was off"); err != nil {
		return err
	}
	begin := rec.At.Truncate(time.Second)
	info := capfile.RunInfo{Kind: capfile.Simulated, Program: programName(), Started: k.scenario.Wall(begin)}
	for _, src := range k.sheet.Sources {
		info.Sources = append(info.Sources, src.Name)
	}
	run, err := k.w.StartRun(info)
	if err != nil {
		return err
	}
	k.number, k.run, k.begin, k.last, k.committed = rec.Run, run, begin, begin, begin
	return errors.Join(keepSheet(k.w, run, k.sheet), k.look(begin))
}

// look notes what the clock shows. It is right when no step is to come any more.
func (k *runKeeper) look(at time.Duration) error {
	synced := true
	for _, c := range k.scenario.Faults.Clock {
		synced = synced && c.At <= at
	}
	return k.w.Observe(k.run, capfile.Observation{At: at - k.begin, Wall: k.scenario.Wall(at), Synced: synced})
}

// clockSteps notes the clock on both sides of each step between two records.
func (k *runKeeper) clockSteps(from, to time.Duration) error {
	for _, c := range k.scenario.Faults.Clock {
		if c.At <= from || c.At > to {
			continue
		}
		if err := errors.Join(k.look(c.At-1), k.look(c.At)); err != nil {
			return err
		}
	}
	return nil
}

// end ends the run under way, if there is one.
func (k *runKeeper) end(why string) error {
	if k.number == 0 {
		return nil
	}
	return k.w.EndRun(k.run, k.last-k.begin, why)
}
