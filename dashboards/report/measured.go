package report

import (
	"math"
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
	if t := c.counts(); len(t.rows) > 0 {
		add("counts", "What the decoders counted", []block{t})
	}
	add("clock", "The clock", c.clockLines())
	if len(c.in.Marks) > 0 {
		add("marks", "Marks set while recording", []block{c.marks()})
	}
	return out
}

func (c *composer) sources() []block {
	var out []block
	if len(c.in.Sources) == 0 {
		out = append(out, para{text: "The sources of the record are not known."})
	} else {
		t := table{head: []string{"Source", "Kind", "Where it was fitted", "Gives"}}
		for _, s := range c.in.Sources {
			at := cleanText(s.At)
			if at == "" {
				at = "not stated"
			}
			t.rows = append(t.rows, []string{cleanText(s.Name), cleanText(s.Kind), at, cleanText(strings.Join(s.Points, ", "))})
		}
		out = append(out, t.dropEmptyColumns())
	}
	program := cleanText(c.in.Program)
	if program == "" {
		program = "a program whose version is not known"
	}
	return append(out, para{text: "Analysed and printed by " + program + ". It only listens: nothing was sent to the appliance."})
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
	return []block{t, para{aside, "Coverage: the share of the record in which the series has a reading no older than three times its usual interval."}}
}

func coverageRow(v analyse.Coverage) []string {
	row := []string{cleanText(v.Series.String()), shareText(v.Share), grouped(v.Readings), grouped(v.Doubtful), "not known", "–", "–"}
	if v.Interval > 0 {
		row[4] = spanWords(v.Interval)
	}
	if v.Readings > 0 {
		row[5], row[6] = withUnit(v.Min, v.Series.Point.Unit()), withUnit(v.Max, v.Series.Point.Unit())
	}
	return row
}

// shareText prints a share in per cent, cut and not rounded: 100 % must mean all of it.
func shareText(share float64) string {
	cut := math.Floor(share*1000+1e-9) / 10
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
		l.items = append(l.items, item{"", cleanText(line)})
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

// criteria is the table of every threshold that was used.
func (c *composer) criteria() section {
	s := section{level: 2, id: "criteria", title: "Criteria"}
	if len(c.res.Criteria) == 0 {
		s.blocks = []block{para{text: "No criteria are at hand."}}
		return s
	}
	t := table{head: []string{"Check", "Criterion", "Value", "Source"}, numeric: []bool{false, false, true, false}}
	for _, k := range c.res.Criteria {
		source := cleanText(k.Source)
		if source == "" {
			source = "not stated"
		}
		t.rows = append(t.rows, []string{kindTitle(k.Kind), cleanText(k.Name), withUnit(k.Value, cleanText(k.Unit)), source})
	}
	s.blocks = []block{para{text: "The values by which the checks decided, and where each comes from."}, t}
	return s
}
