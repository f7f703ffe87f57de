package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/analyse/pairing"
	wire "tundish/capture/onewire"
	"tundish/cmd/tundish/jobsheet"
	"tundish/dashboards/findings"
	"tundish/decode"
)

// pairFor is how long two probes are compared. Common practice, no source: ten minutes in stirred water.
const pairFor = 10 * time.Minute

// pairHow is what to do, in lines for a phone-wide terminal.
const pairHow = `Tie both together, deep in one jug of water,
and stir all the time. Hand-warm water or a
vacuum flask: water above 45 °C scalds.
Nothing of the heating system need run.
`

type pairCmd struct {
	Job    string        `arg:"" placeholder:"JOB.toml" help:"The job sheet; the outcome is written into it."`
	First  string        `arg:"" placeholder:"SOURCE/PROBE" help:"The sensor that stays as it is: probes/28-0000a71c01f4, probes/flow, or a temperature of a meter or a broker, radio/room. SOURCE alone where it has one probe."`
	Second string        `arg:"" placeholder:"SOURCE/PROBE" help:"The sensor that gets the offset."`
	For    time.Duration `placeholder:"TIME" default:"${pair_for}" help:"How long to compare (default: ${default})."`
	From   string        `name:"from" placeholder:"CAPTURE" help:"Take the readings from a capture that is being recorded, instead of the devices: nothing is read twice."`
	Every  time.Duration `hidden:"" help:"From reading to reading, instead of the source's interval."`
}

// pairProbe is one of the two, by the job sheet.
type pairProbe struct {
	source *jobsheet.Source
	name   string
	jobsheet.Mapping
}

func (p pairProbe) String() string {
	if p.wire() {
		return fmt.Sprintf("%s (%s)", p.Point, p.name)
	}
	return p.series().String()
}

func (p pairProbe) wire() bool { return p.source.Kind == "one-wire" }

func (p pairProbe) series() decode.Series {
	return decode.Series{Source: p.source.Name, Point: p.Point}
}

// gave tells whether a value is this sensor's. A 1-Wire number is the only one of its kind, whatever the source.
func (p pairProbe) gave(v probeValue) bool {
	return p.name == v.probe && (v.sweep > 0 && p.wire() || p.source.Name == v.source)
}

func (c pairCmd) Run(ctx context.Context, s *streams) error {
	if c.For <= 0 || c.For > 2*time.Hour {
		return usagef("--for: %v is no time to compare for; ten minutes (10m) are usual, two hours the most", c.For)
	}
	sheet, err := jobsheet.Load(c.Job)
	if err != nil {
		return noSheet(err)
	}
	if c.From != "" {
		if _, err := os.Stat(c.From); err != nil {
			return noSheet(err)
		}
	}
	var two [2]pairProbe
	for i, ref := range []string{c.First, c.Second} {
		if two[i], err = findProbe(sheet, ref, c.From != ""); err != nil {
			return usageError{fmt.Errorf("%s: %w", c.Job, err)}
		}
	}
	if two[0].source == two[1].source && two[0].name == two[1].name {
		return usagef("%s: %s and %s are the same probe; two are needed", c.Job, c.First, c.Second)
	}
	// What cannot be written in the end is found before anybody waits.
	if _, err := jobsheet.EditProbes(c.Job, sheet.Text, pairEdits(two[1], pairing.Result{Expanded: 0.1}, time.Now())); err != nil {
		return hinted{usageError{err}, "write it so, and start again"}
	}
	fmt.Fprintf(s.out, "Comparing %s\nwith %s for %s.\n%s", two[0], two[1], analyse.Span(c.For), pairHow)
	r, err := c.compare(ctx, two, s)
	switch {
	case ctx.Err() != nil:
		return errors.New("stopped: nothing was written")
	case err != nil:
		return hinted{err, "nothing was written; the job sheet is as it was"}
	}
	if err := editJob(sheet, pairEdits(two[1], r, time.Now())); err != nil {
		return hinted{err, fmt.Sprintf("the outcome, to put in by hand at %s: offset_k = %s, paired_k = %s", two[1].name,
			jobsheet.Number(offsetOf(r)), jobsheet.Number(roundedUp(r)))}
	}
	return c.tell(s, two, r)
}

