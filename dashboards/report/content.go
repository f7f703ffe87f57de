package report

import "strings"

// The content that both writers walk. Nothing in it depends on paper or screen.

// document is a whole report.
type document struct {
	title    string
	place    string // address; may be empty
	subtitle string // period and time zone
	author   string
	warning  string // on top of every page: the amended job sheet; "" where there is none
	foot     string // job name
	head     string // first digits of the chain head, in words
	lang     string
	sections []section
}

// section is a heading and what stands below it. Levels are 2 (chapter), 3 (finding) and 4 (part of one).
type section struct {
	level  int
	id     string
	title  string
	blocks []block
}

// block is a paragraph, a list, a table of labels, a table or a figure.
type block interface{ isBlock() }

type tone uint8

const (
	plain   tone = iota
	lead         // the first thing to read
	warning      // must not be overlooked
	aside        // small print
)

type para struct {
	tone tone
	text string
}

// introduces tells whether a paragraph only leads to what stands below it, and must not be parted from that.
func (b para) introduces() bool { return strings.HasSuffix(b.text, ":") }

// list is of items with an optional strong beginning.
type list struct {
	ordered bool
	items   []item
}

type item struct{ strong, text string }

// pairs is a list of labels and values; pairs without a value are left out when it is made.
type pairs []pair

type pair struct{ label, value string }

// table has one header row; the first column names the row.
type table struct {
	head    []string
	numeric []bool // by column: figures, set to the right
	dense   bool   // to be looked up rather than read: smaller, with rows closer together
	stacked bool   // on a narrow screen its rows are set one below the other, though its last column is figures
	rows    [][]string
}

type figure struct{ chart chart }

// chart is what a figure shows: a course of time ([plot]), bars, or values against each other.
type chart interface {
	heading() string
	// draw puts it on a surface and gives the height used.
	draw(s surface, l layout) float64
	// describe is the text alternative, and the caption.
	describe() string
	// fixed: the layout's height does not make it lower.
	fixed() bool
}

func (para) isBlock()   {}
func (list) isBlock()   {}
func (pairs) isBlock()  {}
func (table) isBlock()  {}
func (figure) isBlock() {}

// add appends a pair unless its value is empty.
func (p *pairs) add(label, value string) {
	if v := cleanText(value); v != "" {
		*p = append(*p, pair{label, v})
	}
}

// plots lists the charts of readings in order.
func (d *document) plots() []*plot {
	var out []*plot
	for _, s := range d.sections {
		for _, b := range s.blocks {
			if f, ok := b.(figure); ok {
				if p, ok := f.chart.(*plot); ok {
					out = append(out, p)
				}
			}
		}
	}
	return out
}

// dropEmptyColumns leaves out columns in which no row says anything.
func (t table) dropEmptyColumns() table {
	out := table{dense: t.dense, stacked: t.stacked, rows: make([][]string, len(t.rows))}
	for c := range t.head {
		used := false
		for _, r := range t.rows {
			used = used || r[c] != ""
		}
		if !used {
			continue
		}
		out.head = append(out.head, t.head[c])
		out.numeric = append(out.numeric, c < len(t.numeric) && t.numeric[c])
		for i, r := range t.rows {
			out.rows[i] = append(out.rows[i], r[c])
		}
	}
	return out
}
