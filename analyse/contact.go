package analyse

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tundish/analyse/episode"
	"tundish/decode"
)

// Contact is a 0/1 series that is told when it changes: what it said last stands until its source is lost.
type Contact struct {
	Series decode.Series
	// Beat is the longest time after which it says the same again though nothing changed; 0: not known, or never.
	Beat time.Duration
}

const (
	// bounce is how long a change must stand to be one: contacts chatter for some milliseconds when they close (common
	// practice, no source), worn ones and loose wires for longer. Own proposal: shorter than any flame or call.
	bounce = 500 * time.Millisecond
	// bounceMost is the longest chatter that is one change. Own proposal: what goes on for longer is told as it comes.
	bounceMost = 10 * time.Second
	// standsEvery is how often it is told what a contact still says. Own proposal: half of the shortest flame that counts
	// as a firing.
	standsEvery = 5 * time.Second
	// beatSeen is how often a contact must have said the same in a row for that to be its heartbeat. Own proposal: a
	// message that came twice is none.
	beatSeen = 3
	// beatLeast is the shortest time for which a word stands, whatever the heartbeat: the same as of a bus.
	beatLeast = time.Minute
)

// Standing follows contacts, and tells what they say between their words. It belongs to one goroutine.
type Standing struct {
	contacts []standing
	sessions map[uint32][]int // of the runs, in order: one has several where the machine was suspended meanwhile
	spans    []episode.Span   // of the sessions
	session  int              // under way, −1 before the first record
	next     int64            // Unix seconds, when it is next told what stands; a multiple of standsEvery
	pending  int              // contacts that have changed and are not sure of it
	tell     func(r *decode.Reading, said bool)
}

// standing is one contact.
type standing struct {
	Contact
	known, on bool
	said      time.Time // when it last said anything
	sent      time.Time // when that was sent
	beat      time.Duration
	row       [beatSeen]time.Duration // how long it took it to say the same, the last few in a row
	inRow     int
	changing  bool
	change    decode.Reading // to what, and since when
	flipped   time.Time      // last
}

// NewStanding is for the contacts of a record, before its first record. tell gets what they say, in order of time as
// near as may be; said is false where a contact says nothing new.
func NewStanding(cfg *Config, tell func(r *decode.Reading, said bool)) *Standing {
	s := &Standing{session: -1, sessions: map[uint32][]int{}, tell: tell}
	for _, c := range cfg.Contacts {
		s.contacts = append(s.contacts, standing{Contact: c, beat: c.Beat})
	}
	var imports bool
	for _, r := range cfg.Runs { // as episodes have it: files that are imported together are one stretch of listening
		n := len(s.spans) - 1
		if n < 0 || r.Live || !imports {
			s.spans = append(s.spans, episode.Span{From: r.From, To: r.To})
			n++
		}
		imports = !r.Live
		s.sessions[r.ID] = append(s.sessions[r.ID], n)
		s.spans[n].From, s.spans[n].To = earlier(s.spans[n].From, r.From), later(s.spans[n].To, r.To)
	}
	return s
}

// sessionOf finds the session of a run at t.
func (s *Standing) sessionOf(run uint32, t time.Time) (found int, ok bool) {
	of := s.sessions[run]
	for i, n := range of {
		if i == 0 || !t.Before(s.spans[n].From) {
			found = n
		}
	}
	return found, len(of) > 0
}

// from is a copy that goes on from here, and tells another.
func (s *Standing) from(tell func(r *decode.Reading, said bool)) *Standing {
	c := *s
	c.contacts, c.tell = slices.Clone(s.contacts), tell
	return &c
}

// String says all that what follows depends on.
func (s *Standing) String() string {
	if s == nil {
		return ""
	}
	text := fmt.Sprintf("session %d", s.session)
	for i := range s.contacts {
		c := &s.contacts[i]
		text += fmt.Sprintf("; %s %t %t %d %s %v %d", c.Series, c.known, c.on, c.said.UnixNano(), c.beat, c.row, c.inRow)
		text += fmt.Sprintf(" sent %d", c.sent.UnixNano())
		if c.changing {
			text += fmt.Sprintf(" %v %d", c.change, c.flipped.UnixNano())
		}
	}
	return text
}

// Copy is what is known at a moment: all that lies before it has been told.
func (s *Standing) Copy(at time.Time) *Standing {
	s.Until(at)
	return s.from(nil)
}

// Record tells of a record, before its readings.
func (s *Standing) Record(source string, run uint32, t time.Time, note string) {
	if n, ok := s.sessionOf(run, t); ok && n != s.session {
		s.Until(t)
		if s.session >= 0 { // nobody looked meanwhile
			s.forget("")
		}
		s.session = n
	}
	s.Until(t)
	if strings.HasPrefix(note, episode.LostPrefix) {
		s.forget(source)
	}
}

