package episode

import (
	"fmt"
	"slices"
	"time"
)

const (
	// CooledBy is by how much the flow must stand lower after a silence than at its highest in the burn before it, K. Own
	// proposal: more than a rest of a burner between two firings leaves, less than half an hour without heat.
	CooledBy = 10.0
	// startCounted is how far from the end of a silence the appliance's count of starts may be read, and from its
	// beginning. Own proposal: it is asked for rarely.
	startCounted = 30 * time.Minute
)

// startCount follows an appliance's own count of burner starts across the silences of its bus.
type startCount struct {
	source string
	last   value
	across []countedSilence
}

// startsAcross is what a piece keeps of it: the silences that end in the piece.
type startsAcross struct {
	Source string
	Across []countedSilence
}

// countedSilence is how often the burner started by the appliance's own count between the last answer before a silence
// and the first after it.
type countedSilence struct {
	Span
	Starts int
}

// burnerStarts takes the count. Only what lies across a silence is kept.
func (b *Builder) burnerStarts(source string, t time.Time, v float64) {
	c := b.startsOf(source)
	if c.last.seen && c.last.age(t) >= holdAtLeast && v >= c.last.v && b.silentBetween(source, c.last.t.time(), t) {
		c.across = append(c.across, countedSilence{Span{From: c.last.t.time(), To: t}, int(v - c.last.v)})
	}
	c.last = value{v, momentOf(t), true}
}

// startsOf finds or makes the count of a source.
func (b *Builder) startsOf(source string) *startCount {
	i := slices.IndexFunc(b.starts, func(c *startCount) bool { return c.source == source })
	if i < 0 {
		i = len(b.starts)
		b.starts = append(b.starts, &startCount{source: source})
	}
	return b.starts[i]
}

// silentBetween tells whether a bus fell silent between two moments for as long as a silence is.
func (b *Builder) silentBetween(source string, from, to time.Time) bool {
	return slices.ContainsFunc(b.buses, func(w *busWatch) bool {
		n := len(w.found) - 1
		return w.source == source && n >= 0 && !w.found[n].From.Before(from) && !w.found[n].To.After(to)
	})
}

// stoppedByCount explains silences by the supply where nothing else looked at the appliance, and its own words before and
// after say it: the burner burned with the last word, was off with the first although heat was asked for both times, its
// water had cooled, it lit at once, and the appliance counts no start but that one. A dead adapter puts no burner out.
func (b *Builder) stoppedByCount(silences []Silence) {
	for i := range silences {
		s := &silences[i]
		if s.Reason != SilenceUnexplained || s.Meanwhile != NotSeen || s.Open || s.Cut {
			continue
		}
		before, after := b.aroundSilence(s.Span)
		if before == nil || after == nil || !before.FlowSeen || !after.FlowSeen || before.FlowMax-after.FlowStart < CooledBy || !b.askedAround(s.Span) {
			continue
		}
		if !b.startedOnly(s, after) {
			continue
		}
		s.Reason = SilenceNoMains
		s.Because = fmt.Sprintf("the burner went out as the bus fell silent and lit as it came back, the flow had cooled from %.0f to %.0f °C, and by the appliance's own count it did not start meanwhile: it had lost its supply (or its control hung, or the wire to its controller was open, which stops it too)",
			before.FlowMax, after.FlowStart)
	}
}

// aroundSilence gives the firing that burned when a silence began, and the one that lit in sight when it was over.
func (b *Builder) aroundSilence(s Span) (before, after *Firing) {
	for i := range b.firings {
		f := &b.firings[i]
		switch {
		case f.Basis != ByFlame:
		case f.To.Sub(s.From).Abs() <= endSlack:
			before = f
		case after == nil && !f.Cut && f.From.After(s.To) && f.From.Sub(s.To) <= RelitWithin:
			after = f
		}
	}
	return before, after
}

// askedAround tells whether heat was asked for with the last word before a silence and with the first after it.
func (b *Builder) askedAround(s Span) bool {
	asked := func(t time.Time) bool {
		return slices.ContainsFunc(b.demands(), func(d Demand) bool {
			return !d.From.After(t.Add(endSlack)) && !d.To.Before(t.Add(-endSlack))
		})
	}
	return asked(s.From) && asked(s.To)
}

// startedOnly tells whether the appliance counts no start across a silence but those that were seen after it.
func (b *Builder) startedOnly(s *Silence, after *Firing) bool {
	i := slices.IndexFunc(b.starts, func(c *startCount) bool { return c.source == s.Source })
	if i < 0 {
		return false
	}
	for _, c := range b.starts[i].across {
		if c.From.After(s.From) || c.To.Before(s.To) || s.From.Sub(c.From) > startCounted || c.To.Sub(s.To) > startCounted {
			continue
		}
		seen := 0
		for _, f := range b.firings {
			if f.Basis == ByFlame && (f.From.After(c.From) && f.From.Before(s.From) || !f.From.Before(after.From) && !f.From.After(c.To)) {
				seen++
			}
		}
		return c.Starts <= seen
	}
	return false
}
