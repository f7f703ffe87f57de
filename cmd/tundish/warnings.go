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
	for _, r := range c.reader.Runs() {
		out = append(out, stepsWords(r.Steps, c.sheet.Job.Zone)...)
		out = append(out, sleepsWords(r.Sleeps, c.sheet.Job.Zone)...)
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

// stepsWords tells the steps of a run's clock, the first ones singly.
func stepsWords(steps []capfile.Step, zone *time.Location) []string {
	var out []string
	for i, s := range steps {
		if i == mostSteps {
			return append(out, fmt.Sprintf("and %s more: a clock that jumps so often is not to be trusted", analyse.Times(len(steps)-i)))
		}
		out = append(out, stepWords(s, zone))
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

func stepWords(s capfile.Step, zone *time.Location) string {
	way := "forward"
	by := s.By
	if by < 0 {
		way, by = "back", -by
	}
	return fmt.Sprintf("the clock was set %s by %s at %s; times before that were moved with it",
		way, analyse.Span(by), clockWords(s.Time, zone))
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
