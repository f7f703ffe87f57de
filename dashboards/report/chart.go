package report

import (
	"slices"
	"time"

	"tundish/decode"
)

// layout is the size of a chart on its surface, in the surface's units.
type layout struct {
	width  float64 // whole chart, labels included
	height float64 // of the main panel alone
	size   float64 // of the text
}

// plot is one chart: what it shows and over which time. It is filled by one pass over the readings, then drawn on
// as many surfaces as wanted.
type plot struct {
	title    string
	from, to time.Time
	zone     *time.Location
	main     panel
	extra    []panel // drawn below, smaller
	events   events
	envelope bool    // too long for lines: min–max band, mean line, duty instead of single firings
	compact  bool    // half as high
	dayRow   bool    // one of several rows, its day in the title
	peers    []*plot // rows that share one value axis, this one included

	named        bool     // times name their clock, because the record holds a change of the clocks
	flameSources []string // whose silence leaves firings unknown
}

// panel is a set of traces with one value axis.
type panel struct {
	name   string // what the axis is of: "outside"; "" for the main panel
	unit   string
	traces []*trace
}

func (p *plot) heading() string { return p.title }

// fixed: the rows of days have one height.
func (p *plot) fixed() bool { return p.compact }

// Parts of a chart, in multiples of the text size.
const (
	leftMargin   = 5.2
	rightMargin  = 5.6
	extraHeight  = 4.6
	stripHeight  = 1.0
	stripGap     = 0.55
	tickLength   = 0.4
	lineDistance = 1.25
)

// frame is where a plot's parts lie while it is drawn.
type frame struct {
	p           *plot
	s           surface
	l           layout
	left, right float64 // of the plotting area
	y           float64 // the next free height
}

func (f *frame) em(k float64) float64 { return k * f.l.size }

func (f *frame) x(t time.Time) float64 {
	share := float64(t.Sub(f.p.from)) / float64(f.p.to.Sub(f.p.from))
	return f.left + (f.right-f.left)*min(max(share, 0), 1)
}

// draw puts the plot on the surface and gives the height used.
func (p *plot) draw(s surface, l layout) float64 {
	f := &frame{p: p, s: s, l: l}
	f.left, f.right = f.em(leftMargin), l.width-f.em(rightMargin)
	ticks := timeTicks(p.from, p.to, p.zone, max(2, int((f.right-f.left)/f.em(5))))
	height := l.height
	if p.compact {
		height *= 0.5
	}
	f.y = f.em(0.4)
	if len(p.events.lockouts) > 0 {
		f.y += f.em(1.2)
	}
	top := f.y
	f.panel(p.main, top, height, ticks, true)
	f.lockouts(top, height)
	f.y = top + height + f.em(stripGap)
	f.strips()
	for _, e := range p.extra {
		f.y += f.em(0.7)
		f.panel(e, f.y, f.em(extraHeight), ticks, false)
		f.y += f.em(extraHeight) + f.em(stripGap)
	}
	f.timeLabels(top, ticks)
	return f.y + f.em(0.3)
}

// panel draws one value axis with its traces.
func (f *frame) panel(p panel, top, height float64, ticks []tick, main bool) {
	_, _, any := p.bounds()
	for _, t := range ticks {
		w := 0.4
		if t.day {
			w = 0.9
		}
		x := f.x(t.at)
		f.s.line(point{x, top}, point{x, top + height}, stroke{ink: inkGrid, width: w})
	}
	if !any {
		f.absent(top, height, p.sources())
		f.s.text(point{(f.left + f.right) / 2, top + height/2 + f.em(0.35)}, "no readings in this stretch", f.l.size, inkMuted, anchorMiddle)
		f.border(top, height)
		return
	}
	lo, hi, _ := p.bounds()
	if main {
		lo, hi = f.p.sharedBounds()
	}
	steps := max(2, int(height/f.em(2.4)))
	axis := newValueAxis(lo, hi, steps)
	y := func(v float64) float64 { return top + height*(1-axis.share(v)) }
	values := axis.values()
	for i, v := range values {
		f.s.line(point{f.left, y(v)}, point{f.right, y(v)}, stroke{ink: inkGrid, width: 0.4})
		if !main && i > 0 && i < len(values)-1 { // a small panel has room for its ends only
			continue
		}
		f.s.text(point{f.left - f.em(0.5), y(v) + f.em(0.33)}, axis.label(v), f.l.size, inkMuted, anchorEnd)
	}
	f.absent(top, height, p.sources()[:1]) // where others are silent, their own lines are broken
	if f.p.envelope {
		for _, t := range p.traces {
			if t.series.Point != decode.FlowSetpoint { // three bands one over the other cannot be told apart
				f.bands(t, y)
			}
		}
	}
	for _, t := range slices.Backward(p.traces) { // the first on top
		f.trace(t, y)
	}
	f.border(top, height)
	f.unit(p, top, height, main)
	f.labels(p, y, top, height)
}

// unit names the axis at the far left, clear of the tick labels.
func (f *frame) unit(p panel, top, height float64, main bool) {
	if main {
		f.s.text(point{0, top + f.em(0.33)}, p.unit, f.l.size, inkMuted, anchorStart)
		return
	}
	f.s.text(point{0, top + height/2 + f.em(0.33)}, p.unit, f.l.size, inkMuted, anchorStart)
}

func (f *frame) border(top, height float64) {
	s := stroke{ink: inkMuted, width: 0.5}
	f.s.polyline([]point{{f.left, top}, {f.left, top + height}, {f.right, top + height}}, s)
}

// sharedBounds is the range of the main panel, over all rows where there are several.
func (p *plot) sharedBounds() (lo, hi float64) {
	all := panel{traces: p.main.traces}
	for _, q := range p.peers {
		all.traces = append(slices.Clip(all.traces), q.main.traces...)
	}
	lo, hi, _ = all.bounds()
	return lo, hi
}

func (p panel) sources() []string {
	var out []string
	for _, t := range p.traces {
		out = append(out, t.series.Source)
	}
	return out
}

func (p panel) bounds() (lo, hi float64, ok bool) {
	for _, t := range p.traces {
		l, h, any := t.bounds()
		switch {
		case !any:
		case !ok:
			lo, hi, ok = l, h, true
		default:
			lo, hi = min(lo, l), max(hi, h)
		}
	}
	return lo, hi, ok
}

// labels names each trace at its right end, moved apart where they would touch.
func (f *frame) labels(p panel, y func(float64) float64, top, height float64) {
	type name struct {
		text  string
		ink   ink
		at, y float64
	}
	var names []name
	for _, t := range p.traces {
		if v, ok := t.endValue(f.p.envelope); ok {
			at := y(v)
			names = append(names, name{t.label, t.stroke.ink, at, at})
		}
	}
	slices.SortStableFunc(names, func(a, b name) int {
		switch {
		case a.at < b.at:
			return -1
		case a.at > b.at:
			return 1
		}
		return 0
	})
	step := f.em(1.1)
	floor := top + height
	for i := len(names) - 1; i >= 0; i-- { // keep the stack inside the panel, from below
		names[i].y = min(names[i].y, floor)
		floor = names[i].y - step
	}
	ceiling := top + f.em(0.3)
	for i := range names {
		names[i].y = max(names[i].y, ceiling)
		ceiling = names[i].y + step
	}
	for _, n := range names {
		f.s.line(point{f.right + 1, n.at}, point{f.right + f.em(0.45), n.y}, stroke{ink: n.ink, width: 0.5})
		f.s.text(point{f.right + f.em(0.6), n.y + f.em(0.33)}, n.text, f.l.size, n.ink, anchorStart)
	}
}
