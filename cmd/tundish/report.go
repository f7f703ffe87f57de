package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/capture/capfile"
	"tundish/dashboards/report"
	"tundish/decode"
)

type reportCmd struct {
	Capture string `arg:"" help:"The capture to report on."`
	Out     string `short:"o" required:"" placeholder:"FILE" help:"Where to write: FILE.pdf or FILE.html."`
	Job     string `placeholder:"JOB.toml" help:"A job sheet that amends the one in the capture."`
	House   string `placeholder:"HOUSE.toml" help:"A house file: its computed heat loss and emitters beside what was measured (default: the one kept with the job sheet)."`
	keepFlags
}

func (c reportCmd) Run(ctx context.Context, s *streams) error {
	write, err := reportWriter(c.Out)
	if err == nil {
		err = checkFolder(c.Out)
	}
	if err != nil {
		return err
	}
	return c.with(ctx, c.keeper(s.log), func(in report.Input) error {
		return writeAside(c.Out, func(w io.Writer) error { return write(ctx, in, w) })
	})
}

type writeReport func(context.Context, report.Input, io.Writer) error

func reportWriter(path string) (writeReport, error) {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".pdf":
		return report.WritePDF, nil
	case ".html", ".htm":
		return report.WriteHTML, nil
	}
	return nil, usagef("%s: a report is a .pdf or an .html file", path)
}

// with gathers all that a report needs, for as long as do takes.
func (c reportCmd) with(ctx context.Context, keep *keeper, do func(report.Input) error) (err error) {
	house, err := houseSideOf(c.House)
	if err != nil {
		return err
	}
	proof := provenOrNot(ctx, c.Capture)
	kept, err := openCapture(c.Capture, c.Job)
	if err != nil {
		return err
	}
	defer func() { err = firstError(err, kept.close()) }()
	kept.keep = keep
	result, seen, err := kept.analyse(ctx)
	if err != nil {
		return err
	}
	if house == nil {
		if house, err = houseSideKept(kept.sheet); err != nil {
			return err
		}
	}
	j := kept.sheet.Job
	return do(report.Input{
		Result: result, Plant: kept.sheet.Plant, Zone: j.Zone,
		Job: report.Job{Name: j.Name, Engineer: j.Engineer, Firm: j.Firm, Client: j.Client, Address: j.Address,
			Appliance: j.Appliance, Serial: j.Serial, Consent: j.Consent, Notes: j.Notes},
		Sources: reportSources(kept, result, seen),
		Proof:   proof,
		Clock:   append(clockLines(kept), kept.disputes(result)...),
		Marks:   reportMarks(kept.marks()),
		Damaged: kept.leftOut(seen),
		Amended: kept.amendedWords(),
		Program: programName(),
		Suit:    suitOf(result, kept.sheet.Plant, house),
		Scan: func(ctx context.Context, from, to time.Time, emit func(decode.Reading) error) error {
			_, err := kept.scanPlaced(ctx, capfile.Window{From: from, To: to}, placing{}, emit)
			return err
		},
	})
}

// provenOrNot checks the chain; what is wrong with it belongs into the report.
func provenOrNot(ctx context.Context, path string) report.Proof {
	p, err := capfile.Verify(ctx, path)
	out := report.Proof{File: filepath.Base(path), Blocks: uint64(p.Blocks), Records: p.Records, Tail: uint64(p.Tail),
		Head: p.Head.String(), Intact: err == nil, Recording: err == nil && !p.Closed}
	if err != nil {
		out.Problem = err.Error()
	}
	return out
}

func reportSources(kept *captured, r *analyse.Result, seen *scanned) []report.Source {
	var out []report.Source
	for _, s := range kept.sources() {
		src := report.Source{Name: s.Name, Kind: s.Kind, At: s.At, Counts: seen.tally(s.Name)}
		if s.Port != "" {
			src.Port = fmt.Sprintf("%s, %d baud", s.Port, s.Baud)
		}
		for _, id := range probeNames(s) {
			m := s.Points[id]
			src.Probes = append(src.Probes, report.Probe{ID: id, Point: m.Point.String(), Offset: m.Offset, Paired: m.PairedWords()})
		}
		for _, p := range decode.Points() {
			if m, ok := s.Paired[p]; ok {
				src.Probes = append(src.Probes, report.Probe{Point: p.String(), Offset: m.Offset, Paired: m.PairedWords()})
			}
		}
		for _, c := range r.Coverage {
			if c.Series.Source == s.Name {
				src.Points = append(src.Points, c.Series.Point.String())
			}
		}
		out = append(out, src)
	}
	return out
}

func reportMarks(marks []analyse.Mark) []report.Mark {
	var out []report.Mark
	for _, m := range marks {
		out = append(out, report.Mark{At: m.At, Text: m.Text})
	}
	return out
}

// clockLines say how well the clock of each run is known.
func clockLines(c *captured) []string {
	var out []string
	for _, r := range c.reader.Runs() {
		if r.Kind == capfile.Note { // its mark is told elsewhere
			continue
		}
		if r.From.IsZero() {
			out = append(out, fmt.Sprintf("run %d: what was noted of its clock is damaged", r.Number))
			continue
		}
		what := map[capfile.RunKind]string{capfile.Record: "recorded", capfile.Import: "imported from a file", capfile.Simulated: "simulated"}[r.Kind]
		line := fmt.Sprintf("run %d (%s, %s), %s to %s, ", r.Number, what, r.Program,
			analyse.LocalTime(r.From, c.sheet.Job.Zone, "2 Jan 2006 15:04:05"), analyse.LocalTime(r.To, c.sheet.Job.Zone, "2 Jan 2006 15:04:05"))
		switch {
		case r.Kind == capfile.Import:
			line += "by the times that stand in the file"
		case r.Kind == capfile.Simulated:
			line += "by the simulation's own clock"
		case r.Synced:
			line += "clock synchronised with a time server"
		default:
			line += "clock never seen synchronised: times are as right as the logger's clock was"
		}
		if r.EndedWhy == "" && r.Kind == capfile.Record {
			line += "; it did not end cleanly, or still goes on"
		}
		out = append(out, line)
		out = append(out, stepsWords(r.Steps, c.runWords(r), c.sheet.Job.Zone)...)
		out = append(out, sleepsWords(r.Sleeps, c.sheet.Job.Zone)...)
	}
	out = append(out, unsetWords(c.reader.Runs(), c.sheet.Job.Zone)...)
	return append(append(out, c.losses()...), c.remarks()...)
}

// verify proves the chain. For this command a file that cannot be read as a capture is a broken chain, so that any
// changed byte shows in the exit status; only a file that is not there is a mistake of the command line.
func verify(ctx context.Context, path string) (capfile.Proof, error) {
	p, err := capfile.Verify(ctx, path)
	switch {
	case err == nil, errors.Is(err, fs.ErrNotExist):
		return p, noCapture(err)
	}
	return p, errors.New(err.Error())
}
