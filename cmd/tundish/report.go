package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/capture/capfile"
	"tundish/cmd/tundish/jobsheet"
	"tundish/dashboards/report"
	"tundish/decode"
)

type reportCmd struct {
	Capture string `arg:"" help:"The capture to report on."`
	Out     string `short:"o" required:"" placeholder:"FILE" help:"Where to write: FILE.pdf or FILE.html."`
	Job     string `placeholder:"JOB.toml" help:"A job sheet that amends the one in the capture."`
}

func (c reportCmd) Run(ctx context.Context, s *streams) error {
	write, err := reportWriter(c.Out)
	if err != nil {
		return err
	}
	return c.with(ctx, func(in report.Input) error {
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
func (c reportCmd) with(ctx context.Context, do func(report.Input) error) (err error) {
	proof := provenOrNot(ctx, c.Capture)
	cap, err := openCapture(c.Capture, c.Job)
	if err != nil {
		return err
	}
	defer func() { err = firstError(err, cap.close()) }()
	result, seen, err := cap.analyse(ctx)
	if err != nil {
		return err
	}
	j := cap.sheet.Job
	return do(report.Input{
		Result: result, Plant: cap.sheet.Plant, Zone: j.Zone,
		Job: report.Job{Name: j.Name, Engineer: j.Engineer, Firm: j.Firm, Client: j.Client, Address: j.Address,
			Appliance: j.Appliance, Serial: j.Serial, Consent: j.Consent, Notes: j.Notes},
		Sources: reportSources(cap.sheet, result, seen),
		Proof:   proof,
		Clock:   clockLines(cap),
		Marks:   reportMarks(cap.reader.Marks()),
		Amended: cap.amendedWords(),
		Program: programName(),
		Scan: func(ctx context.Context, from, to time.Time, emit func(decode.Reading) error) error {
			_, err := cap.scan(ctx, capfile.Window{From: from, To: to}, nil, emit)
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

func reportSources(sheet *jobsheet.Sheet, r *analyse.Result, seen *scanned) []report.Source {
	var out []report.Source
	for _, s := range sheet.Sources {
		src := report.Source{Name: s.Name, Kind: s.Kind, At: s.At}
		for _, c := range r.Coverage {
			if c.Series.Source == s.Name {
				src.Points = append(src.Points, c.Series.Point.String())
			}
		}
		if d := seen.decoders[s.Name]; d != nil {
			for _, n := range d.Tally() {
				if n.N > 0 {
					src.Counts = append(src.Counts, n)
				}
			}
		}
		out = append(out, src)
	}
	return out
}

func reportMarks(marks []capfile.Mark) []report.Mark {
	var out []report.Mark
	for _, m := range marks {
		out = append(out, report.Mark{At: m.Time, Text: m.Text})
	}
	return out
}

// clockLines say how well the clock of each run is known.
func clockLines(c *captured) []string {
	var out []string
	for _, r := range c.reader.Runs() {
		what := map[capfile.RunKind]string{capfile.Record: "recorded", capfile.Import: "imported from a file", capfile.Simulated: "simulated"}[r.Kind]
		line := fmt.Sprintf("run %d (%s, %s), %s to %s, ", r.Number, what, r.Program,
			r.From.In(c.sheet.Job.Zone).Format("2 Jan 2006 15:04:05"), r.To.In(c.sheet.Job.Zone).Format("2 Jan 2006 15:04:05"))
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
		for _, s := range r.Steps {
			out = append(out, stepWords(s, c.sheet.Job.Zone))
		}
	}
	for _, l := range c.reader.Losses() {
		out = append(out, "when recording went on after a stop: "+l.What)
	}
	return slices.Clip(out)
}

// verify proves the chain. For this command a file that cannot be read as a capture is a broken chain, so that any
// changed byte shows in the exit status; only a file that is not there is a mistake of the command line.
func verify(ctx context.Context, path string) (capfile.Proof, error) {
	p, err := capfile.Verify(ctx, path)
	switch {
	case err == nil, errors.Is(err, fs.ErrNotExist):
		return p, missing(err)
	}
	return p, errors.New(err.Error())
}
