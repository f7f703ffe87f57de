package episode

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

const (
	// silenceAtLeast is the shortest stretch without a line that is an episode: the time after which the master
	// itself takes the bus for faulty (OpenTherm Protocol Specification v2.2, 2.3).
	silenceAtLeast = 60 * time.Second
	// silenceWarming is the rise of another source's flow during a silence that proves the burner ran, K. Own
	// proposal: several times a probe's error and what an after-run brings.
	silenceWarming = 5.0
	// lostPrefix begins the notes by which the recorder tells that a source's device is gone.
	lostPrefix = "lost:"
)

// busWatch follows one bus for stretches without a line.
type busWatch struct {
	source  string
	first   time.Time
	last    time.Time
	seen    bool
	cadence Cadence
	found   []Silence
	lost    string // the recorder's note since the last line
	warming
	pauses []Span // the last few breaks longer than busPause
}

// warming is how the flow by other sources moved since the bus was last heard.
type warming struct {
	low, rise  float64
	start, end float64
	seen       bool
}

func (w *busWatch) record(t time.Time, note string) {
	if strings.HasPrefix(note, lostPrefix) {
		w.lost = strings.TrimSpace(strings.TrimPrefix(note, lostPrefix))
		return
	}
	if note != "" && w.lost != "" { // "back after …" follows; only a real line ends the silence
		return
	}
	if w.seen {
		gap := t.Sub(w.last)
		w.cadence.Add(gap)
		if gap > busPause {
			w.pauses = append(w.pauses, Span{From: w.last, To: t})
			if len(w.pauses) > 8 {
				w.pauses = w.pauses[1:]
			}
		}
		if gap >= silenceAtLeast {
			w.found = append(w.found, w.silence(w.last, t, false))
		}
	} else {
		w.first, w.seen = t, true
	}
	w.last, w.lost, w.warming = t, "", warming{}
}

func (w *busWatch) pausedBetween(from, to time.Time) bool {
	return slices.ContainsFunc(w.pauses, func(s Span) bool { return !s.To.Before(from) && !s.From.After(to) })
}

// gap is called when no logger ran between two runs: a silence before it ends where the first run ended, one after
// it begins where the next run began.
func (w *busWatch) gap(before, after Run) {
	from := before.From
	if w.seen {
		from = w.last
	}
	if before.To.Sub(from) >= silenceAtLeast {
		w.found = append(w.found, w.silence(from, before.To, true))
	}
	if w.first.IsZero() {
		w.first = after.From
	}
	w.last, w.seen, w.lost, w.warming = after.From, true, "", warming{}
}

// otherFlow takes the flow temperature as another source saw it.
func (w *busWatch) otherFlow(t time.Time, v float64) {
	if !w.seen || t.Sub(w.last) < silenceAtLeast {
		return
	}
	x := &w.warming
	if !x.seen {
		x.seen, x.low, x.start = true, v, v
	}
	x.low = min(x.low, v)
	x.rise = max(x.rise, v-x.low)
	x.end = v
}

func (w *busWatch) silence(from, to time.Time, open bool) Silence {
	s := Silence{Span: Span{From: from, To: to, Open: open}, Source: w.source, Reason: SilenceUnexplained}
	switch {
	case w.lost != "":
		s.Reason, s.Because = SilenceAdapter, "the logger lost the adapter: "+w.lost
	case w.warming.rise >= silenceWarming:
		s.Meanwhile = Fired
		s.Because = fmt.Sprintf("the flow rose by %.0f K meanwhile: the appliance had its supply and fired", w.warming.rise)
	case w.warming.seen:
		s.Meanwhile = Idle
		s.Because = fmt.Sprintf("the flow went from %.0f to %.0f °C meanwhile: no sign that the burner ran", w.warming.start, w.warming.end)
	}
	return s
}

// finishSilences adds what is silent at either end, drops what is no longer than the source's usual interval
// allows, and explains what the supply explains.
func (b *Builder) finishSilences(from, to time.Time) []Silence {
	var all []Silence
	for _, name := range b.cfg.Buses {
		w := b.buses[name]
		if first := w.first; !first.IsZero() {
			start := b.liveStart(first, from)
			if first.Sub(start) >= silenceAtLeast {
				all = append(all, Silence{Span: Span{From: start, To: first, Cut: true}, Source: name, Reason: SilenceUnexplained})
			}
		}
		all = append(all, w.found...)
		if w.seen {
			if to.Sub(w.last) >= silenceAtLeast {
				all = append(all, w.silence(w.last, to, true))
			}
		} else if w.first.IsZero() && to.Sub(from) >= silenceAtLeast {
			s := w.silence(from, to, true)
			s.Cut = true
			all = append(all, s)
		}
	}
	all = slices.DeleteFunc(all, func(s Silence) bool {
		return s.Duration() < holdIntervals*b.buses[s.Source].cadence.Usual()
	})
	for i := range all {
		b.explain(&all[i])
	}
	slices.SortStableFunc(all, func(x, y Silence) int { return x.From.Compare(y.From) })
	return all
}

// liveStart is when the logger began to listen before t: the start of the live run that holds t, else the record's.
func (b *Builder) liveStart(t, from time.Time) time.Time {
	for _, r := range b.cfg.Runs {
		if r.Live && !t.Before(r.From) && !t.After(r.To) {
			return r.From
		}
	}
	return from
}

// explain asks the supply, where the silence itself has not told.
func (b *Builder) explain(s *Silence) {
	if s.Reason != SilenceUnexplained {
		return
	}
	if b.supply.seen {
		off, known := b.supplyOff(s.Span)
		switch {
		case known && off:
			s.Reason, s.Because = SilenceNoMains, "the appliance's supply was off"
		case known:
			s.Because = strings.TrimPrefix(s.Because+"; the appliance's supply was on", "; ")
		}
		return
	}
	if b.cfg.SwitchedLive && s.Meanwhile != Fired {
		s.Reason = SilenceNoMains
		s.Because = strings.TrimPrefix(s.Because+"; the job sheet says that the supply is switched with the demand", "; ")
	}
}

// supplyOff tells whether the supply was off for most of a span.
func (b *Builder) supplyOff(s Span) (off, known bool) {
	if b.supply.last.Before(s.From) {
		return false, false
	}
	var on time.Duration
	for _, x := range b.supply.spans {
		on += x.Overlap(s)
	}
	return on < s.Duration()/2, true
}
