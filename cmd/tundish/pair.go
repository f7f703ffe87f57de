package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/analyse/pairing"
	wire "tundish/capture/onewire"
	"tundish/cmd/tundish/jobsheet"
	"tundish/dashboards/findings"
	"tundish/decode/unit"
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
	First  string        `arg:"" placeholder:"SOURCE/PROBE" help:"The probe that stays as it is: probes/28-0000a71c01f4, or probes/flow. SOURCE alone where it has one probe."`
	Second string        `arg:"" placeholder:"SOURCE/PROBE" help:"The probe that gets the offset."`
	For    time.Duration `placeholder:"TIME" default:"${pair_for}" help:"How long to compare (default: ${default})."`
	Every  time.Duration `hidden:"" help:"From reading to reading, instead of the source's interval."`
}

// pairProbe is one of the two, by the job sheet.
type pairProbe struct {
	source *jobsheet.Source
	name   string
	jobsheet.Mapping
}

func (p pairProbe) String() string { return fmt.Sprintf("%s (%s)", p.Point, p.name) }

func (c pairCmd) Run(ctx context.Context, s *streams) error {
	if c.For <= 0 || c.For > 2*time.Hour {
		return usagef("--for: %v is no time to compare for; ten minutes (10m) are usual, two hours the most", c.For)
	}
	sheet, err := jobsheet.Load(c.Job)
	if err != nil {
		return noSheet(err)
	}
	var two [2]pairProbe
	for i, ref := range []string{c.First, c.Second} {
		if two[i], err = findProbe(sheet, ref); err != nil {
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
	p := &pairPage{two: two, began: time.Now(), lasts: c.For, to: s}
	err := watchProbes(until, pairSources(two, c.Every), p.take)
	p.leave()
	if err != nil {
		return pairing.Result{}, err
	}
	return pairing.Judge(p.samples, p.steps, p.sweeps)
}

// pairSources are the buses to read: one where both probes are under one root, so that they share sweeps.
func pairSources(two [2]pairProbe, every time.Duration) []wire.Config {
	var out []wire.Config
	for _, p := range two {
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

// findProbe finds what SOURCE/PROBE names.
func findProbe(sheet *jobsheet.Sheet, ref string) (pairProbe, error) {
	name, probe, given := strings.Cut(ref, "/")
	src, ok := sheet.Source(name)
	if !ok {
		var names []string
		for _, x := range sheet.Sources {
			names = append(names, x.Name)
		}
		return pairProbe{}, fmt.Errorf("%q: there is no source %q%s", ref, name, jobsheet.Suggestion(name, names))
	}
	switch {
	case src.Kind != "one-wire":
		return pairProbe{}, fmt.Errorf("%q: source %q is of kind %s; only one-wire probes can lie in one water", ref, name, src.Kind)
	case len(src.Points) == 0:
		return pairProbe{}, fmt.Errorf("%q: source %q has no points; \"tundish sources --identify %s\" tells probes apart", ref, name, sheet.File)
	case !given && len(src.Points) > 1:
		return pairProbe{}, fmt.Errorf("%q: source %q has %d probes; say which: %s/%s", ref, name, len(src.Points), name, probeNames(src)[0])
	}
	for _, p := range probeNames(src) {
		if m := src.Points[p]; !given || p == probe || m.Point.String() == probe {
			return pairProbe{src, p, m}, nil
		}
	}
	return pairProbe{}, fmt.Errorf("%q: source %q has no probe %q; it has %s", ref, name, probe, strings.Join(probeNames(src), ", "))
}

// roundedUp is the uncertainty as it is written: at the sheet's resolution, never smaller than it is.
func roundedUp(r pairing.Result) float64 { return math.Ceil(float64(r.Expanded)*100-1e-9) / 100 }

func offsetOf(r pairing.Result) float64 { return float64(r.Offset) }

func pairEdits(second pairProbe, r pairing.Result, on time.Time) []jobsheet.ProbeEdit {
	return []jobsheet.ProbeEdit{{Source: second.source.Name, Probe: second.name, Keys: []jobsheet.Key{
		{Name: "offset_k", Raw: jobsheet.Number(offsetOf(r))},
		{Name: "paired_k", Raw: jobsheet.Number(roundedUp(r))},
		{Name: "paired_on", Raw: `"` + on.Format(time.DateOnly) + `"`},
	}}}
}

// pairPage gathers both probes' values, and shows the comparison as it goes.
type pairPage struct {
	two     [2]pairProbe
	began   time.Time
	lasts   time.Duration
	to      *streams
	last    [2]*probeValue
	tried   [2]int // answers, good or not
	samples []pairing.Sample
	steps   [2]unit.Kelvin
	sweeps  int
	told    time.Duration
}

// togetherWithin is how far apart in time two values of different buses may be to be one sample. Own choice: water in a
// jug changes by a hundredth of a kelvin at most in it.
const togetherWithin = 1500 * time.Millisecond

func (p *pairPage) take(v probeValue) error {
	i := 0
	if p.two[1].name == v.probe {
		i = 1
	}
	if v.note != "" && !strings.HasPrefix(v.note, "probe: ") {
		fmt.Fprintf(p.to.live(), "%s: %s\n", v.probe, v.note)
	}
	if v.note != "" {
		return nil
	}
	p.tried[i]++
	p.sweeps = max(p.tried[0], p.tried[1])
	if v.err != nil {
		return nil
	}
	p.last[i] = &v
	if v.step == 0 {
		v.step = 0.0625
	}
	p.steps[i] = unit.Kelvin(v.step)
	a, b := p.last[0], p.last[1]
	if a == nil || b == nil || (a.at-b.at).Abs() > togetherWithin {
		return nil
	}
	p.last = [2]*probeValue{}
	p.samples = append(p.samples, pairing.Sample{At: max(a.at, b.at), First: unit.Celsius(a.c).Add(p.two[0].Offset), Second: unit.Celsius(b.c)})
	p.show()
	return nil
}

// show draws the page on a terminal; elsewhere a line a minute.
func (p *pairPage) show() {
	gone := time.Since(p.began)
	now := p.samples[len(p.samples)-1]
	line := fmt.Sprintf("%s: %.2f and %.2f °C, difference %+.2f K", analyse.Span(gone.Round(time.Second)), now.First, now.Second, now.First.Sub(now.Second))
	if !p.to.screen.terminal() {
		if gone-p.told >= time.Minute {
			p.told = gone
			fmt.Fprintln(p.to.out, line)
		}
		return
	}
	page := []string{line, fmt.Sprintf("%d readings, %s to go. Ctrl-C stops, and writes nothing.", len(p.samples), analyse.Span(max(0, p.lasts-gone).Round(time.Second)))}
	switch r, err := pairing.Judge(p.samples, p.steps, p.sweeps); {
	case r.Readings < pairing.LeastReadings:
	case err != nil:
		page = append(page, "as it is: "+err.Error())
	default:
		page = append(page, fmt.Sprintf("mean %+.2f K, known to ± %.2f K", r.Offset, r.Expanded))
	}
	p.to.screen.show(page)
}

func (p *pairPage) leave() {
	if p.to.screen.terminal() && len(p.samples) > 0 {
		p.to.screen.leave()
	}
}
