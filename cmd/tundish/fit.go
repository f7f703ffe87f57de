package main

import (
	"context"
	"os"
	"time"

	"tundish/analyse"
	"tundish/analyse/fit"
	"tundish/capture/capfile"
	"tundish/dashboards/findings"
	"tundish/decode"
	"tundish/decode/opentherm"
)

type checkCmd struct {
	Capture string `arg:"" help:"The capture to look at; it may be under way."`
	JSON    bool   `name:"json" help:"Write JSON for programs."`
	Job     string `placeholder:"JOB.toml" help:"A job sheet that amends the one in the capture."`
}

func (c checkCmd) Run(ctx context.Context, s *streams) (err error) {
	kept, err := openCapture(c.Capture, c.Job)
	if err != nil {
		return err
	}
	defer func() { err = firstError(err, kept.close()) }()
	runs := kept.reader.Runs()
	summary, seen, err := kept.fit(ctx, runs, capfile.Window{})
	if err != nil {
		return err
	}
	warnings := kept.warnings(seen)
	if words := kept.amendedWords(); words != "" {
		warnings = append([]string{words}, warnings...)
	}
	if c.JSON {
		return findings.FitJSON(s.out, summary, warnings)
	}
	return findings.FitText(s.out, summary, kept.sheet.Job.Zone, textWidth(s.out), warnings)
}

// fit judges the set-up by the records of some runs, which lie in the window.
func (c *captured) fit(ctx context.Context, runs []capfile.Run, w capfile.Window) (*fit.Summary, *scanned, error) {
	cfg := c.config(runs)
	a := analyse.New(cfg)
	hot := c.sheet.Plant.HotWater
	watch := fit.NewWatch(fit.WatchConfig{Buses: cfg.Buses, Taps: hot == analyse.InstantaneousHotWater || hot == analyse.HotWaterUnknown, HeatPump: cfg.Plant.Kind == "heat-pump"})
	records, run := map[string]uint64{}, uint32(0)
	if err := c.findLate(ctx, newPool(c, 1)); err != nil {
		return nil, nil, err
	}
	s, err := c.scanPlaced(ctx, w, placing{listener: listener{record: func(source string, n uint32, t time.Time, note string) {
		if note == "" {
			records[source]++
		}
		if live(runs, n) && n != run {
			watch.Gap()
		}
		run = n
		a.Record(source, n, t, note)
	}, hole: a.Damage, refuse: a.Refused}, late: func(source string, n uint32, t time.Time) {
		a.Record(source, n, t, "")
	}, missed: func(r *decode.Reading, _ uint32, came time.Time) { a.Late(r, came) }}, func(r decode.Reading) error {
		a.Reading(r)
		watch.Reading(r)
		return nil
	})
	if err != nil {
		return nil, nil, err
	}
	in := fit.Input{Result: a.Result(), Checks: cfg.Checks, Plant: cfg.Plant, Site: cfg.Site, Watch: watch, Clock: clockOf(runs), Disk: c.disk()}
	for _, src := range c.sheet.Sources {
		x := fit.Source{Name: src.Name, Bus: kindOf(&src).bus, Records: records[src.Name], Names: map[string]string{}, Tally: map[string]uint64{}, Asked: s.asked(src.Name)}
		for probe, m := range src.Points {
			series := decode.Series{Source: src.Name, Point: m.Point}
			x.Expected, x.Names[series.String()] = append(x.Expected, series), "("+probe+")"
		}
		for _, n := range s.tally(src.Name) {
			x.Tally[n.Name] += n.N
		}
		in.Sources = append(in.Sources, x)
	}
	return fit.Judge(in), s, nil
}

// live tells whether a run is the logger's own: between two of those nobody looked.
func live(runs []capfile.Run, n uint32) bool {
	for _, r := range runs {
		if r.Number == n {
			return r.Kind == capfile.Record
		}
	}
	return false
}

// asked adds up what the master of a bus asked for, by the decoders of all ways.
func (s *scanned) asked(source string) []fit.Asked {
	var out []fit.Asked
	place := map[uint8]int{}
	for _, way := range s.order {
		d := s.decoders[way][source]
		if d == nil {
			continue
		}
		own, ok := d.own.(interface{ Asked() []opentherm.Asked })
		if !ok {
			continue
		}
		for _, a := range own.Asked() {
			i, known := place[a.ID]
			if !known {
				i = len(out)
				place[a.ID] = i
				out = append(out, fit.Asked{Name: a.Name, Points: a.Points})
			}
			out[i].Asked += a.Asked
			out[i].Answered += a.Answered
		}
	}
	return out
}

// clockOf is what is known of the clock of the last run.
func clockOf(runs []capfile.Run) fit.Clock {
	if len(runs) == 0 {
		return fit.Clock{}
	}
	last := runs[len(runs)-1]
	return fit.Clock{Live: last.Kind == capfile.Record, Synced: last.Synced, Steps: len(last.Steps)}
}

// disk is how the capture grows, and the room beside it.
func (c *captured) disk() fit.Disk {
	var d fit.Disk
	for _, suffix := range []string{"", "-wal"} {
		if info, err := os.Stat(c.path + suffix); err == nil {
			d.Size += info.Size()
		}
	}
	if free, ok := freeAt(c.path); ok {
		d.Free = analyse.Some(free)
	}
	for _, r := range c.reader.Runs() {
		if r.Kind == capfile.Record && !r.From.IsZero() {
			d.Recorded += r.To.Sub(r.From)
		}
	}
	return d
}
