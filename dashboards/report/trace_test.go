package report

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

var noon = time.Date(2026, 1, 12, 12, 0, 0, 0, time.UTC)

func flowTrace(interval, span time.Duration) *trace {
	c := analyse.Coverage{Series: decode.Series{Source: "probes", Point: decode.Flow}, Interval: interval}
	return newTrace(c, "flow", flowStroke, noon, noon.Add(span))
}

// drawSamples makes readings at distinct times in order, with gaps of any length.
func drawSamples(t *rapid.T, span time.Duration) []sample {
	n := rapid.IntRange(1, 400).Draw(t, "n")
	at := noon
	var out []sample
	for range n {
		at = at.Add(time.Duration(rapid.Int64Range(1, 900).Draw(t, "step")) * time.Second)
		if at.After(noon.Add(span)) {
			break
		}
		out = append(out, sample{at, rapid.Float64Range(-55, 150).Draw(t, "value")})
	}
	return out
}

func TestBinLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		span := time.Duration(rapid.Int64Range(1, 400).Draw(t, "hours")) * time.Hour
		samples := drawSamples(t, span)
		ordered, shuffled := flowTrace(time.Second, span), flowTrace(time.Second, span)
		for _, s := range samples {
			ordered.add(s.at, s.value)
		}
		for _, s := range rapid.Permutation(samples).Draw(t, "order") {
			shuffled.add(s.at, s.value)
		}
		var n uint64
		for i, b := range ordered.bins {
			n += b.n
			if b.n == 0 {
				continue
			}
			if !(b.min <= b.mean && b.mean <= b.max) {
				t.Fatalf("bin %d: min %v mean %v max %v", i, b.min, b.mean, b.max)
			}
			o := shuffled.bins[i]
			if o.n != b.n || o.min != b.min || o.max != b.max || o.first != b.first || o.last != b.last {
				t.Fatalf("bin %d depends on the order: %+v, %+v", i, b, o)
			}
			if math.Abs(o.mean-b.mean) > 1e-9*150*float64(b.n) { // rounding of one step of the running mean, times n
				t.Fatalf("bin %d: mean %v, in another order %v", i, b.mean, o.mean)
			}
		}
		if n != uint64(len(samples)) {
			t.Fatalf("%d of %d readings in bins", n, len(samples))
		}
	})
}

// TestNoBridge: whatever the readings, no run goes across a stretch without readings longer than the limit, unless
// that stretch lies inside one column, where it cannot be seen.
func TestNoBridge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		span := time.Duration(rapid.Int64Range(1, 160).Draw(t, "hours")) * time.Hour
		tr := flowTrace(time.Duration(rapid.Int64Range(1, 120).Draw(t, "interval"))*time.Second, span)
		samples := drawSamples(t, span)
		for _, s := range samples {
			tr.add(s.at, s.value)
		}
		runs := tr.runs()
		for i := 1; i < len(samples); i++ {
			a, b := samples[i-1].at, samples[i].at
			if b.Sub(a) <= tr.limit {
				continue
			}
			for _, run := range runs {
				for k := 1; k < len(run); k++ {
					if !run[k-1].last.at.After(a) && !run[k].first.at.Before(b) {
						t.Fatalf("a run bridges %v to %v, limit %v", a, b, tr.limit)
					}
				}
			}
		}
	})
}

func TestGapLimit(t *testing.T) {
	for _, c := range []struct{ interval, want time.Duration }{
		{time.Second, time.Minute}, {20 * time.Second, time.Minute}, {30 * time.Second, 90 * time.Second}, {0, time.Minute},
	} {
		if got := gapLimit(c.interval); got != c.want {
			t.Errorf("interval %v: limit %v, want %v", c.interval, got, c.want)
		}
	}
}

func TestTraceOutsideWindow(t *testing.T) {
	tr := flowTrace(time.Second, time.Hour)
	tr.add(noon.Add(-time.Second), 50)
	tr.add(noon.Add(time.Hour+time.Second), 50)
	if _, _, ok := tr.bounds(); ok {
		t.Error("readings outside the window were taken in")
	}
	tr.add(noon, 40)
	tr.add(noon.Add(time.Hour), 60)
	if lo, hi, _ := tr.bounds(); lo != 40 || hi != 60 {
		t.Errorf("both ends belong to the window: %v…%v", lo, hi)
	}
}

// TestYearIsSmall: a year takes no more bins than a day.
func TestYearIsSmall(t *testing.T) {
	for _, span := range []time.Duration{time.Hour, 7 * dayLength, 8 * dayLength, 365 * dayLength, 3000 * dayLength} {
		tr := flowTrace(time.Second, span)
		if n := len(tr.bins); n < 1 || n > traceBins {
			t.Errorf("%v: %d bins", span, n)
		}
		tr.add(noon.Add(span), 1)
		if tr.bins[len(tr.bins)-1].n != 1 {
			t.Errorf("%v: the last moment is not in the last bin", span)
		}
	}
}

func TestDutyShares(t *testing.T) {
	h := func(n float64) time.Time { return noon.Add(time.Duration(n * float64(time.Hour))) }
	spans := []episode.Span{{From: h(-1), To: h(0.5)}, {From: h(1.75), To: h(2.25)}}
	got := dutyShares(spans, h(0), h(2.5), time.Hour)
	want := []float64{0.5, 0.25, 0.5} // the last column is half an hour long
	if len(got) != len(want) {
		t.Fatalf("%d columns, want %d", len(got), len(want))
	}
	for i := range want {
		if math.Abs(got[i]-want[i]) > 1e-12 {
			t.Errorf("column %d: %v, want %v", i, got[i], want[i])
		}
	}
}

func TestHatchLinesInside(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := rapid.Float64Range(0, 400).Draw(t, "x"), rapid.Float64Range(0, 400).Draw(t, "y")
		w, h := rapid.Float64Range(0, 300).Draw(t, "w"), rapid.Float64Range(0, 300).Draw(t, "h")
		for _, l := range hatchLines(x, y, w, h) {
			for _, p := range l {
				if p.x < x-1e-9 || p.x > x+w+1e-9 || p.y < y-1e-9 || p.y > y+h+1e-9 {
					t.Fatalf("%v lies outside %v %v %v %v", p, x, y, w, h)
				}
			}
		}
	})
}
