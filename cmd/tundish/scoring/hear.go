package scoring

import (
	"context"
	"fmt"
	"time"

	"tundish/analyse"
	"tundish/capture"
	"tundish/cmd/tundish/cases"
	"tundish/cmd/tundish/house"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
)

// Wiring is what the program lends to a score of its findings: the same checks and decoders that look at captures.
type Wiring struct {
	Checks  func() []analyse.Check
	Decoder func(*jobsheet.Source, *jobsheet.Sheet) (decode.Decoder, error)
	Bus     func(*jobsheet.Source) bool // its silence means something
	Sensors func(*jobsheet.Sheet) []analyse.Sensor
}

// Told is what was said of one kind in one home, beside what was true.
type Told struct {
	Case    cases.Case
	Worse   string // name of the variant; "": as the case is set up
	Seed    uint64
	Start   time.Time // of the record
	HasBus  bool
	Label   cases.Label
	Checked analyse.Checked
	Finding *analyse.Finding // nil unless found; evidence of lockouts only
}

// hear simulates a case as s and judges it as a capture would be.
func (w Wiring) hear(ctx context.Context, c cases.Case, s house.Scenario, seed uint64) ([]Told, error) {
	o := cases.NewObserver(s)
	result, truth, err := w.analyse(ctx, s, seed, o.Second)
	if err != nil {
		return nil, fmt.Errorf("%s, seed %d: %w", c.Name, seed, err)
	}
	labels := map[string]cases.Label{}
	for _, l := range cases.Labels(c, s, truth, o.Measures()) {
		labels[l.Kind] = l
	}
	var out []Told
	for _, k := range result.Checked {
		l, ok := labels[k.Kind]
		if !ok {
			return nil, fmt.Errorf("%s: no label says whether a home has %s", c.Name, k.Kind)
		}
		k.Steps = nil
		t := Told{Case: c, Seed: seed, Start: s.Start, HasBus: !s.NoBus, Label: l, Checked: k}
		for i := range result.Findings {
			if f := result.Findings[i]; f.Kind == k.Kind {
				if f.Kind != lockoutKind {
					f.Evidence = nil // so that the whole library stays small
				}
				t.Finding = &f
			}
		}
		out = append(out, t)
	}
	return out, nil
}

// analyse simulates a home and tells the analysis of every record; second is told of every second, nil: nobody.
func (w Wiring) analyse(ctx context.Context, s house.Scenario, seed uint64, second func(*house.State)) (*analyse.Result, house.Truth, error) {
	sheet, err := jobsheet.Parse("job.toml", s.JobSheet(seed))
	if err != nil {
		return nil, house.Truth{}, fmt.Errorf("the home's own job sheet: %w", err)
	}
	var buses []string
	all := map[string]decode.Decoder{}
	for i := range sheet.Sources {
		src := &sheet.Sources[i]
		if all[src.Name], err = w.Decoder(src, sheet); err != nil {
			return nil, house.Truth{}, err
		}
		if w.Bus(src) {
			buses = append(buses, src.Name)
		}
	}
	runs := runsOf(&s, fitted(&s))
	cfg := analyse.Config{Site: sheet.AnalyseSite(), Plant: sheet.Plant, Codes: sheet.Codes, Runs: runs, Buses: buses, Checks: w.Checks()}
	if w.Sensors != nil {
		cfg.Sensors = w.Sensors(sheet)
	}
	a := analyse.New(cfg)
	run, seq := 0, uint64(0)
	truth, err := s.Simulate(ctx, seed, house.Listener{Second: second, Record: func(rec capture.Record) error {
		d := all[rec.Source]
		if d == nil {
			return nil
		}
		rec.Time = s.Start.Add(rec.At)
		for run+1 < len(runs) && !rec.Time.Before(runs[run+1].From) {
			run++
		}
		seq++
		rec.Seq, rec.Run = seq, runs[run].ID
		a.Record(rec.Source, rec.Run, rec.Time, rec.Note)
		a.Refused(rec.Time, d.Decode(rec, a.Reading)) // what a decoder refuses, it counts itself
		return nil
	}})
	if err != nil {
		return nil, truth, err
	}
	for _, src := range sheet.Sources {
		if f, ok := all[src.Name].(interface{ Flush(func(decode.Reading)) }); ok {
			f.Flush(a.Reading)
		}
	}
	return a.Result(), truth, nil
}

// fitted is the listening of a scenario as it is set up; only which parts there are counts.
func fitted(s *house.Scenario) (l Listening) {
	if !s.NoBus {
		l.Status = time.Second
	}
	if !s.NoProbes {
		l.Sweep = time.Second
	}
	return l
}
