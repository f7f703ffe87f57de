package light

import (
	"fmt"
	"slices"
	"time"
)

// Reader reads the signs of one light. The zero Reader is ready. A sign is told when it is sure: a count when its pause
// has come, a steady light when no flash lasts so long. It belongs to one goroutine.
type Reader struct {
	seen    bool
	on      bool
	since   time.Time // of the level
	last    time.Time // reading
	sampled time.Duration
	flashes []flash    // of the group under way, each ended
	dark    []darkness // lately: between flashes and between groups
	told    Sign       // last
	when    time.Time  // it was told
	any     bool       // something was told
	before  Sign       // the count before, as long as nothing else came
	even    bool       // of the group under way it was told that it does not end
}

// flash is one flash and the dark after it, as far as it is over.
type flash struct {
	from    time.Time
	on, off time.Duration
}

// darkness is how long it was dark, and until when.
type darkness struct {
	d  time.Duration
	at time.Time
}

// Take takes a reading of the light, in order of time, and tells what is sure by then.
func (r *Reader) Take(t time.Time, on bool, tell func(Seen)) {
	switch {
	case !r.seen, t.Sub(r.last) > forgets && r.on != on:
		*r = Reader{seen: true, on: on, since: t, last: t}
		return
	case !t.After(r.last):
		return
	}
	step := t.Sub(r.last)
	r.last = t
	if on == r.on {
		r.sampled = step
		r.stand(t, tell)
		return
	}
	long := t.Sub(r.since)
	if long < shortest { // a bounce: as if the level before had gone on
		r.bounce(on)
		return
	}
	r.stand(t, tell)
	if r.on {
		if long <= longestFlash {
			r.flashes = append(r.flashes, flash{from: r.since, on: long})
		}
	} else if n := len(r.flashes); n > 0 {
		r.darkened(long, t, tell)
	}
	r.on, r.since = on, t
	r.evenly(tell)
}

// bounce goes back to the level before the last change.
func (r *Reader) bounce(on bool) {
	if n := len(r.flashes) - 1; n >= 0 && on { // it was dark for no time: the flash goes on
		r.on, r.since = true, r.flashes[n].from
		r.flashes = r.flashes[:n]
		return
	}
	r.on = on
	if n := len(r.flashes) - 1; n >= 0 && !on { // it was lit for no time: the dark goes on
		r.since = r.flashes[n].from.Add(r.flashes[n].on)
		if len(r.dark) > 0 {
			r.dark = r.dark[:len(r.dark)-1]
		}
	}
}

// stand tells of a level that has lasted longer than within any flashing.
func (r *Reader) stand(t time.Time, tell func(Seen)) {
	switch long := t.Sub(r.since); {
	case r.on && long > longestFlash:
		r.close(tell)
		r.say(t, Seen{From: r.since, Sign: Steady}, tell)
	case !r.on && long > longestPause:
		r.close(tell)
		r.say(t, Seen{From: r.since, Sign: Off}, tell)
	}
}

// say tells a level: when it begins, and again and again.
func (r *Reader) say(t time.Time, s Seen, tell func(Seen)) {
	if r.any && r.told == s.Sign {
		if t.Sub(r.when) < again {
			return
		}
		s.From = t
	}
	r.tell(s, tell)
	r.when, r.before = t, 0
}

func (r *Reader) tell(s Seen, tell func(Seen)) {
	r.any, r.told, r.when = true, s.Sign, s.From
	tell(s)
}

// darkened takes the dark after a flash, when the next one begins.
func (r *Reader) darkened(long time.Duration, t time.Time, tell func(Seen)) {
	n := len(r.flashes)
	r.flashes[n-1].off = long
	r.dark = append(r.dark, darkness{long, t})
	for len(r.dark) > 0 && (len(r.dark) > 3*MostFlashes || t.Sub(r.dark[0].at) > forgets) {
		r.dark = r.dark[1:]
	}
	pause, known := r.pause()
	switch {
	case known && long >= pause:
		r.close(tell)
	case !known && n > 1 && r.flashes[0].off >= time.Duration(pauseRatio*float64(long)):
		// what came first was a pause after all: a flash of its own before it, whose group's beginning nobody saw
		r.flashes = slices.Delete(r.flashes, 0, 1)
	}
}

