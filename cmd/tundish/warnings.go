package main

import (
	"fmt"
	"maps"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/capture/capfile"
)

// amendedWords says what every output must say when the job sheet was amended.
func (c *captured) amendedWords() string {
	if c.amended == "" {
		return ""
	}
	return fmt.Sprintf("%s stands in for the job sheet recorded with the capture", c.amended)
}

// warnings are what a reader of any output must know of the capture itself.
func (c *captured) warnings(s *scanned) []string {
	var out []string
	if c.reader.Head().Records == 0 {
		out = append(out, "no record yet: nothing was delivered by any source")
	}
	out = append(append(out, c.leftOut(s)...), c.losses()...)
	out = append(out, unsetWords(c.reader.Runs(), c.sheet.Job.Zone)...)
	for _, r := range c.reader.Runs() {
		out = append(out, stepsWords(r.Steps, c.runWords(r), c.sheet.Job.Zone)...)
		out = append(out, sleepsWords(r.Sleeps, c.sheet.Job.Zone)...)
	}
	if n := len(waitingMarks(c.path)); n > 0 {
		out = append(out, fmt.Sprintf("%s beside the capture, not in it yet: the logger takes in what waits with its next commit, or when it is started again", analyse.Count(n, "mark")))
	}
	return append(out, c.remarks()...)
}

// sleepsWords tells when the machine was suspended, the first times singly.
func sleepsWords(sleeps []capfile.Sleep, zone *time.Location) []string {
	var out []string
	for i, s := range sleeps {
		if i == mostSteps {
			return append(out, fmt.Sprintf("and %s more: keep the machine that records from falling asleep", analyse.Times(len(sleeps)-i)))
		}
		out = append(out, fmt.Sprintf("the machine that records was suspended for %s from %s: nothing was recorded meanwhile",
			analyse.Span(s.To.Sub(s.From)), clockWords(s.From, zone)))
	}
	return out
}

// clockWords are a date and a time of day.
func clockWords(t time.Time, zone *time.Location) string {
	return analyse.LocalTime(t, zone, "Mon 2 Jan 2006 15:04:05")
}

// mostSteps is how many steps of one run's clock are told one by one.
const mostSteps = 5

// unsetBefore is the year before which no logger can have run: the program that records is not older. A clock that says
// so was never set.
const unsetBefore = 2026

// unsetWords names the runs whose clock was never seen synchronised, where that is not so of all, or where it was never
// set at all: they are dated by the logger's own clock, and nothing says how wrong that was. What is certain is that each
// run of the logger ended before the next began.
func unsetWords(runs []capfile.Run, zone *time.Location) []string {
	runs = slices.DeleteFunc(slices.Clone(runs), func(r capfile.Run) bool { return r.Kind != capfile.Record || r.From.IsZero() })
	any := slices.ContainsFunc(runs, func(r capfile.Run) bool { return r.Synced })
	var out []string
	for i, r := range runs {
		if r.Synced || !any && r.To.Year() >= unsetBefore {
			continue
		}
		was := "was never seen synchronised"
		if r.To.Year() < unsetBefore {
			was = "was never set"
		}
		words := fmt.Sprintf("the clock of run %d %s: it is dated by the logger's own clock, %s to %s, and its true time is not known",
			r.Number, was, clockWords(r.From, zone), clockWords(r.To, zone))
		if later := slices.IndexFunc(runs[i:], func(r capfile.Run) bool { return r.Synced }); later > 0 {
			next := runs[i+later]
			words += fmt.Sprintf("; it ended before %s, when run %d began", clockWords(next.From, zone), next.Number)
		}
		out = append(out, words)
	}
	return out
}

// runWords names a run where the capture has several of the logger; empty: it is the only one.
func (c *captured) runWords(run capfile.Run) string {
	for _, r := range c.reader.Runs() {
		if r.Kind == capfile.Record && r.Number != run.Number && run.Kind == capfile.Record {
			return fmt.Sprintf(" of run %d", run.Number)
		}
	}
	return ""
}

// stepsWords tells the steps of a run's clock, the first ones singly. of names the run where there are several.
func stepsWords(steps []capfile.Step, of string, zone *time.Location) []string {
	var out []string
	for i, s := range steps {
		if i == mostSteps {
			return append(out, fmt.Sprintf("and %s more: a clock that jumps so often is not to be trusted", analyse.Times(len(steps)-i)))
		}
		out = append(out, stepWords(s, of, zone))
	}
	return out
}

// leftOut says which records are missing from every output, and why.
func (c *captured) leftOut(s *scanned) []string {
	var out []string
	for _, d := range s.damage {
		out = append(out, d.Error())
	}
	for _, run := range slices.Sorted(maps.Keys(s.untimed)) {
		out = append(out, fmt.Sprintf("what was noted of the clock of run %d is damaged; its records (%d) have no time and were left out", run, s.untimed[run]))
	}
	for _, source := range slices.Sorted(maps.Keys(s.unread)) {
		out = append(out, fmt.Sprintf("the job sheet has no source %q; its records (%d) were left out", source, s.unread[source]))
	}
	return out
}

// remarks say what the readings rest on.
func (c *captured) remarks() []string {
	out := c.sheetChanges()
	if runs := c.reader.Runs(); c.amended == "" && len(runs) > 0 && c.sheets[0].run > runs[0].Number {
		out = append(out, fmt.Sprintf("no job sheet can be read for the runs before run %d; its sheet stands in", c.sheets[0].run))
	}
	if s := c.sheet; s.Site.House != "" {
		switch loss := s.Plant.DesignHeatLoss; {
		case !loss.Known:
			out = append(out, fmt.Sprintf("the job sheet names %s, which was not kept with it: the design heat loss is not known", s.Site.House))
		default:
			out = append(out, fmt.Sprintf("the design heat loss, %s, is computed from %s", loss.Value, s.Site.House))
		}
	}
	if c.zoneFrom == zoneOfHere {
		out = append(out, fmt.Sprintf("no timezone in the job sheet, and none was kept with the capture: times are shown in this machine's, %s", c.sheet.Job.Zone))
	}
	return out
}

func (c *captured) losses() []string {
	var out []string
	for _, l := range c.reader.Losses() {
		out = append(out, "when recording went on after a stop: "+l.What)
	}
	return out
}

func stepWords(s capfile.Step, of string, zone *time.Location) string {
	way := "forward"
	by := s.By
	if by < 0 {
		way, by = "back", -by
	}
	then := "times" + of + " before that were moved with it"
	if !s.Moved {
		then = "times" + of + " do not follow it, since the clock had been synchronised before and then was not"
	}
	return fmt.Sprintf("the clock%s was set %s by %s at %s; %s", of, way, analyse.Span(by), clockWords(s.Time, zone), then)
}

// disputes are what sources say against each other: one of them is not to be relied on.
func (c *captured) disputes(r *analyse.Result) []string {
	var buses []string
	for _, s := range c.sources() {
		if kindOf(s).bus {
			buses = append(buses, s.Name)
		}
	}
	return analyse.Disputes(r.Facts, buses)
}
