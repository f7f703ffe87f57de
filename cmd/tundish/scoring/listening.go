package scoring

import (
	"context"
	"fmt"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/capture"
	"tundish/cmd/tundish/house"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
	"tundish/decode/onewire"
	"tundish/decode/opentherm"
)

// Listening is what an engineer fitted, and how finely it listens. A part that is not fitted has a zero interval.
type Listening struct {
	Status time.Duration // the master asks for the status this often; 0: no bus
	Sweep  time.Duration // the probes are read this often, whole seconds; 0: no probes
	Tau    time.Duration // their lag
}

// Bus tells whether the bus is listened to.
func (l Listening) Bus() bool { return l.Status > 0 }

const (
	// allowance is the part of the tolerance that is there for both: a second of the truth's own resolution, the
	// answer's way, and an adapter's or a probe's own time. Own proposal.
	allowance = 3 * time.Second
	// shareOfLag is how much of the probes' lag an edge may be off. Own proposal: a lag moves what is read by itself;
	// who takes it out with a lag known to ±50 % is left with half of it.
	shareOfLag = 0.5
	// modulationEvery is how many times as seldom as the status the modulation is asked for by the simulated master: it
	// alone tells of a compressor.
	modulationEvery = 4
	// busWakes is how much later a bus can speak that has its mains only while heat is asked for. Own assumption of
	// the simulated house, with a second to spare.
	busWakes = 5 * time.Second
)

// Tolerance is how far an edge that was told may lie from the true one. With a bus it is 3 s and the time between two
// looks at the status; with probes alone 3 s, the time between two readings, and half the probes' lag.
func (l Listening) Tolerance() time.Duration {
	if l.Bus() {
		return allowance + l.Status
	}
	return allowance + l.Sweep + time.Duration(shareOfLag*float64(l.Tau))
}

// fit sets a scenario up for the listening.
func (l Listening) fit(s house.Scenario) house.Scenario {
	s.NoBus, s.NoProbes = !l.Bus(), l.Sweep == 0
	if l.Bus() {
		s.Bus.Every, s.Bus.StatusEvery = l.Status/2, 2 // every second conversation asks the status
	}
	if l.Sweep > 0 {
		s.Probes.Every, s.Probes.TauS = l.Sweep, l.Tau.Seconds()
	}
	return s
}

// Heard is one simulated record: what was done, and what was made of it.
type Heard struct {
	Scenario  house.Scenario
	Listening Listening
	Truth     house.Truth
	Facts     *episode.Facts
}

// Listen simulates a scenario and tells the analysis of every record, as a capture read back would.
func Listen(ctx context.Context, s house.Scenario, seed uint64, l Listening) (Heard, error) {
	s = l.fit(s)
	sheet, err := jobsheet.Parse("job.toml", s.JobSheet(seed))
	if err != nil {
		return Heard{}, fmt.Errorf("%s: the scenario's own job sheet: %w", s.Name, err)
	}
	all, err := decoders(&s, sheet, l)
	if err != nil {
		return Heard{}, err
	}
	runs := runsOf(&s, l)
	cfg := analyse.Config{Plant: sheet.Plant, Runs: runs}
	if l.Bus() {
		cfg.Buses = []string{house.SourceBus}
	}
	a := analyse.New(cfg)
	run, seq := 0, uint64(0)
	truth, err := s.Simulate(ctx, seed, house.Listener{Record: func(rec capture.Record) error {
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
		return Heard{}, err
	}
	for _, name := range []string{house.SourceBus, house.SourceProbes} {
		if f, ok := all[name].(interface{ Flush(func(decode.Reading)) }); ok {
			f.Flush(a.Reading)
		}
	}
	return Heard{Scenario: s, Listening: l, Truth: truth, Facts: a.Result().Facts}, nil
}

// decoders are those of the parts that are fitted, by source.
func decoders(s *house.Scenario, sheet *jobsheet.Sheet, l Listening) (map[string]decode.Decoder, error) {
	all := map[string]decode.Decoder{}
	if l.Bus() {
		hot := decode.HotWater
		if sheet.Plant.HotWater == analyse.CylinderHotWater {
			hot = decode.Cylinder
		}
		d, err := opentherm.New(opentherm.Config{Source: house.SourceBus, HotWater: hot})
		if err != nil {
			return nil, err
		}
		all[house.SourceBus] = d
	}
	if l.Sweep > 0 {
		d, err := onewire.New(onewire.Config{Source: house.SourceProbes, Points: map[string]onewire.Mapping{
			s.Probes.FlowROM:   {Point: decode.Flow},
			s.Probes.ReturnROM: {Point: decode.Return, OffsetK: -s.Probes.RetOffK},
		}})
		if err != nil {
			return nil, err
		}
		all[house.SourceProbes] = d
	}
	return all, nil
}

// runsOf are the runs of the logger: one, cut where no logger ran.
func runsOf(s *house.Scenario, l Listening) []episode.Run {
	var sources []string
	if l.Bus() {
		sources = append(sources, house.SourceBus)
	}
	if l.Sweep > 0 {
		sources = append(sources, house.SourceProbes)
	}
	end := s.Start.Add(time.Duration(s.Days) * 24 * time.Hour)
	runs := []episode.Run{{ID: 1, From: s.Start, To: end, Live: true, Sources: sources}}
	for _, off := range s.Faults.LoggerOff {
		if from := s.Start.Add(off.From); from.Before(end) {
			runs[len(runs)-1].To = from
			runs = append(runs, episode.Run{ID: uint32(len(runs) + 1), From: s.Start.Add(off.To), To: end, Live: true, Sources: sources})
		}
	}
	return runs
}
