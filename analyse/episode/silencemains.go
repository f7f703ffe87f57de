package episode

import (
	"slices"
	"time"
)

const (
	// PromptFall is the fall of the flow by another source, K, within FallWithin of a silence's first minute, that tells that the burner went out as
	// the bus fell silent. Own proposal: several steps of a probe, and less than a stopped pump's pipe loses.
	PromptFall = 0.5
	// FallWithin: see PromptFall.
	FallWithin = 5 * time.Minute
	// RelitWithin is how soon a burner lights again when its supply comes back and heat is still wanted. Own proposal:
	// the control's start and a purge.
	RelitWithin = 5 * time.Minute
)

// stoppedTogether explains silences by the supply where the burner tells it: it burned when the bus fell silent, the
// water cooled from that moment on and was never warmed again, and the burner lit as the bus came back. A dead adapter
// or a loose wire puts no burner out.
func (b *Builder) stoppedTogether(silences []Silence) {
	for i := range silences {
		s := &silences[i]
		if s.Reason != SilenceUnexplained || s.Meanwhile != Idle || !s.Fell || s.Open || s.Cut {
			continue
		}
		inner := Span{From: s.From.Add(shapeEdge), To: s.To.Add(-shapeEdge)}
		burned := slices.ContainsFunc(b.firings, func(f Firing) bool { return f.Basis == ByFlame && f.To.Sub(s.From).Abs() <= endSlack })
		relit := slices.ContainsFunc(b.firings, func(f Firing) bool {
			return f.Basis == ByFlame && f.From.After(s.To.Add(-endSlack)) && f.From.Sub(s.To) <= RelitWithin
		})
		between := slices.ContainsFunc(b.firings, func(f Firing) bool { return f.Basis == ByShape && f.Overlap(inner) > 0 })
		if burned && relit && !between {
			s.Reason = SilenceNoMains
			s.Because = "the burner went out as the bus fell silent and lit as it came back, so the appliance had lost its supply (or its control hung): " + s.Because
		}
	}
}
