package main

import (
	"errors"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/capture/capfile"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
	"tundish/decode/light"
)

// captured is a capture that is open for reading, with the job sheets that go with it.
type captured struct {
	path   string
	reader *capfile.Reader
	// sheet says what plant and job are: the last one kept, or the amending one.
	sheet *jobsheet.Sheet
	// sheets say what the sources of the runs were, see sheetOf.
	sheets   []runSheet
	amended  string // the job sheet named on the command line; empty: the capture's own
	zoneFrom zoneFrom
	keep     *keeper    // of what is found; nil: nothing is kept
	late     *lateIndex // what came late; nil before anybody looked
}

// openCapture opens a capture; job, if not empty, names a job sheet that amends the one in it.
func openCapture(path, job string) (*captured, error) {
	r, err := capfile.Open(path)
	if err != nil {
		return nil, noCapture(err)
	}
	c := &captured{path: path, reader: r}
	if err := c.findSheets(job); err != nil {
		return nil, errors.Join(err, r.Close())
	}
	return c, nil
}

func (c *captured) close() error { return c.reader.Close() }

// config is what is known beforehand of a record of these runs.
func (c *captured) config(runs []capfile.Run) analyse.Config {
	cfg := analyse.Config{Site: c.sheet.AnalyseSite(), Plant: c.sheet.Plant, Checks: checks(), Sensors: c.sheet.Sensors(), Marks: c.marks(), Codes: c.sheet.Codes, Signs: signs(c.sheet.Light)}
	if c.reader.Head().Records == 0 {
		cfg.Checks = unanswered(cfg.Checks)
	}
	for _, r := range runs {
		if r.Kind == capfile.Note { // somebody's marks, and no stretch of recording
			continue
		}
		if r.From.IsZero() { // its clock is not known, and its records are left out
			continue
		}
		part := episode.Run{ID: r.Number, From: r.From, Live: r.Kind != capfile.Import, Sources: r.Sources}
		for _, s := range r.Sleeps {
			part.To = s.From
			cfg.Runs = append(cfg.Runs, part)
			part.From = s.To
		}
		part.To = r.To
		cfg.Runs = append(cfg.Runs, part)
	}
	for _, s := range c.sources() {
		if kindOf(s).bus {
			cfg.Buses = append(cfg.Buses, s.Name)
		}
		for _, x := range s.Contacts() {
			cfg.Contacts = append(cfg.Contacts, analyse.Contact{Series: decode.Series{Source: s.Name, Point: x.Point}, Beat: x.Heartbeat})
		}
	}
	return cfg
}

// unanswered gives the checks for a capture in which nothing stands yet: where nothing was seen, nothing is clear.
func unanswered(list []analyse.Check) []analyse.Check {
	for i := range list {
		list[i].Needs, list[i].Run = nil, func(p *analyse.Pass) { p.NotAssessable("no record yet") }
	}
	return list
}

// signs are the engineer's words for what the indicator light shows.
func signs(t light.Table) map[int]episode.Sign {
	out := map[int]episode.Sign{}
	for s, e := range t {
		out[int(s)] = episode.Sign{Shown: s.String(), Words: e.Words, Cause: e.Cause}
	}
	return out
}
