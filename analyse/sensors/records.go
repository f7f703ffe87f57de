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

// record is what one sensor did over the whole record.
type record struct {
	decode.Series
	n         int
	low, high float64
	step      float64 // smallest change; 0: none
	jumps     events
	powerOn   events
	excused   int
	rail      events
	railFor   time.Duration
	beyond    events
	beyondFor time.Duration
	blank     events
	blankFor  time.Duration
	spikes    events
	holds     []episode.SensorHold
}

// events of one sort, over days.
type events struct {
	n      int
	most   float64
	spell  int // the most within [spell]
	days   []dayCount
	first  []episode.SensorEvent
	last   time.Time
	up, dn int
}

type dayCount struct {
	at time.Time
	n  int
}

func (e *events) add(day time.Time, x episode.SensorEvents) {
	if x.N == 0 {
		return
	}
	e.n += x.N
	e.last = x.Last
	if math.Abs(x.Most) > math.Abs(e.most) {
		e.most = x.Most
	}
	e.days = append(e.days, dayCount{day, x.N})
	e.first = append(e.first, x.First...)
	for _, f := range x.First {
		if f.Value > f.Before {
			e.up++
		} else {
			e.dn++
		}
	}
	sum := 0
	for _, d := range e.days {
		if day.Sub(d.at) < spell {
			sum += d.n
		}
	}
	e.spell = max(e.spell, sum)
}

// records joins the days of each sensor, in order of name.
func records(p *analyse.Pass) []*record {
	var out []*record
	by := map[decode.Series]*record{}
	for _, d := range p.Facts.Days {
		for _, s := range d.Sensors {
			r := by[s.Series]
			if r == nil {
				r = &record{Series: s.Series, low: math.Inf(1), high: math.Inf(-1)}
				by[s.Series] = r
				out = append(out, r)
			}
			if s.N > 0 {
				r.low, r.high = min(r.low, s.Low), max(r.high, s.High)
			}
			r.n += s.N
			if s.Step > 0 && (r.step == 0 || s.Step < r.step) {
				r.step = s.Step
			}
			r.excused += s.Excused
			r.jumps.add(d.From, s.Jumps)
			r.powerOn.add(d.From, s.PowerOn)
			r.rail.add(d.From, s.Rail)
			r.railFor += s.Rail.For
			r.beyond.add(d.From, s.Beyond)
			r.beyondFor += s.Beyond.For
			r.blank.add(d.From, s.Blank)
			r.blankFor += s.Blank.For
			r.spikes.add(d.From, s.Spikes)
			r.hold(s.Hold)
		}
	}
	slices.SortFunc(out, func(a, b *record) int {
		return cmp.Or(cmp.Compare(a.Source, b.Source), cmp.Compare(a.Point, b.Point))
	})
	return out
}
