package pressure

import (
	"fmt"
	"math"
	"strings"
)

// daySlope is one day's slope of pressure on temperature, within its stretches between steps.
type daySlope struct {
	day                  int
	slope, error, ranged float64 // bar/K, ± at 95 %, K
	xx, xy               float64
	water, bar           float64 // °C and bar, means
	low, high            float64 // bar
	from, to             float64
	scatter              float64 // about the line, bar, root mean square
}

// slopes gives the days with enough range. A trend over days, where it is certain, is taken out first.
func slopes(s series) []daySlope {
	drift := 0.0
	if f := fit(s.cells, s.step); f.known && math.Abs(f.perDay) > f.error {
		drift = f.perDay
	}
	var out []daySlope
	for i := 0; i < len(s.cells); {
		j := i
		for j < len(s.cells) && s.cells[j].day == s.cells[i].day {
			j++
		}
		if d, ok := slopeOf(s.cells[i:j], drift, s.step); ok {
			out = append(out, d)
		}
		i = j
	}
	return out
}

func slopeOf(cells []cell, drift, step float64) (daySlope, bool) {
	d := daySlope{day: cells[0].day, from: cells[0].t, to: cells[0].t, low: math.Inf(1)}
	var yy, w float64
	n := 0
	for i := 0; i < len(cells); {
		j := i
		var sw, sx, sy float64
		low, high := cells[i].water, cells[i].water
		for ; j < len(cells) && cells[j].epoch == cells[i].epoch; j++ {
			c := cells[j]
			sw += c.weight
			sx += c.weight * c.water
			sy += c.weight * (c.bar - drift*c.t)
			low, high = min(low, c.water), max(high, c.water)
			d.low, d.high = min(d.low, c.bar), max(d.high, c.bar)
			d.from, d.to = min(d.from, c.t), max(d.to, c.t)
		}
		for _, c := range cells[i:j] {
			x, y := c.water-sx/sw, c.bar-drift*c.t-sy/sw
			d.xx += c.weight * x * x
			d.xy += c.weight * x * y
			yy += c.weight * y * y
		}
		d.ranged = max(d.ranged, high-low)
		d.water += sx
		d.bar += sy
		w += sw
		n += j - i - 1
		i = j
	}
	if d.ranged < smallRange || n < 2 || d.xx <= 0 {
		return d, false
	}
	d.water /= w
	d.bar = d.bar/w + drift*(d.from+d.to)/2
	d.slope = d.xy / d.xx
	rest := max(0, yy-d.slope*d.xy) / w // bar², scatter about the line
	spread := d.xx / w                  // K²
	d.scatter = math.Sqrt(rest)
	d.error = 2 * math.Sqrt((rest/float64(max(1, n-1))+uniform*uniform*step*step/float64(n))/spread)
	d.error = max(d.error, step/2/d.ranged) // half a step between cold and hot says so much by itself
	return d, true
}

// weighed is all days together.
type weighed struct {
	slope, error, widest float64
	steepest             daySlope
	over                 int     // days over the limit
	told                 string  // the last days' slopes, bar/K
	scatter              float64 // about the days' lines, bar
}

func weigh(days []daySlope, flowOnly bool) weighed {
	m := weighed{steepest: days[0]}
	var xx, xy, ee, ss float64
	const most = 14
	var told []string
	for _, d := range days[max(0, len(days)-most):] {
		told = append(told, fmt.Sprintf("%.4f ± %.4f", d.slope, d.error))
	}
	m.told = strings.Join(told, ", ") + " bar/K"
	for _, d := range days {
		xx += d.xx
		xy += d.xy
		ee += d.xx * d.error * d.error
		ss += d.xx * d.scatter * d.scatter
		m.widest = max(m.widest, d.ranged)
		if d.slope > m.steepest.slope {
			m.steepest = d
		}
		if d.slope >= swingLimit {
			m.over++
		}
	}
	m.slope = xy / xx
	m.error = math.Sqrt(ee / xx / float64(len(days)))
	m.scatter = math.Sqrt(ss / xx)
	m.error = math.Hypot(m.error, sensorShare*m.slope)
	if flowOnly {
		m.error = math.Hypot(m.error, flowAlone*m.slope)
	}
	return m
}