// tell says what came out, and what it is worth.
func (c pairCmd) tell(s *streams, two [2]pairProbe, r pairing.Result) error {
	lines := []string{
		fmt.Sprintf("%s: %s now has", findings.Printable(c.Job), two[1]),
		fmt.Sprintf("offset_k = %s, paired_k = %s.", jobsheet.Number(offsetOf(r)), jobsheet.Number(roundedUp(r))),
		fmt.Sprintf("At %.1f °C, %d readings, spread %.3f K,", r.Mean, r.Readings, r.Spread),
		fmt.Sprintf("worth %.0f independent ones; the water", r.Effective),
		fmt.Sprintf("changed by %.2f K a minute at most.", r.DriftKmin),
		fmt.Sprintf("The difference is known to ± %s K", jobsheet.Number(roundedUp(r))),
		fmt.Sprintf("(coverage factor %d, about 95 %%; GUM,", pairing.K),
		"JCGM 100:2008, 4.3.7, 5.1 and 6.2).",
	}
	if math.Abs(float64(r.Offset)) > pairing.PromiseK {
		lines = append(lines, "warning: they differ by more than two sound", "chips do (1 K, DS18B20 datasheet); one may be", "faulty or a copy")
	}
	_, err := fmt.Fprintln(s.out, strings.Join(lines, "\n"))
	return err
}

// compare takes both probes for as long as asked.
func (c pairCmd) compare(ctx context.Context, two [2]pairProbe, s *streams) (pairing.Result, error) {
	until, stop := context.WithTimeout(ctx, c.For)
	defer stop()
	p := &pairPage{two: two, began: time.Now(), lasts: c.For, to: s, within: togetherWithin}
	p.everyTurn = two[0].wire() && two[1].wire() && c.From == ""
	if !p.everyTurn {
		p.within = slowTogether
	}
	err := c.watch(until, two, p.take)
	p.leave()
	if err != nil {
		return pairing.Result{}, err
	}
	return pairing.Judge(p.samples, p.steps, p.sweeps)
}

// watch gives the values of both until the context ends.
func (c pairCmd) watch(ctx context.Context, two [2]pairProbe, take func(probeValue) error) error {
	if c.From != "" {
		return watchCapture(ctx, c.From, []decode.Series{two[0].series(), two[1].series()}, two, take)
	}
	var others []*jobsheet.Source
	for _, p := range two {
		if !p.wire() && !slices.Contains(others, p.source) {
			others = append(others, p.source)
		}
	}
	return watchAll(ctx, pairSources(two, c.Every), others, c.Every, take)
}

// pairSources are the buses to read: one where both probes are under one root, so that they share sweeps.
func pairSources(two [2]pairProbe, every time.Duration) []wire.Config {
	var out []wire.Config
	for _, p := range two {
		if !p.wire() {
			continue
		}
		interval := p.source.Interval
		if every > 0 {
			interval = every
		}
		i := slices.IndexFunc(out, func(w wire.Config) bool { return w.Root == p.source.Root })
		if i >= 0 {
			out[i].Channels = append(out[i].Channels, p.name)
			out[i].Interval = min(out[i].Interval, interval)
			continue
		}
		out = append(out, wire.Config{Source: p.source.Name, Root: p.source.Root, Channels: []string{p.name}, Interval: interval})
	}
	return out
}

// roundedUp is the uncertainty as it is written: at the sheet's resolution, never smaller than it is, nor than a sheet
// believes.
func roundedUp(r pairing.Result) float64 {
	return max(jobsheet.LeastErrorK, math.Ceil(float64(r.Expanded)*100-1e-9)/100)
}

func offsetOf(r pairing.Result) float64 { return float64(r.Offset) }

func pairEdits(second pairProbe, r pairing.Result, on time.Time) []jobsheet.ProbeEdit {
	table := ""
	if !second.wire() {
		table = "paired"
	}
	return []jobsheet.ProbeEdit{{Source: second.source.Name, Probe: second.name, Table: table, Keys: []jobsheet.Key{
		{Name: "offset_k", Raw: jobsheet.Number(offsetOf(r))},
		{Name: "paired_k", Raw: jobsheet.Number(roundedUp(r))},
		{Name: "spread_k", Raw: jobsheet.Number(float64(r.Spread))},
		{Name: "paired_on", Raw: `"` + on.Format(time.DateOnly) + `"`},
	}}}
}
