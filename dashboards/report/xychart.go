package report

import (
	"math"
	"slices"
)

// xyChart draws values against each other, on two axes with units.
type xyChart struct {
	title        string
	xName, xUnit string
	yUnit        string
	atX          []float64 // that the axes must hold, beside what is drawn
	atY          []float64
	columns      []xyColumn
	bands        []xyBand
	lines        []xyLine
	dots         []xyDots
	levels       []xyLevel
	uprights     []xyUpright
	spots        []xySpot
	said         string // the text alternative
}

type (
	// xyColumn is a bar that stands on the x axis.
	xyColumn struct {
		x, width, y float64
		key         key
	}
	xyBand struct {
		key          key
		upper, lower []point
	}
	xyLine struct {
		key key
		pts []point
	}
	xyDots struct {
		key key
		pts []point
	}
	// xyLevel is a line across, with its name on it.
	xyLevel struct {
		name   string
		y      float64
		stroke stroke
	}
	// xyUpright is a line from below to the top, with its name at the top.
	xyUpright struct {
		name   string
		x      float64
		stroke stroke
	}
	// xySpot is a single point with its range.
	xySpot struct {
		key      key
		at       point
		low, top float64 // the same: no range is known
	}
)

func (c *xyChart) heading() string  { return c.title }
func (c *xyChart) fixed() bool      { return false }
func (c *xyChart) describe() string { return c.said }

// keys lists what is drawn, each once.
func (c *xyChart) keys() []key {
	var out []key
	put := func(k key) {
		if k.text != "" && !slices.ContainsFunc(out, func(o key) bool { return o.text == k.text }) {
			out = append(out, k)
		}
	}
	for _, x := range c.columns {
		put(x.key)
	}
	for _, x := range c.dots {
		put(x.key)
	}
	for _, x := range c.lines {
		put(x.key)
	}
	for _, x := range c.spots {
		put(x.key)
	}
	for _, x := range c.bands {
		put(x.key)
	}
	return out
}

// bounds are the least and the greatest of all that is drawn.
func (c *xyChart) bounds() (x0, x1, y0, y1 float64) {
	x0, x1, y0, y1 = math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	xs := func(v ...float64) {
		for _, v := range v {
			x0, x1 = min(x0, v), max(x1, v)
		}
	}
	ys := func(v ...float64) {
		for _, v := range v {
			y0, y1 = min(y0, v), max(y1, v)
		}
	}
	xs(c.atX...)
	ys(c.atY...)
	all := func(pts []point) {
		for _, p := range pts {
			xs(p.x)
			ys(p.y)
		}
	}
	for _, k := range c.columns {
		xs(k.x-k.width/2, k.x+k.width/2)
		ys(0, k.y)
	}
	for _, k := range c.bands {
		all(k.upper)
		all(k.lower)
	}
	for _, k := range c.lines {
		all(k.pts)
	}
	for _, k := range c.dots {
		all(k.pts)
	}
	for _, k := range c.levels {
		ys(k.y)
	}
	for _, k := range c.uprights {
		xs(k.x)
	}
	for _, k := range c.spots {
		xs(k.at.x)
		ys(k.at.y, k.low, k.top)
	}
	if x0 > x1 {
		x0, x1 = 0, 1
	}
	if y0 > y1 {
		y0, y1 = 0, 1
	}
	return x0, x1, y0, y1
}