// pause is how long it is dark between groups at the least, by what was seen lately. Not known: it was dark for one
// length only.
func (r *Reader) pause() (time.Duration, bool) {
	all := make([]time.Duration, len(r.dark))
	for i, d := range r.dark {
		all[i] = d.d
	}
	slices.Sort(all)
	best, at := pauseRatio, -1
	for i := 1; i < len(all); i++ {
		if ratio := float64(all[i]) / float64(all[i-1]); ratio >= best {
			best, at = ratio, i
		}
	}
	if at < 0 {
		return 0, false
	}
	return (all[at-1] + all[at]) / 2, true
}

// evenly tells of flashes that go on without a pause: too many for a count.
func (r *Reader) evenly(tell func(Seen)) {
	n := len(r.flashes)
	if r.on || n == 0 {
		return
	}
	if _, known := r.pause(); known && n <= MostFlashes {
		return
	}
	on, period := r.rhythm()
	switch single := apart(on, period); {
	case single && (n > MostFlashes || r.before == 1):
		r.singly(n-1, tell)
	case n > MostFlashes || period <= rapidPeriod && n > 2*rapidLeast:
		s := Seen{From: r.flashes[0].from, Sign: Flashing, Why: r.coarse(on)}
		if period <= rapidPeriod {
			s.Sign = Rapid
		}
		if !r.even || r.told != s.Sign {
			r.tell(s, tell)
		}
		r.even, r.before = true, 0
		r.flashes = r.flashes[n-2:]
	}
}

// apart tells whether flashes of one rhythm are groups of one.
func apart(on, period time.Duration) bool {
	return period >= apartPeriod && float64(period-on) >= darkRatio*float64(on)
}

// singly tells the first of the flashes under way as groups of one.
func (r *Reader) singly(n int, tell func(Seen)) {
	on, _ := r.rhythm()
	for _, f := range r.flashes[:n] {
		r.tell(Seen{From: f.from, Sign: 1, Why: r.coarse(on)}, tell)
	}
	r.before = 1
	r.flashes = r.flashes[n:]
}

// rhythm is how long a flash of the group lasts, and how long it takes from one to the next, both by the median.
func (r *Reader) rhythm() (on, period time.Duration) {
	var lit, whole []time.Duration
	for _, f := range r.flashes {
		lit = append(lit, f.on)
		if f.off > 0 {
			whole = append(whole, f.on+f.off)
		}
	}
	slices.Sort(lit)
	slices.Sort(whole)
	on = lit[len(lit)/2]
	if len(whole) == 0 {
		return on, 2 * on
	}
	return on, whole[len(whole)/2]
}

// close ends the group under way.
func (r *Reader) close(tell func(Seen)) {
	n := len(r.flashes)
	if n == 0 {
		return
	}
	r.flashes[n-1].off = 0 // the pause is no part of the rhythm
	on, period := r.rhythm()
	if _, known := r.pause(); !r.even && apart(on, period) && !known && (n > 2 || r.before == 1) {
		r.singly(n, tell)
		return
	}
	s := Seen{From: r.flashes[0].from, Sign: Sign(n), Why: r.coarse(on)}
	r.flashes = r.flashes[:0]
	if r.even {
		r.even = false
		return // it was told that it does not end, and now it has
	}
	switch {
	case n > MostFlashes:
		s.Sign = Flashing
		if period <= rapidPeriod {
			s.Sign = Rapid
		}
	case n >= rapidLeast && period <= rapidPeriod && r.before != s.Sign:
		r.before, s.Sign = s.Sign, Rapid // unless the next group has as many
		r.tell(s, tell)
		return
	}
	r.before = s.Sign
	r.tell(s, tell)
}

// coarse says that the light is looked at too rarely for such flashes.
func (r *Reader) coarse(on time.Duration) string {
	if 2*r.sampled > on {
		return fmt.Sprintf("the light is read every %s, and flashes for %s", r.sampled.Round(time.Millisecond), on.Round(time.Millisecond))
	}
	return ""
}

// End tells what the light showed last.
func (r *Reader) End(tell func(Seen)) {
	if r.seen {
		r.stand(r.last, tell)
	}
}
