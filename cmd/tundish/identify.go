package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	wire "tundish/capture/onewire"
	"tundish/cmd/tundish/jobsheet"
	"tundish/dashboards/findings"
	"tundish/decode"
)

// identified is a probe of which a person said what it is.
type identified struct {
	probe string
	point decode.Point
}

// identifyPatience is how long nothing may happen before the search ends. Own choice.
const identifyPatience = 10 * time.Minute

func (c sourcesCmd) identify(ctx context.Context, s *streams) error {
	if c.Job != "" && c.Out != "" {
		return usagef("name one job sheet: %s gets the points, or -o %s is a new one", c.Job, c.Out)
	}
	if err := c.free(); err != nil {
		return err
	}
	as, err := pointsOf(c.As)
	if err != nil {
		return usageError{err}
	}
	sheet, src, err := c.wireSource()
	if err != nil {
		return err
	}
	cfg := wire.Config{Source: "probes", Root: c.Root, Interval: c.Every}
	if src != nil && c.Root == "" {
		cfg.Root = src.Root
	}
	if sheet != nil { // what cannot be written in the end is found before anybody waits
		if _, err := jobsheet.EditProbes(c.Job, sheet.Text, []jobsheet.ProbeEdit{{Source: src.Name, Probe: "28-000000000000", Remove: true}}); err != nil {
			return hinted{usageError{err}, "write it so, and start again"}
		}
	}
	list, err := wire.List(cfg.Root, time.Second)
	if err != nil {
		return err
	}
	i := &identifying{as: as, in: s.in, out: s, warming: newWarming(), total: len(list)}
	named, err := i.run(ctx, cfg)
	switch {
	case ctx.Err() != nil:
		return errors.New("stopped: nothing was written")
	case err != nil:
		return err
	case len(named) == 0:
		return errors.New("no probe was named: nothing was written")
	}
	return c.keep(ctx, s, sheet, src, named)
}

// wireSource is the job sheet and its source that gets the points; nil where no sheet is named.
func (c sourcesCmd) wireSource() (*jobsheet.Sheet, *jobsheet.Source, error) {
	if c.Job == "" {
		return nil, nil, nil
	}
	sheet, err := jobsheet.Load(c.Job)
	if err != nil {
		return nil, nil, noSheet(err)
	}
	var found []*jobsheet.Source
	for i := range sheet.Sources {
		if x := &sheet.Sources[i]; x.Kind == "one-wire" && (c.Source == "" || x.Name == c.Source) {
			found = append(found, x)
		}
	}
	switch {
	case len(found) == 0 && c.Source != "":
		return nil, nil, usagef("%s: there is no one-wire source %q", c.Job, c.Source)
	case len(found) == 0:
		return nil, nil, usagef("%s: has no source of kind one-wire; add one: [[source]], name = \"probes\", kind = \"one-wire\"", c.Job)
	case len(found) > 1:
		return nil, nil, usagef("%s: has %d sources of kind one-wire; say which with --source", c.Job, len(found))
	}
	return sheet, found[0], nil
}

// pointsOf reads --as.
func pointsOf(words []string) ([]decode.Point, error) {
	var out []decode.Point
	for _, w := range words {
		p, err := temperaturePoint(w)
		if err != nil {
			return nil, fmt.Errorf("--as: %w", err)
		}
		if slices.Contains(out, p) {
			return nil, fmt.Errorf("--as: %s stands there twice", p)
		}
		out = append(out, p)
	}
	return out, nil
}

func temperaturePoint(word string) (decode.Point, error) {
	var names []string
	for _, p := range decode.Points() {
		if p.Temperature() {
			names = append(names, p.String())
		}
	}
	p, err := decode.ParsePoint(strings.TrimSpace(word))
	if err != nil || !p.Temperature() {
		return p, fmt.Errorf("%q is no temperature%s", word, jobsheet.Suggestion(word, names))
	}
	return p, nil
}

// keep writes what was named, into the sheet that was named or a new one, or shows it.
func (c sourcesCmd) keep(ctx context.Context, s *streams, sheet *jobsheet.Sheet, src *jobsheet.Source, named []identified) error {
	switch {
	case sheet != nil:
		if err := editJob(sheet, identifyEdits(src, named)); err != nil {
			return err
		}
		_, err := fmt.Fprintf(s.out, "%s: points of %q written\n", findings.Printable(c.Job), src.Name)
		return err
	case c.Out != "":
		f, err := c.look(ctx)
		if err != nil {
			return err
		}
		return c.writeSheet(s, f, named)
	}
	parts := make([]string, len(named))
	for i, n := range named {
		parts[i] = fmt.Sprintf("%q = %q", n.probe, n.point)
	}
	_, err := fmt.Fprintf(s.out, "for the job sheet:\npoints = { %s }\n", strings.Join(parts, ", "))
	return err
}

// identifyEdits puts the points in; another probe that had one of them has it no more.
func identifyEdits(src *jobsheet.Source, named []identified) []jobsheet.ProbeEdit {
	var out []jobsheet.ProbeEdit
	for _, old := range probeNames(src) {
		taken := slices.ContainsFunc(named, func(n identified) bool { return n.point == src.Points[old].Point })
		again := slices.ContainsFunc(named, func(n identified) bool { return n.probe == old })
		if taken && !again {
			out = append(out, jobsheet.ProbeEdit{Source: src.Name, Probe: old, Remove: true})
		}
	}
	for _, n := range named {
		out = append(out, jobsheet.ProbeEdit{Source: src.Name, Probe: n.probe,
			Keys: []jobsheet.Key{{Name: "point", Raw: `"` + n.point.String() + `"`}}})
	}
	return out
}
