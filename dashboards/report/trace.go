package report

import (
	"time"

	"tundish/analyse"
	"tundish/decode"
)

// minimumGap is the shortest stretch without readings at which a line is broken, however fast the series is: a bus
// that misses a few polls has not gone silent. Own proposal.
const minimumGap = time.Minute

// gapIntervals is how many usual intervals without a reading break a line; the same rule as for coverage.
const gapIntervals = 3

// traceBins is how many columns a chart has. At the widths drawn a column is under a point, finer than the eye.
const traceBins = 600

// bandColumn is the time that one column of a long chart stands for: a whole day, so that the days' swing does not
// hide the trend; in a record of a week or two a part of one.
func bandColumn(span time.Duration) time.Duration {
	const trend = 14 * dayLength
	if span <= trend {
		return 4 * time.Hour
	}
	days := span / dayLength
	return (1 + days/traceBins) * dayLength
}

// bin is what one column of a chart knows of one series. The zero bin holds nothing.
type bin struct {
	n           uint64
	min, max    float64
	mean        float64
	first, last sample
}

type sample struct {
	at    time.Time
	value float64
}

// add takes a reading in; the order of readings does not matter, but for rounding in the mean.
func (b *bin) add(s sample) {
	if b.n == 0 {
		*b = bin{1, s.value, s.value, s.value, s, s}
		return
	}
	b.n++
	b.min, b.max = min(b.min, s.value), max(b.max, s.value)
	b.mean += (s.value - b.mean) / float64(b.n)
	b.mean = min(max(b.mean, b.min), b.max) // rounding must not push it out
	if s.at.Before(b.first.at) {
		b.first = s
	}
	if !s.at.Before(b.last.at) {
		b.last = s
	}
}

// columns is how many columns a long chart of this length has.
func columns(span time.Duration) int {
	c := bandColumn(span)
	return max(1, int((span+c-1)/c))
}

// middle is halfway between the first and the last reading.
func (b bin) middle() time.Time { return b.first.at.Add(b.last.at.Sub(b.first.at) / 2) }

// trace is one series over one window, binned in one pass with memory that does not grow with the record.
type trace struct {
	series   decode.Series
	label    string
	stroke   stroke
	from, to time.Time
	limit    time.Duration // no reading for longer than this is a gap
	bins     []bin
}

func newTrace(c analyse.Coverage, label string, st stroke, from, to time.Time) *trace {
	n := traceBins
	if to.Sub(from) > linesUpTo {
		n = columns(to.Sub(from))
	}
	limit := gapLimit(c.Interval)
	if c.OnChange && c.Share > 0 { // it says nothing as long as nothing changes
		limit = to.Sub(from)
	}
	return &trace{series: c.Series, label: label, stroke: st, from: from, to: to,
		limit: limit, bins: make([]bin, n)}
}

// gapLimit is the longest stretch without readings that is still no gap for a series with this usual interval.
func gapLimit(interval time.Duration) time.Duration { return max(minimumGap, gapIntervals*interval) }

// column is the time that one bin stands for; the last bin of a long chart may be cut short.
func (t *trace) column() time.Duration {
	if span := t.to.Sub(t.from); span > linesUpTo {
		return bandColumn(span)
	}
	return max(1, t.to.Sub(t.from)/time.Duration(len(t.bins)))
}

// add takes in a reading of the series; one outside the window is passed over.
func (t *trace) add(at time.Time, v float64) {
	if at.Before(t.from) || at.After(t.to) || !t.to.After(t.from) {
		return
	}
	i := min(int(float64(at.Sub(t.from))/float64(t.column())), len(t.bins)-1)
	t.bins[i].add(sample{at, v})
}

// runs gives the bins with readings, cut wherever two neighbours are further apart than the limit. Nothing is drawn
// between two runs.
func (t *trace) runs() [][]bin {
	var out [][]bin
	var run []bin
	for _, b := range t.bins {
		if b.n == 0 {
			continue
		}
		if len(run) > 0 && b.first.at.Sub(run[len(run)-1].last.at) > t.limit {
			out = append(out, run)
			run = nil
		}
		run = append(run, b)
	}
	if len(run) > 0 {
		out = append(out, run)
	}
	return out
}

// bounds is the least and the greatest value in the window; ok is false without readings.
func (t *trace) bounds() (lo, hi float64, ok bool) {
	for _, b := range t.bins {
		switch {
		case b.n == 0:
		case !ok:
			lo, hi, ok = b.min, b.max, true
		default:
			lo, hi = min(lo, b.min), max(hi, b.max)
		}
	}
	return lo, hi, ok
}

// endValue is where the drawn line ends: the latest reading, or the mean of the latest column.
func (t *trace) endValue(mean bool) (v float64, ok bool) {
	for i := len(t.bins) - 1; i >= 0; i-- {
		switch b := t.bins[i]; {
		case b.n == 0:
		case mean:
			return b.mean, true
		default:
			return b.last.value, true
		}
	}
	return 0, false
}
