package report

import (
	"slices"
	"strings"
	"time"

	"tundish/analyse/episode"
)

// narrowest is the least width of a mark for something short: seen, but no wider than the ink of a line.
const narrowest = 0.6

// absent hatches gaps, and the silences of the sources given, over a height.
func (f *frame) absent(top, height float64, sources []string) {
	for _, s := range f.p.events.absent {
		if s.source != "" && !slices.Contains(sources, s.source) {
			continue
		}
		x0, x1 := f.x(s.From), f.x(s.To)
		f.s.hatch(x0, top, max(x1-x0, narrowest), height, inkAbsent)
	}
}

// lockouts marks the onset of each with a line through the panel, its length with a bar along the top, and names
// those that have room.
func (f *frame) lockouts(top, height float64) {
	const word = "lockout"
	width := f.s.textWidth(word, f.l.size)
	free := f.left
	for _, s := range f.p.events.lockouts {
		x0, x1 := f.x(s.From), f.x(s.To)
		f.s.line(point{x0, top - f.em(0.3)}, point{x0, top + height}, stroke{inkFault, 1, []float64{4, 2}})
		f.s.rect(x0, top-f.em(0.3), max(x1-x0, 1.5), f.em(0.3), inkFault)
		if at := min(x0, f.right-width); at >= free {
			f.s.text(point{at, top - f.em(0.5)}, word, f.l.size, inkFault, anchorStart)
			free = at + width + f.em(0.6)
		}
	}
}

// strips draws one row each for demand, heating firings and hot-water firings, where there are any.
func (f *frame) strips() {
	if !f.p.events.known {
		return
	}
	if f.p.events.asked {
		f.strip("demand", f.p.events.demands, inkDemand, 0.45)
	}
	if f.p.events.firings {
		f.strip("firing", f.p.events.heating, inkFiring, 1)
	}
	if len(f.p.events.hotWater) > 0 {
		f.strip("hot water", f.p.events.hotWater, inkFiring, 1)
	}
}

// strip draws a row of bars; in a long record the bars' height is the share of time, because a bar for each firing
// would blacken the row.
func (f *frame) strip(name string, spans []episode.Span, i ink, thick float64) {
	h := f.em(stripHeight)
	if f.p.envelope {
		h *= 2.2
	}
	f.s.text(point{f.left - f.em(0.5), f.y + h*0.82}, name, f.l.size, inkMuted, anchorEnd)
	f.s.line(point{f.left, f.y + h}, point{f.right, f.y + h}, stroke{ink: inkGrid, width: 0.5})
	if f.p.envelope {
		f.duty(spans, i, h)
	} else {
		for _, s := range spans {
			x0, x1 := f.x(s.From), f.x(s.To)
			f.s.rect(x0, f.y+h*(1-thick), max(x1-x0, narrowest), h*thick, i)
		}
	}
	f.absent(f.y, h, f.p.flameSources)
	f.y += h + f.em(stripGap)
}

// duty draws the shares; full height is all of the time, so that a little looks like little. The greatest stands
// beside the row in figures.
func (f *frame) duty(spans []episode.Span, i ink, h float64) {
	column := bandColumn(f.p.to.Sub(f.p.from))
	shares := dutyShares(spans, f.p.from, f.p.to, column)
	if len(shares) == 0 || slices.Max(shares) == 0 {
		return
	}
	f.s.text(point{f.right + f.em(0.6), f.y + h}, "max "+shareText(slices.Max(shares)), f.l.size, inkMuted, anchorStart)
	for k, share := range shares {
		x0, x1 := f.x(f.p.from.Add(time.Duration(k)*column)), f.x(f.p.from.Add(time.Duration(k+1)*column))
		if share > 0 {
			bar := max(h*share, 0.3)
			f.s.rect(x0+(x1-x0)*0.1, f.y+h-bar, (x1-x0)*0.8, bar, i)
		}
	}
}

