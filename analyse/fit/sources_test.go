package fit

import (
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

func ofSources(in Input) *Summary {
	in.Result = &analyse.Result{From: start, To: start.Add(5 * time.Hour), Facts: &episode.Facts{}, Coverage: []analyse.Coverage{
		{Series: decode.Series{Source: "probes", Point: decode.Flow}, Readings: 100, Share: 1, Interval: time.Second}}}
	in.Watch = NewWatch(WatchConfig{})
	return Judge(in)
}

func TestSources(t *testing.T) {
	bus := func(tally map[string]uint64) Input {
		return Input{Sources: []Source{{Name: "boiler", Bus: true, Records: 1000, Tally: tally}}}
	}
	cases := []struct {
		name         string
		in           Input
		about, words string // "": nothing may be said of about
		rank         Rank
	}{
		{"nothing came", Input{Sources: []Source{{Name: "boiler", Bus: true}}}, "boiler", "nothing came", Now},
		{"a probe is missing", Input{Sources: []Source{{Name: "probes", Records: 5, Names: map[string]string{"probes/return": "(28-0000a71c039b)"},
			Expected: []decode.Series{{Source: "probes", Point: decode.Flow}, {Source: "probes", Point: decode.Return}}}}}, "probes/return", "28-0000a71c039b", Now},
		{"a probe that is there", Input{Sources: []Source{{Name: "probes", Records: 5, Expected: []decode.Series{{Source: "probes", Point: decode.Flow}}}}}, "probes/flow", "", 0},
		{"wrong baud", bus(map[string]uint64{"lines": 1000, "lines without a frame": 990, "frames": 10, "requests": 10}), "boiler", "99 % of its lines hold no frame", Now},
		{"the slave only", bus(map[string]uint64{"lines": 1000, "frames": 1000, "replies before any request": 1000}), "boiler", "only the appliance's side", Soon},
		{"the master only", bus(map[string]uint64{"lines": 1000, "frames": 1000, "requests": 1000, "requests unanswered": 999}), "boiler", "only the controller's side", Now},
		{"a poor line", bus(map[string]uint64{"lines": 1000, "frames": 1000, "requests": 500, "replies paired": 490, "parity errors": 30}), "boiler", "3.0 % of its frames have parity errors", Soon},
		{"answers missing", bus(map[string]uint64{"lines": 1000, "frames": 800, "requests": 500, "replies paired": 300, "requests unanswered": 200}), "boiler", "40 % of the controller's requests", Soon},
		{"some bits flip on any line", bus(map[string]uint64{"lines": 1000, "frames": 999, "lines without a frame": 1, "requests": 500, "replies paired": 497, "requests unanswered": 3, "parity errors": 4}), "boiler", "", 0},
		{"values from a file", bus(map[string]uint64{"cells": 1000}), "boiler", "", 0},
		{"asked in vain", Input{Sources: []Source{{Name: "boiler", Bus: true, Records: 9, Tally: map[string]uint64{"requests": 100, "frames": 200, "lines": 200, "replies paired": 100},
			Asked: []Asked{{Name: "return temperature", Points: []decode.Point{decode.Return}, Asked: 10}, {Name: "pressure", Points: []decode.Point{decode.Pressure}, Asked: 10, Answered: 9}}}}},
			"boiler", "never given by the appliance: return temperature", Know},
		{"asked in vain, and measured by a probe", Input{Sources: []Source{{Name: "boiler", Bus: true, Records: 9, Tally: map[string]uint64{"requests": 100, "frames": 200, "lines": 200, "replies paired": 100},
			Asked: []Asked{{Name: "flow temperature", Points: []decode.Point{decode.Flow}, Asked: 10}}}}}, "boiler", "", 0},
	}
	for _, c := range cases {
		s := ofSources(c.in)
		i := says(s, c.about, c.words)
		switch {
		case c.words == "" && i != nil:
			t.Errorf("%s: said %+v", c.name, *i)
		case c.words != "" && (i == nil || i.Rank != c.rank):
			t.Errorf("%s: items are %+v", c.name, s.Items)
		}
	}
}

// Days are room ÷ (size ÷ time): 1 GB free, 10 MB in a day are 100 days.
func TestDiskAndClock(t *testing.T) {
	live := Clock{Live: true, Synced: true}
	disk := func(size int64, free uint64, recorded time.Duration) Disk {
		return Disk{Size: size, Free: analyse.Some(free), Recorded: recorded}
	}
	for _, c := range []struct {
		name  string
		disk  Disk
		days  float64 // 0: not known
		rank  Rank    // 0: nothing to do
		early bool
	}{
		{"much room", disk(10e6, 1e9, 24*time.Hour), 100, 0, false},
		{"some weeks", disk(10e6, 3e8, 24*time.Hour), 30, Know, false},
		{"soon full", disk(10e6, 1e8, 24*time.Hour), 10, Now, false},
		{"just begun", disk(10e6, 1e8, 10*time.Minute), 0, 0, true},
		{"not known", Disk{Size: 10e6, Recorded: 24 * time.Hour}, 0, Know, false},
	} {
		s := ofSources(Input{Clock: live, Disk: c.disk})
		if s.DaysLeft.Known != (c.days > 0) || s.DaysLeft.Value < c.days-0.01 || s.DaysLeft.Value > c.days+0.01 {
			t.Errorf("%s: %v days", c.name, s.DaysLeft)
		}
		i := says(s, "disk", "")
		if (i != nil) != (c.rank > 0) || i != nil && i.Rank != c.rank {
			t.Errorf("%s: %+v", c.name, i)
		}
		if strings.Contains(strings.Join(s.Early, " "), "disk") != c.early {
			t.Errorf("%s: early are %q", c.name, s.Early)
		}
	}
	if i := says(ofSources(Input{Clock: Clock{Live: true}}), "clock", "never seen synchronised"); i == nil || i.Rank != Now {
		t.Error("a clock that was never set is let pass")
	}
	for _, c := range []Clock{live, {}} { // a file's times are as they were given
		if i := says(ofSources(Input{Clock: c}), "clock", ""); i != nil {
			t.Errorf("%+v: said %+v", c, *i)
		}
	}
}
