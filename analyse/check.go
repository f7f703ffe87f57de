// Package analyse judges what happened: checks look at the facts of a record and give one of three answers, found,
// clear or not assessable, each with its because. Facts come from tundish/analyse/episode; the checks are in the
// folders below, one topic each. Nothing here does I/O, asks the time or starts a goroutine, so that the same
// capture gives the same verdict years later.
//
// Start at [Check] and [Pass]; [Analysis] runs them.
package analyse

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tundish/analyse/episode"
	"tundish/decode"
)

// Check is one kind of verdict.
type Check struct {
	Kind     string // a word of the vocabulary: "short-cycling"
	Doc      string // first line: what it says
	Needs    []Need
	Criteria []Criterion
	// Spared says why the check does not apply to a plant, "" where it does; nil: it applies to all.
	Spared func(Plant) string
	// Sensors: it judges the sensors, and is asked before the checks that rely on them.
	Sensors bool
	// Run looks at the pass and calls exactly one of Found, Clear or NotAssessable.
	Run func(*Pass)
}

// Need is something without which a check cannot answer: a reading of any one of the points.
type Need struct {
	Points []decode.Point
	Say    string // what is missing and how to get it, where none of them is there
	// Unless tells where it can do without; nil: nowhere. What it then cannot tell is for its Run to say.
	Unless func(*Pass) bool
}

// clearCoverage is the share of the record that the needed readings must cover before "clear" may be said: what was
// not seen may not be called sound. Own proposal.
const clearCoverage = 0.8

// spared tells whether a check can do without.
func (n *Need) spared(p *Pass) bool { return n.Unless != nil && !p.Has(n.Points...) && n.Unless(p) }

// Pass is what one check sees, and where it answers.
type Pass struct {
	Facts *episode.Facts
	Plant Plant
	Site  Site
	// Coverage is of all series; see also [Pass.Share].
	Coverage []Coverage
	Buses    []string             // sources that are buses
	Sensors  []Sensor             // what is known of the errors of temperature sensors; see [Pass.SensorOf]
	Marks    []Mark               // what people noted, in order of time
	Signs    map[int]episode.Sign // likewise of what the indicator light shows
	Codes    map[int]string       // the engineer's words for the appliance's codes, from the maker's instructions

	doubts  []doubt
	check   *Check
	answers int
	checked Checked
	finding *Finding
	steps   []Step
}

// Mark is a note that a person made: "reset pressed", "cold shower".
type Mark struct {
	At   time.Time
	Text string
}

// Found answers that the fault is there.
func (p *Pass) Found(f Finding) {
	p.answers++
	f.Kind = p.check.Kind
	p.finding = &f
	p.checked = Checked{Kind: p.check.Kind, Outcome: Found, Because: f.Summary}
}

// Clear answers that the check looked and found nothing. Where the readings that it needs cover too little of the
// record, the answer becomes not assessable.
func (p *Pass) Clear(because string) {
	for _, n := range p.check.Needs {
		if n.spared(p) {
			continue
		}
		if share := p.Share(n.Points...); share < clearCoverage {
			p.NotAssessable(fmt.Sprintf("nothing was found, but %s covers only %.0f %% of the time that could be seen; %.0f %% are needed to call it clear",
				pointNames(n.Points), share*100, clearCoverage*100))
			return
		}
	}
	p.answers++
	p.checked = Checked{Kind: p.check.Kind, Outcome: Clear, Because: because}
}

// NotAssessable answers that the data cannot tell, and why.
func (p *Pass) NotAssessable(because string) {
	p.answers++
	p.checked = Checked{Kind: p.check.Kind, Outcome: NotAssessable, Because: because}
}

// Share is the best coverage of any series of the points, as a share of the time that could be seen: without the
// stretches in which no logger ran, and without those in which the appliance had no mains as far as known: a bus
// that is dead because its mains is switched off misses nothing.
func (p *Pass) Share(points ...decode.Point) float64 {
	best := 0.0
	for _, c := range p.Coverage {
		if c.Readings > 0 && slices.Contains(points, c.Series.Point) {
			if seen := 1 - p.unseeable(c.Series.Source); seen > 0 {
				best = max(best, min(1, c.Share/seen))
			}
		}
	}
	return best
}

