package episode

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

const (
	// silenceWarming is the rise of another source's flow during a silence that proves the burner ran, K. Own
	// proposal: several times a probe's error and what an after-run brings.
	silenceWarming = 5.0
	// warmingWithin is how quickly a burner brings that rise; a pipe that warms with the house takes hours. Own
	// proposal.
	warmingWithin = 15 * time.Minute
	// busPause is the shortest break in the bus that can be a supply turned off and on again. Own proposal.
	busPause = 5 * time.Second
)

// LostPrefix begins the notes by which the recorder tells that a source's device is gone.
const LostPrefix = "lost:"

// busWatch follows one bus for stretches without a line. It looks session by session: nothing is said of a time in
// which nobody listened to the bus.
type busWatch struct {
	source  string
	ever    bool // a line ever came
	inside  bool // the session under way listens to the bus
	heard   bool // last is where the watch stands: a line, or the start of the session
	last    time.Time
	line    bool // a line came in this session
	cadence Cadence
	found   []foundSilence
	first   time.Time // line
	lost    string    // the recorder's note since the last line
	warm    []warming
	pauses  []Span // the last few breaks that can be a supply turned off and on
	visited int    // sessions dealt with
	ends    time.Time
}

// warming is how the flow by another source moved since the bus was last heard.
type warming struct {
	Source     string
	Low, Rise  float64
	LowAt      time.Time
	Start, End float64
	Since      time.Time // when it was first seen in the silence
	Fell       bool      // it fell from the first minutes on
}

// enter closes the sessions before next and begins it. Sessions in which no record came at all are silent as a whole.
func (w *busWatch) enter(all []session, next int) {
	for ; w.visited <= next; w.visited++ {
		w.leave()
		s := all[w.visited]
		w.inside = slices.Contains(s.sources, w.source)
		w.heard, w.line, w.last, w.ends = w.inside, false, s.from, s.to
		w.lost, w.warm = "", nil
	}
}

// leave closes the session under way.
func (w *busWatch) leave() {
	if w.inside && w.heard && w.ends.Sub(w.last) >= holdAtLeast {
		s := w.silence(w.last, w.ends)
		s.Open, s.Cut = true, !w.line
		w.found = append(w.found, s)
	}
	w.inside = false
}

func (w *busWatch) record(t time.Time, note string) {
	if strings.HasPrefix(note, LostPrefix) {
		w.lost = strings.TrimSpace(strings.TrimPrefix(note, LostPrefix))
		return
	}
	if note != "" && w.lost != "" { // "back after …" follows; only a real line ends the silence
		return
	}
	if w.heard {
		gap := since(t, w.last)
		if gap > max(busPause, holdIntervals*w.cadence.Usual()) {
			w.pauses = append(w.pauses, Span{From: w.last, To: t})
			if len(w.pauses) > 8 {
				w.pauses = w.pauses[1:]
			}
		}
		if w.line && gap > 0 { // values of one row come at the same moment
			w.cadence.Add(gap)
		}
		if gap >= holdAtLeast {
			s := w.silence(w.last, t)
			s.Cut = !w.line
			w.found = append(w.found, s)
		}
	}
	if !w.ever {
		w.first = t
	}
	w.last, w.heard, w.line, w.ever = t, true, true, true
	if len(w.warm) > 0 || w.lost != "" {
		w.lost, w.warm = "", nil
	}
}

// busPaused tells whether a bus fell still between two moments, habit or not.
func (b *Builder) busPaused(source string, from, to time.Time) bool {
	return slices.ContainsFunc(b.buses, func(w *busWatch) bool {
		return w.source == source && slices.ContainsFunc(w.pauses, func(s Span) bool { return !s.To.Before(from) && !s.From.After(to) })
	})
}

// pausedBetween tells whether the bus fell still between two moments, for longer than least and longer than it does
// now and then anyway.
func (w *busWatch) pausedBetween(from, to time.Time, least time.Duration) bool {
	for _, s := range w.pauses {
		if s.To.Before(from) || s.From.After(to) || s.Duration() <= least {
			continue
		}
		alike := 0
		for _, o := range w.pauses {
			if d := o.Duration(); o.To.Before(from) && 2*d >= s.Duration() && d <= 2*s.Duration() {
				alike++
			}
		}
		if alike < pauseHabit {
			return true
		}
	}
	return false
}

// pauseHabit is the number of earlier breaks of much the same length that make one a habit of the bus. Own proposal.
const pauseHabit = 2

// otherFlow takes the flow temperature as another source saw it.
func (w *busWatch) otherFlow(source string, t time.Time, v float64) {
	if !w.heard || since(t, w.last) < holdAtLeast {
		return
	}
	i := slices.IndexFunc(w.warm, func(x warming) bool { return x.Source == source })
	if i < 0 {
		i = len(w.warm)
		w.warm = append(w.warm, warming{Source: source, Low: v, LowAt: t, Start: v, Since: t})
	}
	x := &w.warm[i]
	if v < x.Low || since(t, x.LowAt) > warmingWithin {
		x.Low, x.LowAt = v, t
	}
	x.Rise = max(x.Rise, v-x.Low)
	x.End = v
	if !x.Fell && t.Sub(x.Since) <= FallWithin && x.Start-v >= PromptFall && x.Rise < PromptFall {
		x.Fell = true
	}
}

