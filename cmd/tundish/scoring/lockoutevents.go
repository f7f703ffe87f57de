package scoring

import (
	"time"
)

const (
	lockoutKind = "lockout"
	// eventTolerance is how far onset and end of a lockout may be told from the true ones. Own proposal.
	eventTolerance = 5 * time.Second
)

// Events is how well single lockouts were told, where a bus was listened to.
type Events struct {
	Tally        // matched: a told one overlaps the true one more than any other
	Onset, End   Edges
	OnsetIn      int // within the tolerance
	EndIn, Ended int // the same; true ones that ended within the record
	CauseRight   int
}

// lockoutEvents holds the evidence of findings against the true lockouts.
func lockoutEvents(told []Told) (e Events) {
	for i := range told {
		if t := &told[i]; t.Label.Kind == lockoutKind && t.HasBus && t.Label.Visible {
			e.home(t)
		}
	}
	return e
}

func (e *Events) home(t *Told) {
	var really, found []span
	for _, x := range t.Label.Evidence {
		really = append(really, span{x.From, x.To})
	}
	if t.Finding != nil {
		for _, x := range t.Finding.Evidence {
			found = append(found, span{x.From.Sub(t.Start), x.To.Sub(t.Start)})
		}
	}
	e.True += len(really)
	e.Found += len(found)
	for i, j := range byOverlap(really, found) {
		open := t.Label.Evidence[i].Open
		if !open {
			e.Ended++
		}
		if j < 0 {
			continue
		}
		e.Matched++
		e.Onset.Note(found[j].from, really[i].from)
		if near(found[j].from, really[i].from, eventTolerance) {
			e.OnsetIn++
		}
		if t.Finding.Evidence[j].Cause == t.Label.Evidence[i].Cause {
			e.CauseRight++
		}
		if open {
			continue
		}
		e.End.Note(found[j].to, really[i].to)
		if near(found[j].to, really[i].to, eventTolerance) {
			e.EndIn++
		}
	}
}
