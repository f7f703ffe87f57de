package analyse

import (
	"cmp"
	"math"
	"slices"
	"time"

	"tundish/analyse/episode"
	"tundish/decode"
)

// seriesStats is what coverage needs of one series.
type seriesStats struct {
	series      decode.Series
	cadence     episode.Cadence
	first, last time.Time
	at          int64   // last, ns since 1970
	was, step   float64 // the last value, and the smallest change between two values; 0: none yet
	n, doubtful uint64
	min, max    float64
}

// take takes a reading; at is its time, ns since 1970.
func (s *seriesStats) take(r *decode.Reading, at int64) {
	if s.first.IsZero() {
		s.first, s.min, s.max = r.Time, r.Value, r.Value
	} else if gap := time.Duration(at - s.at); gap > 0 { // the same moment told twice is no interval
		s.cadence.Add(gap)
	}
	if change := math.Abs(r.Value - s.was); s.n > 0 && change > 0 && (s.step == 0 || change < s.step) {
		s.step = change
	}
	s.was, s.at = r.Value, at
	s.n++
	if r.Quality == decode.Doubtful {
		s.doubtful++
	}
	s.last = r.Time
	s.min, s.max = min(s.min, r.Value), max(s.max, r.Value)
}

// stand takes what a contact still says: it is known then, and no reading.
func (s *seriesStats) stand(r *decode.Reading) {
	at := r.Time.UnixNano()
	if s.first.IsZero() {
		s.first, s.min, s.max = r.Time, r.Value, r.Value
	} else if gap := time.Duration(at - s.at); gap > 0 {
		s.cadence.Add(gap)
	}
	s.was, s.at, s.last = r.Value, max(at, s.at), r.Time
}

// seriesPart is what is kept of a series over a day.
type seriesPart struct {
	Series      decode.Series
	Cadence     []episode.CadenceBin
	First, Last time.Time
	Step        float64
	N, Doubtful uint64
	Min, Max    float64
}

func (s *seriesStats) part() seriesPart {
	return seriesPart{s.series, s.cadence.Bins(), s.first, s.last, s.step, s.n, s.doubtful, s.min, s.max}
}

// add goes on with the next day.
func (s *seriesStats) add(p *seriesPart) {
	if s.first.IsZero() {
		s.series, s.first, s.min, s.max = p.Series, p.First, p.Min, p.Max
	} else if gap := p.First.Sub(s.last); gap > 0 {
		s.cadence.Count(gap)
	}
	for _, x := range p.Cadence {
		s.cadence.AddBin(x)
	}
	if p.Step > 0 && (s.step == 0 || p.Step < s.step) {
		s.step = p.Step
	}
	s.n, s.doubtful = s.n+p.N, s.doubtful+p.Doubtful
	s.last, s.min, s.max = p.Last, min(s.min, p.Min), max(s.max, p.Max)
}

// standsFor is the number of usual intervals for which a reading covers the record.
const standsFor = 3

// coverage of every series, in order of name.
func coverage(cfg *Config, parts []*Part, from, to time.Time) []Coverage {
	all := map[decode.Series]*seriesStats{}
	for _, p := range parts {
		for i := range p.Series {
			x := &p.Series[i]
			if all[x.Series] == nil {
				all[x.Series] = &seriesStats{}
			}
			all[x.Series].add(x)
		}
	}
	out := make([]Coverage, 0, len(all))
	total := to.Sub(from)
	for name, s := range all {
		c := Coverage{Series: name, Readings: s.n, Doubtful: s.doubtful, Interval: s.cadence.Median(), Step: s.step, Min: s.min, Max: s.max}
		stands := standsFor * c.Interval
		c.OnChange = slices.ContainsFunc(cfg.Contacts, func(x Contact) bool { return x.Series == name })
		if total > 0 {
			covered := s.cadence.Covered(stands) + min(stands, to.Sub(s.last))
			c.Share = min(1, float64(covered)/float64(total))
		} else {
			c.Share = 1
		}
		out = append(out, c)
	}
	slices.SortFunc(out, func(x, y Coverage) int { return cmp.Compare(x.Series.String(), y.Series.String()) })
	return out
}
