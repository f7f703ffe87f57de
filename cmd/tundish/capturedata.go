package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"sort"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/capture/capfile"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
)

// captured is a capture that is open for reading, with the job sheet that goes with it.
type captured struct {
	path    string
	reader  *capfile.Reader
	sheet   *jobsheet.Sheet
	amended string // the job sheet named on the command line; empty: the capture's own
}

// openCapture opens a capture; job, if not empty, names a job sheet that amends the one in it.
func openCapture(path, job string) (*captured, error) {
	r, err := capfile.Open(path)
	if err != nil {
		return nil, missing(err)
	}
	c := &captured{path: path, reader: r}
	if err := c.findSheet(job); err != nil {
		return nil, errors.Join(err, r.Close())
	}
	return c, nil
}

func (c *captured) close() error { return c.reader.Close() }

func (c *captured) findSheet(job string) error {
	if job != "" {
		sheet, err := jobsheet.Load(job)
		if err != nil {
			return missing(err)
		}
		c.sheet, c.amended = sheet, filepath.Base(job)
		return nil
	}
	sheets := c.reader.Sheets()
	if len(sheets) == 0 {
		return fmt.Errorf("%s: holds no job sheet; name one with --job", c.path)
	}
	last := sheets[len(sheets)-1]
	sheet, err := jobsheet.Parse(last.Name, last.Text)
	if err != nil {
		return hinted{fmt.Errorf("%s: the job sheet in the capture: %w", c.path, err), "a job sheet named with --job stands in for it"}
	}
	c.sheet = sheet
	return nil
}

// scan decodes the records of a window, in order, telling each record first where tell is not nil. Damaged places
// are passed over and counted.
func (c *captured) scan(ctx context.Context, w capfile.Window, tell func(source string, run uint32, t time.Time, note string),
	emit func(decode.Reading) error) (*scanned, error) {
	s := &scanned{decoders: map[string]*sourceDecoder{}, wrong: map[string]uint64{}}
	for i := range c.sheet.Sources {
		src := &c.sheet.Sources[i]
		d, err := newSourceDecoder(src, c.sheet)
		if err != nil {
			return nil, fmt.Errorf("source %q: %w", src.Name, err)
		}
		s.decoders[src.Name] = d
	}
	var stop error
	pass := func(r decode.Reading) {
		if stop == nil {
			stop = emit(r)
		}
	}
	for rec, err := range c.reader.Records(ctx, w) {
		if err != nil {
			var d *capfile.DamageError
			if errors.As(err, &d) {
				s.damage = append(s.damage, d)
				continue
			}
			return nil, fmt.Errorf("%s: %w", c.path, err)
		}
		if tell != nil {
			tell(rec.Source, rec.Run, rec.Time, rec.Note)
		}
		d := s.decoders[rec.Source]
		if d == nil { // the amended sheet has no such source
			s.wrong[rec.Source]++
			continue
		}
		if rec.Note != "" {
			s.notes++
		}
		if err := d.Decode(rec, pass); err != nil {
			s.wrong[rec.Source]++
		}
		if stop != nil {
			return s, stop
		}
	}
	for _, src := range c.sheet.Sources {
		s.decoders[src.Name].flush(pass)
	}
	return s, stop
}

// scanned is what a scan saw besides readings.
type scanned struct {
	decoders map[string]*sourceDecoder
	wrong    map[string]uint64 // records by source that could not be decoded
	damage   []*capfile.DamageError
	notes    uint64
}

// analyse runs all checks over the whole capture.
func (c *captured) analyse(ctx context.Context) (*analyse.Result, *scanned, error) {
	cfg := analyse.Config{Site: c.sheet.AnalyseSite(), Plant: c.sheet.Plant, Checks: checks()}
	for _, r := range c.reader.Runs() {
		cfg.Runs = append(cfg.Runs, episode.Run{ID: r.Number, From: r.From, To: r.To, Live: r.Kind != capfile.Import})
	}
	for i := range c.sheet.Sources {
		if s := &c.sheet.Sources[i]; kindOf(s).bus {
			cfg.Buses = append(cfg.Buses, s.Name)
		}
	}
	a := analyse.New(cfg)
	s, err := c.scan(ctx, capfile.Window{}, a.Record, func(r decode.Reading) error {
		a.Reading(r)
		return nil
	})
	if err != nil {
		return nil, nil, err
	}
	return a.Result(), s, nil
}

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
	for _, d := range s.damage {
		out = append(out, d.Error())
	}
	for _, l := range c.reader.Losses() {
		out = append(out, "when recording went on after a stop: "+l.What)
	}
	for _, r := range c.reader.Runs() {
		for _, step := range r.Steps {
			out = append(out, stepWords(step, c.sheet.Job.Zone))
		}
	}
	var unknown []string
	for source := range s.wrong {
		if s.decoders[source] == nil {
			unknown = append(unknown, source)
		}
	}
	slices.Sort(unknown)
	for _, source := range unknown {
		out = append(out, fmt.Sprintf("the job sheet has no source %q; its records were left out", source))
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
		way, analyse.Span(by), s.Time.In(zone).Format("Mon 2 Jan 2006 15:04:05"))
}

func probeNames(s *jobsheet.Source) []string {
	names := make([]string, 0, len(s.Points))
	for n := range s.Points {
		names = append(names, n)
	}
	sort.Strings(names)
	return names
}
