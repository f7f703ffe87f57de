package report

import "slices"

// trace draws one series, run by run.
func (f *frame) trace(t *trace, y func(float64) float64) {
	for _, run := range t.runs() {
		pts := f.linePoints(run, y)
		if f.p.envelope {
			pts = f.meanPoints(run, y)
		}
		if len(pts) == 1 { // a single reading is a dot, not nothing
			pts = append(pts, point{pts[0].x + 0.8, pts[0].y})
		}
		f.s.polyline(pts, t.stroke)
	}
}

// linePoints goes through first, least, greatest and last value of each column, so that no peak is lost.
func (f *frame) linePoints(run []bin, y func(float64) float64) []point {
	var pts []point
	put := func(p point) {
		if n := len(pts); n > 0 && pts[n-1] == p {
			return
		}
		pts = append(pts, p)
	}
	for _, b := range run {
		x0, x1 := f.x(b.first.at), f.x(b.last.at)
		put(point{x0, y(b.first.value)})
		if b.n > 2 && b.min != b.max {
			a, z := b.min, b.max
			if b.first.value > b.last.value {
				a, z = z, a
			}
			put(point{(x0 + x1) / 2, y(a)})
			put(point{(x0 + x1) / 2, y(z)})
		}
		if b.n > 1 {
			put(point{x1, y(b.last.value)})
		}
	}
	return pts
}

// meanPoints goes through the mean of each column.
func (f *frame) meanPoints(run []bin, y func(float64) float64) []point {
	if len(run) == 1 { // as wide as what it is the mean of
		b := run[0]
		x := f.x(b.first.at)
		return []point{{x, y(b.mean)}, {max(f.x(b.last.at), x+narrowest), y(b.mean)}}
	}
	pts := make([]point, len(run))
	for i, b := range run {
		pts[i] = point{f.x(b.middle()), y(b.mean)}
	}
	return pts
}

// bands tints the range from least to greatest of each column.
func (f *frame) bands(t *trace, y func(float64) float64) {
	for _, run := range t.runs() {
		var upper, lower []point
		for _, b := range run {
			x0, x1 := f.x(b.first.at), f.x(b.last.at)
			x1 = max(x1, x0+narrowest)
			upper = append(upper, point{x0, y(b.max)}, point{x1, y(b.max)})
			lower = append(lower, point{x0, y(b.min)}, point{x1, y(b.min)})
		}
		slices.Reverse(lower)
		f.s.area(append(upper, lower...), t.stroke.ink)
	}
}
