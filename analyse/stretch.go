package analyse

import (
	"errors"
	"math"
	"time"

	"tundish/analyse/episode"
	"tundish/decode"
)

// Bounds are the first and the last day that a [Stretch] tells of, the latter left out; zero: as the record goes.
type Bounds struct{ From, To time.Time }

// Stretch analyses some days of a record, one after the other, each by a pass of its own that begins cold some hours
// before the day ([episode.Piece]). What it says of a day depends on the records of that day and of those hours alone,
// so that several stretches of one record can be worked on at the same time: the parts are the same. It belongs to one
// goroutine.
type Stretch struct {
	cfg    Config
	facts  episode.Config
	bounds Bounds
	next   episode.Piece // the day that is not begun yet; zero before the first record
	days   []*dayPass    // under way: they overlap
	fed    []*dayPass    // those to which the last record belongs
	parts  []*Part
	turns  int64     // Unix seconds: when a day next begins or ends
	stands *Standing // what contacts say between their words; nil without any
	last   time.Time // of all records
}

// Part is what is kept of a day, or of some days without any record. Nobody but [Combine] reads it; fields are
// exported so that it can be kept in a file.
type Part struct {
	Facts       *episode.Part
	Series      []seriesPart
	First, Last time.Time // of the records of the day, zero without any
}

// dayPass is the pass over one day.
type dayPass struct {
	piece                  episode.Piece
	facts                  *episode.Builder
	begins, from, to, ends int64 // Unix seconds: what it looks at, and the day
	sources                []*sourceStats
	order                  []*seriesStats
	first, last            time.Time
}

// sourceStats are the series of one source, by point.
type sourceStats struct {
	name   string
	points [64]*seriesStats
}

// NewStretch begins with the first day of the bounds. before is what contacts had said by the time at which that day's
// pass begins; nil: nothing.
func NewStretch(cfg Config, bounds Bounds, before *Standing) *Stretch {
	s := &Stretch{cfg: cfg, facts: cfg.facts(), bounds: bounds}
	switch {
	case before != nil:
		s.stands = before.from(s.contact)
	case len(cfg.Contacts) > 0:
		s.stands = NewStanding(&cfg, s.contact)
	}
	if !bounds.From.IsZero() {
		s.next = s.facts.Day(bounds.From)
		return s
	}
	var from time.Time
	for _, r := range cfg.Runs {
		if from.IsZero() || r.From.Before(from) {
			from = r.From
		}
	}
	if !from.IsZero() {
		s.next = s.facts.Day(from)
	}
	return s
}

// Record tells of a record, before its readings.
func (s *Stretch) Record(source string, run uint32, t time.Time, note string) {
	if s.stands != nil {
		s.stands.Record(source, run, t, note)
	}
	now := t.Unix() // borders are whole seconds
	if now >= s.turns || len(s.days) == 0 {
		s.turn(t)
	}
	if t.After(s.last) {
		s.last = t
	}
	s.fed = s.fed[:0]
	for _, d := range s.days {
		if now < d.begins || now >= d.ends {
			continue
		}
		s.fed = append(s.fed, d)
		d.facts.Record(source, run, t, note)
		if now >= d.from && now < d.to {
			if d.first.IsZero() || t.Before(d.first) {
				d.first = t
			}
			if t.After(d.last) {
				d.last = t
			}
		}
	}
}

// turn ends the days that are over at t and begins those of which t is part.
func (s *Stretch) turn(t time.Time) {
	if s.next.From.IsZero() {
		s.next = s.facts.Day(t)
	}
	for len(s.days) > 0 && !t.Before(s.days[0].piece.Ends()) {
		s.end(s.days[0], s.days[0].piece.Ends())
		s.days[0] = nil // what it worked with is large, and not needed any more
		s.days = s.days[1:]
	}
	s.empty(t)
	for s.more() && !t.Before(s.next.Begins()) {
		s.days = append(s.days, s.begin(s.next))
		s.next = s.next.Next(s.facts.Zone)
	}
	s.turns = s.next.Begins().Unix()
	if !s.more() {
		s.turns = math.MaxInt64
	}
	if len(s.days) > 0 {
		s.turns = min(s.turns, s.days[0].ends)
	}
}

// begin begins a day.
func (s *Stretch) begin(p episode.Piece) *dayPass {
	return &dayPass{piece: p, facts: episode.NewPiece(s.facts, p), begins: p.Begins().Unix(), from: p.From.Unix(), to: p.To.Unix(), ends: p.Ends().Unix()}
}

// more tells whether the next day is within the bounds.
func (s *Stretch) more() bool { return s.bounds.To.IsZero() || s.next.From.Before(s.bounds.To) }