// dutyWords names the greatest shares.
func (p *plot) dutyWords() string {
	var parts []string
	for _, row := range []struct {
		name  string
		spans []episode.Span
	}{{"heat asked for", p.events.demands}, {"heating", p.events.heating}, {"hot water", p.events.hotWater}} {
		shares := dutyShares(row.spans, p.from, p.to, bandColumn(p.to.Sub(p.from)))
		if len(shares) > 0 && slices.Max(shares) > 0 {
			parts = append(parts, row.name+" "+shareText(slices.Max(shares)))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return "Greatest share of the time: " + strings.Join(parts, ", ") + "."
}

// dutyShares gives, for each column of a window, the share of its time that the spans cover (0…1). A last column
// that the window cuts short counts only what lies in the window.
func dutyShares(spans []episode.Span, from, to time.Time, column time.Duration) []float64 {
	if !to.After(from) || column <= 0 {
		return nil
	}
	out := make([]float64, (to.Sub(from)+column-1)/column)
	part := func(k int) episode.Span {
		p := episode.Span{From: from.Add(time.Duration(k) * column), To: from.Add(time.Duration(k+1) * column)}
		if p.To.After(to) {
			p.To = to
		}
		return p
	}
	for _, s := range spans {
		first, last := int(s.From.Sub(from)/column), int(s.To.Sub(from)/column)
		for k := max(first, 0); k <= min(last, len(out)-1); k++ {
			out[k] += float64(s.Overlap(part(k))) / float64(part(k).Duration())
		}
	}
	for k := range out {
		out[k] = min(out[k], 1)
	}
	return out
}

// timeLabels writes the clock below the chart, the dates below that, and marks a change of the clocks.
func (f *frame) timeLabels(top float64, ticks []tick) {
	base := f.y
	free, daily := f.left-f.em(leftMargin), false
	for _, t := range ticks {
		x := f.x(t.at)
		f.s.line(point{x, base}, point{x, base + f.em(tickLength)}, stroke{ink: inkMuted, width: 0.6})
		daily = daily || t.label != t.at.Format("15:04")
		w := f.s.textWidth(t.label, f.l.size)
		if x-w/2 < free {
			continue
		}
		f.s.text(point{x, base + f.em(tickLength+0.95)}, t.label, f.l.size, inkMuted, anchorMiddle)
		free = x + w/2 + f.em(0.4)
	}
	f.y = base + f.em(tickLength+0.95)
	if !daily && !f.p.dayRow {
		f.dates(ticks)
	}
	for _, c := range clockChanges(f.p.from, f.p.to, f.p.zone) {
		x := f.x(c.at)
		f.s.line(point{x, top}, point{x, base}, stroke{inkMuted, 0.6, []float64{1, 2}})
		if daily || f.p.compact {
			continue
		}
		text := "clocks " + changeWords(c.by)
		f.s.text(point{min(x+f.em(0.3), f.right-f.s.textWidth(text, f.l.size)), top + f.em(0.9)}, text, f.l.size, inkMuted, anchorStart)
	}
}

// dates names the day at the left edge and at each midnight.
func (f *frame) dates(ticks []tick) {
	const form = "Mon 2 Jan"
	f.y += f.em(lineDistance)
	type mark struct {
		x    float64
		text string
	}
	marks := []mark{{f.left, f.p.from.In(f.p.zone).Format(form)}}
	for _, t := range ticks {
		if x := f.x(t.at); t.day && x > f.left {
			marks = append(marks, mark{x, t.at.Format(form)})
		}
	}
	if len(marks) > 1 && marks[1].x < f.left+f.s.textWidth(marks[0].text, f.l.size)+f.em(1) {
		marks = marks[1:] // no room before the first midnight
	}
	free := 0.0
	for _, m := range marks {
		w := f.s.textWidth(m.text, f.l.size)
		if m.x < free || m.x+w > f.l.width {
			continue
		}
		f.s.text(point{m.x, f.y}, m.text, f.l.size, inkMuted, anchorStart)
		free = m.x + w + f.em(0.6)
	}
}
