package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tundish/analyse"
)

// measured says how it was measured.
func (c *composer) measured() []section {
	out := []section{{level: 2, id: "measured", title: "How it was measured", blocks: c.sources()}}
	add := func(id, title string, blocks []block) {
		out = append(out, section{3, id, title, blocks})
	}
	add("coverage", "What was recorded, series by series", c.coverage())
	add("absent", "Stretches without readings", c.absences())
	if t := c.counts(); len(t.rows) > 0 {
		add("counts", "What the decoders counted", []block{t})
	}
	add("clock", "The clock", c.clockLines())
	if len(c.in.Marks) > 0 {
		add("marks", "What people noted", []block{c.marks()})
	}
	return out
}

func (c *composer) sources() []block {
	var out []block
	if len(c.in.Sources) == 0 {
		out = append(out, para{text: "The sources of the record are not known."})
	} else {
		t := table{head: []string{"Source", "Kind", "Where it was fitted", "Connected by", "Gives"}}
		for _, s := range c.in.Sources {
			at := cleanText(s.At)
			if at == "" {
				at = "not stated"
			}
			t.rows = append(t.rows, []string{cleanText(s.Name), sourceKind(s.Kind), at, cleanText(s.Port), givesWords(s.Points)})
		}
		out = append(out, t.dropEmptyColumns())
	}
	out = append(out, c.probes()...)
	program := cleanText(c.in.Program)
	if program == "" {
		program = "a program whose version is not known"
	}
	return append(out, para{text: "Analysed and printed by " + program + ". It only listens: nothing was sent to the appliance."})
}

// givesWords names a few points, and counts many: a bus gives dozens, and all are listed with their readings.
func givesWords(points []string) string {
	const few = 6
	if len(points) > few {
		return plural(uint64(len(points)), "series", "series") + ", listed below"
	}
	return cleanText(strings.Join(points, ", "))
}

// probes lists the single sensors with what was added to what they said.
func (c *composer) probes() []block {
	t := table{head: []string{"Probe", "Source", "Measures", "Correction added", "Compared in the same water"}}
	compared := false
	for _, s := range c.in.Sources {
		for _, p := range s.Probes {
			correction := "none"
			if v := float64(p.Offset); v != 0 {
				correction = decimal(v, 2) + "\u00a0K"
				if v > 0 {
					correction = "+" + correction
				}
			}
			words := cleanText(p.Paired)
			if compared = compared || words != ""; words == "" {
				words = "not stated"
			}
			t.rows = append(t.rows, []string{cleanText(p.ID), cleanText(s.Name), cleanText(p.Point), correction, words})
		}
	}
	if len(t.rows) == 0 {
		return nil
	}
	note := "Corrections and comparisons are those that the job sheet states. How they were made is not part of the record."
	if compared {
		note += " The uncertainty of an offset is expanded, with the coverage factor 2 (GUM, JCGM 100:2008, 6.2.1); the spread is the standard deviation of the single differences."
	}
	return []block{para{text: "The probes by their own serial numbers, as far as they have one:"}, t, para{aside, note}}
}

// stretchesShown is how many stretches without readings are printed.
const stretchesShown = 40

// absences lists when nothing was recorded, and why, as far as known.
func (c *composer) absences() []block {
	if c.res.Facts == nil {
		return []block{para{text: "Stretches without readings are not known."}}
	}
	e := eventsIn(c.res.Facts, c.res.From, c.res.To)
	if len(e.absent) == 0 {
		return []block{para{text: "No break in the recording, and no silence of a bus of a minute or more, was seen. Where a series covers less than all of the time (table above), its readings were missing at times; its line in the charts is broken there."}}
	}
	slices.SortStableFunc(e.absent, func(a, b absence) int { return a.From.Compare(b.From) })
	t := table{head: []string{"From", "Lasted", "Source", "Why"}, numeric: []bool{false, true, false, false}}
	for _, a := range e.absent[:min(len(e.absent), stretchesShown)] {
		source := cleanText(a.source)
		if source == "" {
			source = "all"
		}
		t.rows = append(t.rows, []string{c.clock.row(a.From), spanWords(a.Duration()), source, cleanText(a.why)})
	}
	out := []block{t}
	if rest := len(e.absent) - stretchesShown; rest > 0 {
		out = append(out, para{aside, fmt.Sprintf("And %s.", plural(uint64(rest), "more stretch", "more stretches"))})
	}
	return out
}

func (c *composer) coverage() []block {
	if len(c.res.Coverage) == 0 {
		return []block{para{text: "No series was recorded."}}
	}
	t := table{
		head:    []string{"Series", "Coverage", "Readings", "Doubtful", "Usual interval", "Least", "Greatest"},
		numeric: []bool{false, true, true, true, true, true, true},
	}
	for _, v := range c.res.Coverage {
		t.rows = append(t.rows, coverageRow(v))
	}
	note := "Coverage: the share of the record in which the series has a reading no older than three times its usual interval."
	if slices.ContainsFunc(c.res.Coverage, func(v analyse.Coverage) bool { return v.OnChange }) {
		note += " What is told when it changes counts for as long as its last word stands."
	}
	return []block{t, para{aside, note}}
}

func coverageRow(v analyse.Coverage) []string {
	row := []string{cleanText(v.Series.String()), shareText(v.Share), grouped(v.Readings), grouped(v.Doubtful), "not known", "–", "–"}
	switch {
	case v.OnChange:
		row[4] = "on change"
	case v.Interval > 0:
		row[4] = spanWords(v.Interval)
	}
	if v.Readings > 0 {
		row[5], row[6] = valueText(v.Min, v.Series.Point), valueText(v.Max, v.Series.Point)
	}
	return row
}

// shareText prints a share in per cent, cut and not rounded: 100 % must mean all of it, and 0 % nothing.
func shareText(share float64) string {
	cut := math.Floor(share*1000+1e-9) / 10
	if share > 0 && cut == 0 {
		return "under\u00a00.1\u00a0%"
	}
	if cut == math.Trunc(cut) {
		return decimal(cut, 0) + "\u00a0%"
	}
	return decimal(cut, 1) + "\u00a0%"
}

func (c *composer) counts() table {
	t := table{head: []string{"Source", "Counted", "Number"}, numeric: []bool{false, false, true}}
	for _, s := range c.in.Sources {
		for _, n := range s.Counts {
			t.rows = append(t.rows, []string{cleanText(s.Name), cleanText(n.Name), grouped(n.N)})
		}
	}
	return t
}

func (c *composer) clockLines() []block {
	out := []block{para{text: "Printed times are local time, " + c.zoneWords() + "."}}
	if len(c.in.Clock) == 0 {
		return append(out, para{text: "How well the logger's clock was known is not recorded."})
	}
	l := list{}
	for _, line := range c.in.Clock {
		l.items = append(l.items, item{"", capital(cleanText(line))})
	}
	return append(out, l)
}

func (c *composer) marks() table {
	t := table{head: []string{"Time", "Text"}}
	for _, m := range c.in.Marks {
		text := cleanText(m.Text)
		if text == "" {
			text = "(without text)"
		}
		t.rows = append(t.rows, []string{c.clock.row(m.At), text})
	}
	return t
}