// unseeable is the share of the record in which no logger ran or a source was silent for want of mains.
func (p *Pass) unseeable(source string) float64 {
	total := p.Facts.To.Sub(p.Facts.From)
	if total <= 0 {
		return 0
	}
	var off time.Duration
	for _, g := range p.Facts.Gaps {
		off += g.Duration()
	}
	for _, s := range p.Facts.Silences {
		if s.Source == source && s.Reason == episode.SilenceNoMains {
			off += s.Duration()
		}
	}
	return float64(off) / float64(total)
}

// Has tells whether any series of the points has readings.
func (p *Pass) Has(points ...decode.Point) bool {
	for _, c := range p.Coverage {
		if c.Readings > 0 && slices.Contains(points, c.Series.Point) {
			return true
		}
	}
	return false
}

// ByContact tells whether a point is there, and no bus gives it.
func (p *Pass) ByContact(point decode.Point) bool {
	there := false
	for _, c := range p.Coverage {
		if c.Series.Point == point && c.Readings > 0 {
			if slices.Contains(p.Buses, c.Series.Source) {
				return false
			}
			there = true
		}
	}
	return there
}

// run asks one check.
func (c *Check) run(p Pass) (Checked, *Finding) {
	p.check = c
	if c.Spared != nil {
		if why := c.Spared(p.Plant); why != "" {
			return Checked{Kind: c.Kind, Outcome: Clear, Because: "does not apply: " + why}, nil
		}
	}
	for _, n := range c.Needs {
		if !p.Has(n.Points...) && !n.spared(&p) {
			return Checked{Kind: c.Kind, Outcome: NotAssessable, Because: n.Say}, nil
		}
	}
	c.Run(&p)
	if p.answers != 1 {
		return Checked{Kind: c.Kind, Outcome: NotAssessable, Because: fmt.Sprintf("the check gave %d answers instead of one: a defect of the program", p.answers)}, nil
	}
	p.checked.Steps = p.steps
	return p.checked, p.finding
}

func pointNames(points []decode.Point) string {
	names := make([]string, len(points))
	for i, p := range points {
		names[i] = p.String()
	}
	return strings.Join(names, " or ")
}

// DayClock prints a moment for people, in the site's zone: "Tue 13 Jan 06:41".
func (s Site) DayClock(t time.Time) string { return LocalTime(t, s.zone(), "Mon 2 Jan 15:04") }

// Day names the day of a moment, in the site's zone: "2026-01-13".
func (s Site) Day(t time.Time) string { return t.In(s.zone()).Format(time.DateOnly) }

// Clock prints a time of day for people, in the site's zone: "06:41:07".
func (s Site) Clock(t time.Time) string { return LocalTime(t, s.zone(), "15:04:05") }

// Date names the day of a moment for people, in the site's zone: "13 Jan".
func (s Site) Date(t time.Time) string { return t.In(s.zone()).Format("2 Jan") }

// DaysAfter is the same time of day some days after, by the site's clocks: a day may have 23 or 25 hours.
func (s Site) DaysAfter(t time.Time, days int) time.Time {
	return t.In(s.zone()).AddDate(0, 0, days).UTC()
}

func (s Site) zone() *time.Location {
	if s.Zone == nil {
		return time.UTC
	}
	return s.Zone
}

// Span prints a length of time as people say it: "250 ms", "74 s", "5 min 30 s", "3 h 20 min", "2 days 4 h".
func Span(d time.Duration) string {
	switch {
	case d > 0 && d < time.Second:
		return fmt.Sprintf("%d ms", d.Milliseconds())
	case d.Round(time.Second) < 2*time.Minute:
		return fmt.Sprintf("%.0f s", d.Seconds())
	case d.Round(time.Second) < 10*time.Minute:
		return twoUnits(d.Round(time.Second), time.Minute, "min", time.Second, "s")
	case d.Round(time.Minute) < time.Hour:
		return fmt.Sprintf("%.0f min", d.Minutes())
	case d.Round(time.Minute) < 48*time.Hour:
		return twoUnits(d.Round(time.Minute), time.Hour, "h", time.Minute, "min")
	case d < 14*24*time.Hour:
		return twoUnits(d.Round(time.Hour), 24*time.Hour, "days", time.Hour, "h")
	}
	return fmt.Sprintf("%.0f days", d.Hours()/24)
}

func twoUnits(d, big time.Duration, bigName string, small time.Duration, smallName string) string {
	text := fmt.Sprintf("%d %s", d/big, bigName)
	if rest := d % big / small; rest > 0 {
		text += fmt.Sprintf(" %d %s", rest, smallName)
	}
	return text
}

// Times prints how often something was: "once", "twice", "5 times".
func Times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

// Count prints a number of things: "1 start", "3 starts".
func Count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