// empty tells of the days that are over at t and in which no record came: in one part.
func (s *Stretch) empty(t time.Time) {
	none := s.next
	for s.more() && !t.Before(s.next.Ends()) {
		none.To = s.next.To
		s.next = s.next.Next(s.facts.Zone)
	}
	if s.next.From.After(none.From) {
		s.end(s.begin(none), none.Ends())
	}
}

// end files what a day gave.
func (s *Stretch) end(d *dayPass, to time.Time) {
	p := &Part{Facts: d.facts.Part(to), First: d.first, Last: d.last}
	for _, x := range d.order {
		p.Series = append(p.Series, x.part())
	}
	s.parts = append(s.parts, p)
}

// Damage tells that records of a source ("" for all) were lost to a damaged place in the capture.
func (s *Stretch) Damage(source string) {
	if s.stands != nil {
		s.stands.forget(source)
	}
	for _, d := range s.days {
		d.facts.Damage(source)
	}
}

// Refused tells what a decoder refused of the last record: a sensor that gives what is no measurement is worth
// knowing of.
func (s *Stretch) Refused(t time.Time, err error) {
	if several, ok := err.(interface{ Unwrap() []error }); ok { // one record of many values
		for _, one := range several.Unwrap() {
			s.Refused(t, one)
		}
		return
	}
	e, ok := errors.AsType[*decode.Error](err)
	if !ok || e.Series.Point == decode.NoPoint {
		return
	}
	for _, d := range s.fed {
		d.facts.Unmeasured(e, t)
	}
}

// Reading tells of a reading of the last record.
func (s *Stretch) Reading(r decode.Reading) { s.Take(&r) }

// Take is [Stretch.Reading], for where readings come by the million. What it is pointed to is not kept.
func (s *Stretch) Take(r *decode.Reading) {
	if r.Quality == decode.Unknown {
		return
	}
	if s.stands != nil && s.stands.Take(r) {
		return // it is told when it is sure
	}
	now := r.Time.UnixNano()
	at := r.Time.Unix()
	for _, d := range s.fed {
		if at >= d.from && at < d.to {
			d.stats(&r.Series).take(r, now)
		}
		d.facts.Take(r)
	}
}

// Late is [Stretch.Take] of a reading that came long after its time, when it came: of a contact, see [Standing.Late]. It
// is false where the reading is none of a contact.
func (s *Stretch) Late(r *decode.Reading, came time.Time) (mine bool) {
	return s.stands != nil && s.stands.Late(r, came)
}

// contact tells the days what a contact says; said is false where it says nothing new.
func (s *Stretch) contact(r *decode.Reading, said bool) {
	at := r.Time.Unix()
	if at >= s.turns || len(s.days) == 0 {
		s.turn(r.Time)
	}
	for _, d := range s.days {
		if at < d.begins || at >= d.ends {
			continue
		}
		if at >= d.from && at < d.to {
			if x := d.stats(&r.Series); said {
				x.take(r, r.Time.UnixNano())
			} else {
				x.stand(r)
			}
		}
		d.facts.Take(r)
	}
}

// stats finds or makes what is kept of a series.
func (d *dayPass) stats(name *decode.Series) *seriesStats {
	var src *sourceStats
	for _, s := range d.sources {
		if s.name == name.Source {
			src = s
			break
		}
	}
	if src == nil {
		src = &sourceStats{name: name.Source}
		d.sources = append(d.sources, src)
	}
	x := src.points[name.Point]
	if x == nil {
		x = &seriesStats{series: *name}
		src.points[name.Point] = x
		d.order = append(d.order, x)
	}
	return x
}

// Parts ends the stretch: what was found, by day. It must be called once.
func (s *Stretch) Parts() []*Part {
	to := s.last
	for _, r := range s.cfg.Runs {
		to = later(to, r.To)
	}
	if s.next.From.IsZero() {
		return nil
	}
	if s.stands != nil {
		until := to
		if !s.bounds.To.IsZero() {
			until = earlier(until, s.bounds.To.Add(episode.Tail))
		}
		s.stands.Until(until)
	}
	for _, d := range s.days {
		end := d.piece.Ends()
		if end.After(to) {
			end = to
		}
		s.end(d, end)
	}
	s.days, s.fed = nil, nil
	if !s.bounds.To.IsZero() {
		to = later(to, s.bounds.To)
	}
	none := s.next
	for s.more() && !to.Before(s.next.From) {
		none.To = s.next.To
		s.next = s.next.Next(s.facts.Zone)
	}
	if s.next.From.After(none.From) {
		s.end(s.begin(none), none.Ends())
	}
	return s.parts
}

func later(a, b time.Time) time.Time {
	if a.Before(b) {
		return b
	}
	return a
}