// foundSilence is a silence with what was seen meanwhile.
type foundSilence struct {
	Silence
	Lost string
	Warm []warming
}

func (w *busWatch) silence(from, to time.Time) foundSilence {
	return foundSilence{Silence: Silence{Span: Span{From: from, To: to}, Source: w.source}, Lost: w.lost, Warm: w.warm}
}

// told says why it was silent, as far as the logger and other sources tell.
func (f foundSilence) told() Silence {
	s := f.Silence
	s.Reason = SilenceUnexplained
	if f.Lost != "" {
		s.Reason, s.Because = SilenceAdapter, "the logger lost the adapter: "+f.Lost
		return s
	}
	for _, x := range f.Warm {
		switch {
		case x.Rise >= silenceWarming:
			s.Meanwhile = Fired
			s.Because = fmt.Sprintf("the flow by %s rose by %.0f K meanwhile: the appliance had its supply and fired", x.Source, x.Rise)
			return s
		case s.Meanwhile == NotSeen:
			s.Meanwhile = Idle
			s.Fell = x.Fell
			s.Because = fmt.Sprintf("the flow by %s went from %.0f to %.0f °C meanwhile: no sign that the burner ran", x.Source, x.Start, x.End)
		}
	}
	return s
}

// manySilences is the number of silences a day from which they are the bus's habit: an adapter that delivers in
// bursts. Own proposal.
const manySilences = 48

// habit is the silence that a bus which is silent all the time must exceed to be called silent.
func habit(found []foundSilence, length time.Duration) time.Duration {
	days := max(1.0/24, length.Hours()/24)
	if float64(len(found)) < manySilences*days || len(found) < 10 {
		return 0
	}
	d := make([]time.Duration, len(found))
	for i, s := range found {
		d[i] = s.Duration()
	}
	slices.Sort(d)
	return holdIntervals * d[len(d)/2]
}

// offAll is the share of a silence for which the supply must be said to be off for a burner that fired in it to
// contradict that. Own proposal.
const offAll = 0.9

// explain asks the supply, where the silence itself has not told. A silence that outlasts the supply's absence is cut
// in parts: what the supply explains, and what it does not.
func (b *Builder) explain(s Silence) []Silence {
	if s.Reason != SilenceUnexplained {
		return []Silence{s}
	}
	and := func(s *Silence, text string) { s.Because = strings.TrimPrefix(s.Because+"; "+text, "; ") }
	on, known := b.supplyIn(s.Span)
	if d := b.belied(); known && d != nil {
		and(&s, fmt.Sprintf("%s says of the supply what cannot be: that it was off for %s in which the appliance answered on its bus", d.Counts, words(d.Off)))
		known = false
	}
	if !known {
		if b.cfg.SwitchedLive && s.Meanwhile != Fired {
			s.Reason = SilenceNoMains
			and(&s, "the job sheet says that the supply is switched with the demand")
		}
		return []Silence{s}
	}
	var off time.Duration
	for _, x := range on {
		off += x.Duration()
	}
	if off = s.Duration() - off; known && s.Meanwhile == Fired && float64(off) >= offAll*float64(s.Duration()) {
		and(&s, b.supply.owner+" says that its supply was off, which cannot be")
		return []Silence{s}
	}
	var out []Silence
	part := func(from, to time.Time, off bool) {
		if to.Sub(from) < holdAtLeast {
			return
		}
		p := s
		p.From, p.To = from, to
		p.Cut, p.Open = s.Cut && from.Equal(s.From), s.Open && to.Equal(s.To)
		if off {
			p.Reason, p.Because = SilenceNoMains, "the appliance's supply was off"
		} else {
			and(&p, "the appliance's supply was on")
		}
		out = append(out, p)
	}
	at := s.From
	for _, x := range on {
		part(at, x.From, true)
		part(x.From, x.To, false)
		at = x.To
	}
	part(at, s.To, true)
	return out
}

// supplyIn gives the stretches of a span in which the supply was on, and whether it was looked at for most of the span.
func (b *Builder) supplyIn(s Span) (on []Span, known bool) {
	var seen time.Duration
	for _, x := range b.supply.sight {
		seen += x.Overlap(s)
	}
	for _, x := range b.supply.spans {
		if x.Overlap(s) > 0 {
			from, to := x.From, x.To
			if from.Before(s.From) {
				from = s.From
			}
			if to.After(s.To) {
				to = s.To
			}
			on = append(on, Span{From: from, To: to})
		}
	}
	return on, seen > 0 && seen >= s.Duration()/2
}
