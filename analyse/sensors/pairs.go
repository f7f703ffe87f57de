package sensors

import (
	"cmp"
	"math"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

// pair is two sensors of the same water over the whole record.
type pair struct {
	point decode.Point
	a, b  string // sources; differences are a − b
	both  time.Duration
	hours []hour
	rest  []episode.PairHour
	limit float64 // errors of both, and half a step, K
}

// hour is one hour of settled water at load.
type hour struct {
	episode.PairHour
	allowed float64 // K
	over    bool
}

func (p *pair) first() decode.Series  { return decode.Series{Source: p.a, Point: p.point} }
func (p *pair) second() decode.Series { return decode.Series{Source: p.b, Point: p.point} }

// pairs joins the days of each two sensors, flow before return, by name.
func pairs(p *analyse.Pass) []*pair {
	var out []*pair
	steps := stepsOf(p)
	room := roomOf(p)
	for _, d := range p.Facts.Days {
		for _, x := range d.Pairs {
			i := slices.IndexFunc(out, func(o *pair) bool { return o.point == x.Point && o.a == x.A && o.b == x.B })
			if i < 0 {
				n := &pair{point: x.Point, a: x.A, b: x.B}
				n.limit = float64(p.SensorOf(n.first()).Error+p.SensorOf(n.second()).Error) + (steps[n.first()]+steps[n.second()])/2
				i, out = len(out), append(out, n)
			}
			o := out[i]
			o.both += x.Both
			for _, h := range x.Hours {
				level := math.Max(float64(h.A), float64(h.B))
				allowed := max(leastApart, o.limit+contactAllowed*max(0, level-room))
				if k := placeAllowed(x.Point); k > 0 {
					allowed = o.limit + k
				}
				o.hours = append(o.hours, hour{h, allowed, math.Abs(float64(h.Diff)) > allowed})
			}
			if x.Rest.For > 0 {
				o.rest = append(o.rest, x.Rest)
			}
		}
	}
	slices.SortFunc(out, func(x, y *pair) int {
		return cmp.Or(cmp.Compare(x.point, y.point), cmp.Compare(x.a, y.a), cmp.Compare(x.b, y.b))
	})
	return out
}

// placeAllowed is by how much two sound sensors of a point may differ by where they are, K; 0: of pipes it goes with the
// water instead.
func placeAllowed(p decode.Point) float64 {
	switch p {
	case decode.Cylinder:
		return storeApart
	case decode.Outside:
		return airApart
	}
	return 0
}

// stepsOf are the steps in which each sensor is read, K; of a noisy one the smallest change is the step.
func stepsOf(p *analyse.Pass) map[decode.Series]float64 {
	out := map[decode.Series]float64{}
	for _, d := range p.Facts.Days {
		for _, s := range d.Sensors {
			if s.Step > 0 && (out[s.Series] == 0 || s.Step < out[s.Series]) {
				out[s.Series] = min(s.Step, largestStep)
			}
		}
	}
	return out
}

// roomOf is the mean of what room sensors read at their extremes, °C, else the usual room.
func roomOf(p *analyse.Pass) float64 {
	for _, c := range p.Coverage {
		if c.Series.Point == decode.Room && c.Readings > 0 && c.Min > 5 && c.Max < 35 {
			return (c.Min + c.Max) / 2
		}
	}
	return usualRoom
}

// over are the hours in which the pair is further apart than allowed, on the side on which it is so more often.
func (x *pair) over() (list []hour) {
	var up, down []hour
	for _, h := range x.hours {
		switch {
		case h.over && h.Diff > 0:
			up = append(up, h)
		case h.over:
			down = append(down, h)
		}
	}
	if len(up) > len(down) {
		return up
	}
	return down
}

// total is the settled time of hours.
func total(list []hour) (d time.Duration) {
	for _, h := range list {
		d += h.For
	}
	return d
}

// median of a figure over hours, by their settled time; 0 of none.
func median(list []hour, v func(hour) float64) float64 {
	if len(list) == 0 {
		return 0
	}
	sorted := slices.Clone(list)
	slices.SortStableFunc(sorted, func(x, y hour) int { return cmp.Compare(v(x), v(y)) })
	half, sum := total(sorted)/2, time.Duration(0)
	for _, h := range sorted {
		if sum += h.For; sum >= half {
			return v(h)
		}
	}
	return v(sorted[len(sorted)-1])
}

func diff(h hour) float64  { return float64(h.Diff) }
func level(h hour) float64 { return math.Max(float64(h.A), float64(h.B)) }

// resting is the pair's median difference at rest, and its level, °C; ok is false where it was never at rest, or where
// something still was warm.
func (x *pair) resting(from, to time.Time, room float64) (d, at float64, ok bool) {
	var list []hour
	for _, r := range x.rest {
		if r.At.Before(from) || r.At.After(to) || math.Min(float64(r.A), float64(r.B)) > room+restWarm {
			continue
		}
		list = append(list, hour{PairHour: r})
	}
	return median(list, diff), median(list, func(h hour) float64 { return math.Min(float64(h.A), float64(h.B)) }), len(list) > 0
}
