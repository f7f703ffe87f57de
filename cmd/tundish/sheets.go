package main

import (
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"tundish/capture/capfile"
	"tundish/cmd/tundish/jobsheet"
)

// runSheet is a job sheet with the first run that it holds for.
type runSheet struct {
	run uint32
	*jobsheet.Sheet
}

// zoneFrom says who named the time zone.
type zoneFrom uint8

const (
	zoneOfSheet  zoneFrom = iota // the job sheet
	zoneOfLogger                 // nobody; the machine that recorded or imported kept its own
	zoneOfHere                   // nobody, and none was kept: this machine's stands in
)

// loggerSheet is the name under which a run keeps what its job sheet leaves to the machine: a job sheet's beginning,
// just before the job sheet itself. No file has a name with a slash.
const loggerSheet = "logger/defaults.toml"

// keepSheet keeps the job sheet of a run, word for word, and the machine's time zone where the sheet names none: a
// capture is analysed on other machines.
func keepSheet(w *capfile.Writer, run uint32, sheet *jobsheet.Sheet) error {
	if zone := sheet.Job.Zone.String(); !sheet.Job.ZoneGiven && zone != "Local" {
		if err := w.Sheet(run, loggerSheet, fmt.Appendf(nil, "[job]\ntimezone = %q\n", zone)); err != nil {
			return err
		}
	}
	return w.Sheet(run, filepath.Base(sheet.File), sheet.Text)
}

// loggerZone reads the time zone back; nil where there is none.
func loggerZone(text []byte) *time.Location {
	var name string
	if _, err := fmt.Sscanf(string(text), "[job]\ntimezone = %q\n", &name); err != nil {
		return nil
	}
	zone, err := time.LoadLocation(name)
	if err != nil {
		return nil
	}
	return zone
}

// findSheets reads the job sheets kept with the runs; job, if not empty, names one that stands in for all of them.
func (c *captured) findSheets(job string) error {
	var amending *jobsheet.Sheet
	if job != "" {
		sheet, err := jobsheet.Load(job)
		if err != nil {
			return noSheet(err)
		}
		amending, c.amended = sheet, filepath.Base(job)
	}
	var logger *time.Location
	for _, kept := range c.reader.Sheets() {
		if kept.Name == loggerSheet {
			logger = loggerZone(kept.Text)
			continue
		}
		sheet, err := jobsheet.Parse(kept.Name, kept.Text)
		if err != nil && amending == nil {
			return hinted{fmt.Errorf("%s: the job sheet in the capture: %w", c.path, err), "a job sheet named with --job stands in for it"}
		}
		if err != nil {
			continue
		}
		c.zoneFrom = setZone(sheet, logger)
		logger = nil
		if n := len(c.sheets); n > 0 && len(jobsheet.Changes(c.sheets[n-1].Sheet, sheet)) == 0 {
			c.sheets[n-1].Sheet = sheet // its zone may be another
			continue
		}
		c.sheets = append(c.sheets, runSheet{kept.Run, sheet})
	}
	switch n := len(c.sheets); {
	case amending == nil && n == 0:
		return fmt.Errorf("%s: holds no job sheet; name one with --job", c.path)
	case amending == nil:
		c.sheet = c.sheets[n-1].Sheet
	default:
		if n > 0 && c.zoneFrom != zoneOfHere {
			logger = c.sheets[n-1].Job.Zone
		}
		c.sheet, c.zoneFrom = amending, setZone(amending, logger)
	}
	return nil
}

func setZone(s *jobsheet.Sheet, logger *time.Location) zoneFrom {
	switch {
	case s.Job.ZoneGiven:
		return zoneOfSheet
	case logger != nil:
		s.Job.Zone = logger
		return zoneOfLogger
	}
	return zoneOfHere
}

// sheetOf finds the job sheet by which the records of a run are read: the amending one, or the last that was kept up
// to that run.
func (c *captured) sheetOf(run uint32) *jobsheet.Sheet {
	if c.amended != "" {
		return c.sheet
	}
	found := c.sheets[0].Sheet
	for _, s := range c.sheets {
		if s.run <= run {
			found = s.Sheet
		}
	}
	return found
}

// sources are the sources of all job sheets in use, as the last sheet that has them says.
func (c *captured) sources() []*jobsheet.Source {
	var out []*jobsheet.Source
	have := map[string]bool{}
	add := func(s *jobsheet.Sheet) {
		for i := range s.Sources {
			if src := &s.Sources[i]; !have[src.Name] {
				have[src.Name] = true
				out = append(out, src)
			}
		}
	}
	add(c.sheet)
	if c.amended == "" {
		for i := len(c.sheets) - 1; i >= 0; i-- {
			add(c.sheets[i].Sheet)
		}
	}
	return out
}

// shownChanges is how many changes of a job sheet are told one by one. Own choice: a warning stays readable.
const shownChanges = 6

// sheetChanges says what is different between the job sheets of the runs.
func (c *captured) sheetChanges() []string {
	then := "each record is read by the sheet of its own run, the plant by the last"
	if c.amended != "" {
		then = c.amended + " stands in for both"
	}
	var out []string
	for i := 1; i < len(c.sheets); i++ {
		was, is := c.sheets[i-1], c.sheets[i]
		changes := jobsheet.Changes(was.Sheet, is.Sheet)
		if more := len(changes) - shownChanges; more > 0 {
			changes = append(changes[:shownChanges], fmt.Sprintf("and %d more", more))
		}
		out = append(out, fmt.Sprintf("the job sheet changed between runs %d and %d: %s; %s", is.run-1, is.run, strings.Join(changes, "; "), then))
	}
	return out
}