// Damage tells that records of a source ("" for all) were lost to a damaged place in the capture.
func (s *Standing) Damage(source string) { s.forget(source) }

// forget drops what the contacts of a source say, "" for all: it is not known any more.
func (s *Standing) forget(source string) {
	for i := range s.contacts {
		if c := &s.contacts[i]; source == "" || c.Series.Source == source {
			s.drop(c)
		}
	}
}

func (s *Standing) drop(c *standing) {
	if c.changing {
		s.pending--
	}
	c.known, c.changing, c.inRow = false, false, 0
}

// Take takes a reading. It is false where the reading is none of a contact, or is not to be told now.
func (s *Standing) Take(r *decode.Reading) (mine bool) {
	for i := range s.contacts {
		if c := &s.contacts[i]; c.Series == r.Series {
			s.take(c, r)
			return true
		}
	}
	return false
}

// Late takes a contact's word that came long after its time. It has its place at that time, if somebody listened then; but
// where the contact is not known any more, or nothing was heard of it since that word, it says what the contact is when it
// comes: the latest word is what holds. One that repeats itself and has not for too long is not known by it.
func (s *Standing) Late(r *decode.Reading, came time.Time) (mine bool) {
	for i := range s.contacts {
		if c := &s.contacts[i]; c.Series == r.Series {
			if (!c.known || r.Time.After(c.sent)) && !c.silent(came.Sub(r.Time)) {
				now := *r
				now.Time = came
				s.take(c, &now)
				c.sent = r.Time
			}
			return true
		}
	}
	return false
}

func (s *Standing) take(c *standing, r *decode.Reading) {
	on, t := r.Value == 1, r.Time
	before := c.said
	c.said, c.sent = t, t
	switch {
	case c.known && !c.changing && on == c.on && t.Equal(before): // a word that came twice is no sign of life
	case !c.known:
		c.known, c.on = true, on
		s.say(r)
	case c.changing:
		c.change.Value, c.flipped = r.Value, t
		if t.Sub(c.change.Time) > bounceMost {
			s.settle(c)
		}
	case on == c.on:
		copy(c.row[:], c.row[1:])
		c.row[beatSeen-1] = t.Sub(before)
		if c.inRow++; c.inRow >= beatSeen && c.Beat == 0 {
			c.beat = slices.Max(c.row[:])
		}
		s.say(r)
	default:
		c.inRow = 0
		c.changing, c.change, c.flipped = true, *r, t
		s.pending++
	}
}

func (s *Standing) say(r *decode.Reading) {
	if s.tell != nil {
		said := *r // so that no other reading goes to the heap
		s.tell(&said, true)
	}
}

// settle tells a change that has stood, if there was one.
func (s *Standing) settle(c *standing) {
	c.changing = false
	s.pending--
	if on := c.change.Value == 1; on != c.on {
		c.on = on
		s.say(&c.change)
	}
}

// Until goes on to a moment.
func (s *Standing) Until(t time.Time) {
	if s.pending == 0 && t.Unix() < s.next || len(s.contacts) == 0 {
		return
	}
	if s.session >= 0 {
		t = earlier(t, s.spans[s.session].To)
	}
	const step = int64(standsEvery / time.Second)
	last := t.Unix()
	if t.Nanosecond() == 0 {
		last-- // what comes at t may say something else
	}
	if s.next == 0 || s.tell == nil || !s.any() {
		s.next = max(s.next, (last/step)*step)
	}
	for ; s.next <= last; s.next += step {
		at := time.Unix(s.next, 0).UTC()
		s.sure(at)
		for i := range s.contacts {
			c := &s.contacts[i]
			if c.known && c.silent(at.Sub(c.said)) {
				s.drop(c)
			}
			if c.known && !c.changing && s.tell != nil {
				v := 0.0
				if c.on {
					v = 1
				}
				s.tell(&decode.Reading{Time: at, Series: c.Series, Value: v, Quality: decode.Good}, false)
			}
		}
	}
	s.sure(t)
}

// any tells whether any contact says something.
func (s *Standing) any() bool {
	return slices.ContainsFunc(s.contacts, func(c standing) bool { return c.known })
}

// silent tells whether a contact that has said nothing for a time has missed its heartbeat for too long.
func (c *standing) silent(d time.Duration) bool {
	return c.beat > 0 && d > max(beatLeast, standsFor*c.beat)
}

// sure settles the changes that have stood for long enough by t.
func (s *Standing) sure(t time.Time) {
	for i := range s.contacts {
		if c := &s.contacts[i]; c.changing && t.Sub(c.flipped) >= bounce {
			s.settle(c)
		}
	}
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}
