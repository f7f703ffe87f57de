package report

// barChart sets rows of bars one below the other, each row with its name at the left and its figure at the right. Its
// height is that of its rows.
type barChart struct {
	title   string
	unit    string
	parts   []key    // what the bars are of; the same number of values in each row
	side    bool     // the parts stand one below the other, each with its figure; else they are one bar, with their sum
	rows    []barRow //
	said    string   // the text alternative
	figures func(v float64) string
}

type barRow struct {
	name   string
	values []float64
	note   string // beside the figure: "−320 W"
}

func (c *barChart) heading() string  { return c.title }
func (c *barChart) fixed() bool      { return true }
func (c *barChart) describe() string { return c.said }

// total is the sum of a row.
func (r barRow) total() (sum float64) {
	for _, v := range r.values {
		sum += v
	}
	return sum
}

// reach is how far a row's bars go below and above 0.
func (c *barChart) reach(r barRow) (lo, hi float64) {
	for _, v := range r.values {
		if c.side {
			lo, hi = min(lo, v), max(hi, v)
			continue
		}
		lo, hi = lo+min(v, 0), hi+max(v, 0)
	}
	return lo, hi
}

func (c *barChart) text(v float64) string { return c.figures(v) + "\u00a0" + c.unit }

// ends are the texts at the right of a row, one for each bar.
func (c *barChart) ends(r barRow) []string {
	if !c.side {
		return []string{c.text(r.total()) + r.note}
	}
	out := make([]string, len(r.values))
	for i, v := range r.values {
		out[i] = c.text(v)
	}
	out[len(out)-1] += r.note
	return out
}

func (c *barChart) draw(s surface, l layout) float64 {
	em := l.size
	names, figures, lo, hi := 0.0, 0.0, 0.0, 0.0
	for _, r := range c.rows {
		names = max(names, s.textWidth(r.name, em))
		for _, t := range c.ends(r) {
			figures = max(figures, s.textWidth(t, em))
		}
		a, b := c.reach(r)
		lo, hi = min(lo, a), max(hi, b)
	}
	names = min(max(names, 3.2*em), l.width*0.32)
	left, right := names+0.8*em, l.width-figures-0.8*em
	if hi <= lo {
		hi = lo + 1
	}
	axis := newValueAxis(lo, hi, max(2, int((right-left)/(4.5*em))))
	x := func(v float64) float64 { return left + (right-left)*(v-lo)/(hi-lo) } // the longest bar takes all the width

	y := 0.2*em + keys(s, l, 0, 0.2*em, c.parts)
	const thick, gap = 1.05, 0.75
	bars := 1
	if c.side {
		bars = len(c.parts)
	}
	top, bottom := y, y+float64(len(c.rows))*(float64(bars)*thick+gap)*em
	for _, v := range axis.values() {
		if v < lo || v > hi {
			continue
		}
		s.line(point{x(v), top}, point{x(v), bottom}, stroke{ink: inkGrid, width: 0.4})
		s.text(point{x(v), bottom + 1.15*em}, c.figures(v), em, inkMuted, anchorMiddle)
	}
	for _, r := range c.rows {
		y += gap / 2 * em
		height := float64(bars) * thick * em
		s.text(point{names, y + height/2 + 0.33*em}, clippedTo(s, r.name, em, names), em, inkText, anchorEnd)
		c.bars(s, r, x, y, thick*em)
		for i, t := range c.ends(r) {
			_, end := c.reach(r)
			if c.side {
				end = r.values[i]
			}
			s.text(point{max(x(end), x(0)) + 0.5*em, y + float64(i)*thick*em + thick/2*em + 0.33*em}, t, em, inkText, anchorStart)
		}
		y += height + gap/2*em
	}
	s.line(point{x(0), top}, point{x(0), bottom}, stroke{ink: inkMuted, width: 0.6})
	s.text(point{names - 1.6*em, bottom + 1.15*em}, c.unit, em, inkMuted, anchorEnd)
	return bottom + 1.6*em
}

// bars draws the bars of one row.
func (c *barChart) bars(s surface, r barRow, x func(float64) float64, y, thick float64) {
	up, down := 0.0, 0.0
	for i, v := range r.values {
		from, at := 0.0, y
		switch {
		case c.side:
			at = y + float64(i)*thick
		case v < 0:
			from, down = down, down+v
		default:
			from, up = up, up+v
		}
		a, b := x(from), x(from+v)
		if a == b {
			continue
		}
		drawMark(s, c.parts[i].mark, c.parts[i].stroke, min(a, b), at+0.08*thick, max(a, b)-min(a, b), thick*0.84, thick)
	}
}
