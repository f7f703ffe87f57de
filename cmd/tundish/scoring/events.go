package scoring

import (
	"slices"
	"time"

	"tundish/analyse/episode"
	"tundish/cmd/tundish/house"
)

const (
	// countedWithin is how far an attempt may be dated off: one without a flame is told by the appliance's counter,
	// which a master asks for every few minutes. Own proposal.
	countedWithin = 5 * time.Minute
)

// Lockouts is the score of the lockouts, by their onset.
type Lockouts struct {
	Tally
	Onset, Reset Edges
	Cause        int // of the matched: the right cause
	Ended        int // of the matched: those that were reset
	ResetRight   int // of these: by the right hand, and when
}

// Add adds another record's score.
func (l *Lockouts) Add(o Lockouts) {
	l.Tally.Add(o.Tally)
	l.Onset.Add(o.Onset)
	l.Reset.Add(o.Reset)
	l.Cause += o.Cause
	l.Ended += o.Ended
	l.ResetRight += o.ResetRight
}

// Lockouts scores the lockouts: the onset must lie within the tolerance.
func (h *Heard) Lockouts() (out Lockouts) {
	tolerance := h.edge()
	var found []episode.Lockout
	for _, l := range h.Facts.Lockouts {
		if l.Locked {
			found = append(found, l)
		}
	}
	really, blind := h.Truth.Lockouts, h.blind()[2:] // a lockout is a fact also where the record ends in it
	out.Found = len(found)
	for i, j := range pairs(len(really), len(found), func(i, j int) bool {
		return near(really[i].From, h.offset(found[j].From), tolerance)
	}) {
		l := really[i]
		if hidden(span{l.From, l.From}, blind, edgeOfSight) {
			out.Aside++
			if j >= 0 {
				out.Found--
			}
			continue
		}
		out.True++
		if j < 0 {
			continue
		}
		out.Matched++
		out.Onset.Note(h.offset(found[j].From), l.From)
		if found[j].Cause == l.Cause {
			out.Cause++
		}
		if l.Open || hidden(span{l.To, l.To}, blind, edgeOfSight) {
			continue
		}
		out.Ended++
		out.Reset.Note(h.offset(found[j].To), l.To)
		if found[j].Reset == l.Reset && near(h.offset(found[j].To), l.To, tolerance) {
			out.ResetRight++
		}
	}
	return out
}

// edge is the tolerance of states that the bus tells: where the mains are switched, it can only speak once they are
// back.
func (h *Heard) edge() time.Duration {
	d := h.Listening.Tolerance()
	if h.Scenario.SwitchedLive {
		d += busWakes
	}
	return d
}

// Blocks scores the faults that cleared by themselves, of those that the appliance shows.
func (h *Heard) Blocks() Spans {
	var really, found []span
	for _, b := range h.Truth.Blocks {
		if b.Shown {
			really = append(really, spanOfTruth(b.Span))
		}
	}
	for _, l := range h.Facts.Lockouts {
		if !l.Locked {
			found = append(found, h.spanOf(l.Span))
		}
	}
	return h.spans(really, found, h.edge(), alike)
}

func alike(int, int) bool { return true }

// Demands scores the heat demands.
func (h *Heard) Demands() Spans {
	var really, found []span
	for _, d := range h.Truth.Demands {
		really = append(really, spanOfTruth(d))
	}
	for _, d := range h.Facts.Demands {
		found = append(found, h.spanOf(d.Span))
	}
	return h.spans(really, found, h.edge(), alike)
}

// Draws scores the making of hot water; right: told as what it was for.
func (h *Heard) Draws() Spans {
	var really, found []span
	for _, d := range h.Truth.Draws {
		really = append(really, spanOfTruth(d))
	}
	for _, d := range h.Facts.Draws {
		found = append(found, h.spanOf(d.Span))
	}
	kind := episode.Reheat
	if h.Scenario.HotWater.Kind == house.Instantaneous {
		kind = episode.Tap
	}
	edge := h.edge()
	if !h.Listening.Bus() {
		edge += lightsWithin
	}
	return h.spans(really, found, edge, func(_, j int) bool { return h.Facts.Draws[j].Kind == kind })
}

// lightsWithin is how much later than a call for hot water the burner lights that answers it, which is all that the
// pipes tell: pre-purge, an attempt or two, and an anti-cycle time that is over. Own proposal.
const lightsWithin = 30 * time.Second

// Overruns scores the pump's running on, matched by its beginning: when the pump stops hardly shows in how the water
// cools, and where it is left open no end is scored. right: after what it was.
func (h *Heard) Overruns() Spans {
	var really, found []span
	for _, o := range h.Truth.Overruns {
		really = append(really, spanOfTruth(o.Span))
	}
	for _, o := range h.Facts.Overruns {
		found = append(found, h.spanOf(o.Span))
	}
	of := pairs(len(really), len(found), func(i, j int) bool {
		return really[i].touches(found[j]) && near(really[i].from, found[j].from, h.edge())
	})
	out := h.spansBy(really, found, h.edge(), of, func(i, j int) bool { return h.Truth.Overruns[i].After == h.Facts.Overruns[j].After })
	out.Stop = Edges{}
	for i, j := range of {
		if j >= 0 && !h.Facts.Overruns[j].Open {
			out.Stop.Note(found[j].to, really[i].to)
		}
	}
	return out
}

// Attempts scores the attempts to light that failed; right: what came of the sequence.
func (h *Heard) Attempts() (out Spans) {
	really, found := h.Truth.Attempts, h.Facts.Attempts
	then := [...]episode.AttemptEnd{house.ThenUnknown: episode.ThenUnknown, house.ThenLit: episode.ThenLit,
		house.ThenLockout: episode.ThenLockout, house.ThenGivenUp: episode.ThenGivenUp}
	out.Found = len(found)
	for i, j := range pairs(len(really), len(found), func(i, j int) bool {
		return near(really[i].At, h.offset(found[j].At), countedWithin)
	}) {
		if j < 0 && h.untold(really[i]) {
			out.Aside++
			continue
		}
		out.True++
		if j < 0 {
			continue
		}
		out.Matched++
		out.Start.Note(h.offset(found[j].At), really[i].At)
		if then[really[i].Next] == found[j].Then {
			out.Right++
		}
	}
	return out
}

// idFailedStarts is the data id of the appliance's own count (OpenTherm Protocol Specification, from 2.3).
const idFailedStarts = 113

// untold tells whether nothing on the wires told of an attempt: it had no flame that was looked at, and the appliance
// does not answer for its counter.
func (h *Heard) untold(a house.Attempt) bool {
	return a.Flame < h.Listening.Status && slices.Contains(h.Scenario.Bus.Unsupported, idFailedStarts)
}
