package cylinder

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
)

// storeDay is one day of the sensor that is judged.
type storeDay struct {
	from, to time.Time
	episode.CylinderBy
}

// store is what one sensor says of the stored water over the record.
type store struct {
	source          string
	contested       bool // another check finds that it disagrees with the other sensor, and not which is wrong
	days            []storeDay
	reheats         []episode.StoreReheat
	seen            time.Duration
	hottest, lowest float64
	fastest         float64
	off             []episode.Span // without mains
	setpoint        float64
	setpointSeen    bool
	from, to        time.Time
	site            analyse.Site // by whose clocks days begin
}

// gather takes the sensor that tells the hottest water: where several are in the store, that is the upper one. Beside it
// stands the one that tells the least hot, nil: there is none. why: the finding that says that all are wrong.
func gather(p *analyse.Pass) (best, second *store, why string) {
	by := map[string]*store{}
	var all []*store
	setpoint := episode.Maybe{}
	for i := range p.Facts.Days {
		d := &p.Facts.Days[i]
		if x := d.Cylinder.Setpoint; x.Known && (!setpoint.Known || x.Value > setpoint.Value) {
			setpoint = x
		}
		for _, c := range d.Cylinder.Sources {
			s := by[c.Source]
			if s == nil {
				s = &store{source: c.Source, lowest: 200, from: p.Facts.From, to: p.Facts.To, site: p.Site}
				by[c.Source] = s
				all = append(all, s)
			}
			s.take(d, c)
		}
	}
	if all, why = trusted(p, all); len(all) == 0 {
		return &store{}, nil, why
	}
	slices.SortFunc(all, func(a, b *store) int {
		return cmp.Or(-cmp.Compare(a.hottest, b.hottest), cmp.Compare(a.source, b.source))
	})
	for _, s := range all {
		for _, x := range p.Facts.Silences {
			if x.Source == s.source && x.Reason == episode.SilenceNoMains {
				s.off = append(s.off, x.Span)
			}
		}
		s.setpoint, s.setpointSeen = float64(setpoint.Value), setpoint.Known
	}
	if len(all) > 1 {
		second = all[len(all)-1]
	}
	return all[0], second, ""
}

// take adds a day.
func (s *store) take(d *episode.Day, c episode.CylinderBy) {
	s.days = append(s.days, storeDay{d.From, d.To, c})
	s.reheats = append(s.reheats, c.Reheats...)
	s.seen += c.Seen
	s.hottest, s.lowest = max(s.hottest, float64(c.Hottest)), min(s.lowest, float64(c.Coolest))
	s.fastest = max(s.fastest, float64(c.Fastest))
}

// still tells whether the sensor hardly moved.
func (s *store) still() bool { return s.seen >= leastSeen && s.hottest-s.lowest < standsK }

// window is a stretch of days.
type window struct {
	from, to time.Time
	hottest  float64
	at       time.Time
	seen     time.Duration
	length   time.Duration
	longest  time.Duration // unseen
	days     int
	whole    bool // the whole record
}

func (w window) words() string {
	if w.whole {
		return fmt.Sprintf("%s (the whole record)", analyse.Span(w.length))
	}
	return fmt.Sprintf("%d days", w.days)
}

// over makes the window of some days, cut to the record. Days without a reading are unseen. A stretch in which the
// appliance had no mains hides no reheat by it, and what else heated the store then would still be in it afterwards.
func (s *store) over(days []storeDay, from, to time.Time) window {
	w := window{from: from, to: to, length: to.Sub(from), days: everyDays}
	var unseen []episode.Span
	last := from
	for _, d := range days {
		if d.from.After(last) {
			unseen = append(unseen, episode.Span{From: last, To: d.from})
		}
		last = d.to
		unseen = append(unseen, d.Unseen...)
		w.seen += d.Seen
		if float64(d.Hottest) > w.hottest {
			w.hottest, w.at = float64(d.Hottest), d.At
		}
	}
	if to.After(last) {
		unseen = append(unseen, episode.Span{From: last, To: to})
	}
	run := time.Duration(0)
	for i, u := range unseen {
		if i > 0 && !unseen[i-1].To.Equal(u.From) { // one that goes on over midnight is one
			run = 0
		}
		d := u.Overlap(episode.Span{From: from, To: to})
		for _, off := range s.off {
			o := off.Overlap(u)
			d -= min(d, o)
			w.seen += o
		}
		run += d
		w.longest = max(w.longest, run)
	}
	w.seen = min(w.seen, w.length)
	return w
}

// coolest is the seven days, or the record where it is shorter, whose hottest water is the least hot. Of equal ones the one
// that was seen best.
func (s *store) coolest() window {
	whole := s.over(s.days, s.from, s.to)
	whole.whole = true
	const week = everyDays * 24 * time.Hour
	best := whole
	for i := range s.days {
		from := later(s.days[i].from, s.from)
		to := s.site.DaysAfter(s.days[i].from, everyDays)
		if s.days[i].from.Before(s.from) || to.After(s.to.Add(2*time.Hour)) || whole.length <= week {
			continue
		}
		j := i
		for j < len(s.days) && s.days[j].from.Before(to.Add(-2*time.Hour)) {
			j++
		}
		w := s.over(s.days[i:j], from, earlier(to, s.to))
		if w.longest > mayHide || w.seen.Seconds() < seenShare*w.length.Seconds() {
			continue
		}
		if w.hottest < best.hottest || best.whole && w.hottest == best.hottest {
			best = w
		}
	}
	return best
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

// median of the values, the lower one of the two in the middle; 0 for none.
func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	v = slices.Clone(v)
	slices.Sort(v)
	return v[(len(v)-1)/2]
}