func (c *xyChart) draw(s surface, l layout) float64 {
	em := l.size
	x0, x1, y0, y1 := c.bounds()
	left, right := 3.6*em, l.width-0.8*em
	top := 0.2*em + keys(s, l, 0, 0.2*em, c.keys()) + 0.4*em
	top += 1.5 * em * float64(max(len(c.uprights), 1))
	bottom := top + l.height
	xAxis := newValueAxis(x0, x1, max(2, int((right-left)/(4*em))))
	yAxis := newValueAxis(y0, y1, max(2, int(l.height/(2.6*em))))
	x := func(v float64) float64 { return left + (right-left)*xAxis.share(v) }
	y := func(v float64) float64 { return bottom - (bottom-top)*yAxis.share(v) }
	at := func(pts []point) []point {
		out := make([]point, len(pts))
		for i, p := range pts {
			out[i] = point{x(p.x), y(p.y)}
		}
		return out
	}
	for _, v := range yAxis.values() {
		s.line(point{left, y(v)}, point{right, y(v)}, stroke{ink: inkGrid, width: 0.4})
		s.text(point{left - 0.5*em, y(v) + 0.33*em}, yAxis.label(v), em, inkMuted, anchorEnd)
	}
	for _, v := range xAxis.values() {
		s.line(point{x(v), top}, point{x(v), bottom}, stroke{ink: inkGrid, width: 0.4})
		s.text(point{x(v), bottom + 1.2*em}, xAxis.label(v), em, inkMuted, anchorMiddle)
	}
	for _, k := range c.bands {
		back := at(k.lower)
		slices.Reverse(back)
		s.area(append(at(k.upper), back...), k.key.stroke.ink)
	}
	for _, k := range c.columns {
		a, b := x(k.x-k.width/2)+0.4, x(k.x+k.width/2)-0.4
		if h := y(0) - y(k.y); h > 0 {
			drawMark(s, k.key.mark, k.key.stroke, a, y(k.y), b-a, h, em)
		}
	}
	for _, k := range c.levels {
		s.line(point{left, y(k.y)}, point{right, y(k.y)}, k.stroke)
	}
	for _, k := range c.lines {
		s.polyline(at(k.pts), k.key.stroke)
	}
	for _, k := range c.dots {
		for _, p := range at(k.pts) {
			dot(s, p, dotSize*em, k.key.stroke.ink)
		}
	}
	s.polyline([]point{{left, top}, {left, bottom}, {right, bottom}}, stroke{ink: inkMuted, width: 0.5})
	c.names(s, l, x, y, left, right, top, bottom)
	s.text(point{0, top - 0.6*em}, c.yUnit, em, inkMuted, anchorStart)
	s.text(point{(left + right) / 2, bottom + 2.5*em}, c.xName+", "+c.xUnit, em, inkMuted, anchorMiddle)
	return bottom + 2.9*em
}

// names sets what stands beside lines and spots.
func (c *xyChart) names(s surface, l layout, x, y func(float64) float64, left, right, top, bottom float64) {
	em := l.size
	used := []float64{}
	for _, k := range c.levels {
		at := y(k.y) - 0.4*em
		if at-0.8*em < top { // at the upper edge: below it
			at = y(k.y) + 1.1*em
		}
		for slices.ContainsFunc(used, func(u float64) bool { return math.Abs(u-at) < 1.1*em }) {
			at += 1.2 * em
		}
		used = append(used, at)
		s.text(point{right - 0.3*em, at}, k.name, em, inkText, anchorEnd)
	}
	for i, k := range c.uprights {
		up := top - 1.5*em*float64(len(c.uprights)-i) + 0.9*em
		s.line(point{x(k.x), up + 0.3*em}, point{x(k.x), bottom}, k.stroke)
		a := anchorStart
		if x(k.x)+s.textWidth(k.name, em) > right {
			a = anchorEnd
		}
		s.text(point{x(k.x), up}, k.name, em, inkText, a)
	}
	for _, k := range c.spots {
		p := point{x(k.at.x), y(k.at.y)}
		if k.low < k.top {
			s.line(point{p.x, y(k.low)}, point{p.x, y(k.top)}, stroke{ink: k.key.stroke.ink, width: 1.1})
			for _, e := range []float64{k.low, k.top} {
				s.line(point{p.x - 0.4*em, y(e)}, point{p.x + 0.4*em, y(e)}, stroke{ink: k.key.stroke.ink, width: 1.1})
			}
		}
		diamond(s, p, 0.45*em, k.key.stroke.ink)
	}
}
