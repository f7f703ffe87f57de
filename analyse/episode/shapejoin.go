package episode

import (
	"fmt"
	"time"
)

// leftover is the longest piece of a burn by shape, beside a stretch in which the flame was known, that is taken for no
// more than the edge's own blur. Own proposal: a strapped probe's lag.
const leftover = time.Minute

// joinPieces makes one firing of the pieces that the flame's signal and the shape saw of it: a bus that falls silent in
// a burn does not end it, where flow and return show that it went on. What is left of a burn by shape for a moment
// beside the flame's own word is dropped.
func (b *Builder) joinPieces() {
	out := b.firings[:0] // in place: no more is written than was read
	for i, f := range b.firings {
		n := len(out) - 1
		if n >= 0 && out[n].Open && f.Cut && out[n].Basis != f.Basis && f.From.Equal(out[n].To) {
			if f.Basis == ByShape && !f.Open && f.Duration() < leftover {
				continue
			}
			out[n] = joinFirings(out[n], f)
			continue
		}
		if f.Basis == ByShape && f.Duration() < leftover && (f.Cut && n >= 0 && f.From.Equal(out[n].To) ||
			f.Open && i+1 < len(b.firings) && f.To.Equal(b.firings[i+1].From)) {
			continue
		}
		out = append(out, f)
	}
	b.firings = out
}

// joinFirings is the firing of two pieces, a before b. Figures are those of the flame's own piece, the end's of b.
func joinFirings(a, b Firing) Firing {
	f := a
	if a.Basis == ByShape {
		f = b
		f.From, f.Cut, f.FlowStart = a.From, a.Cut, a.FlowStart
	}
	f.To, f.Open, f.End = b.To, b.Open, b.End
	f.FlowEnd, f.FlowMax = b.FlowEnd, max(a.FlowMax, b.FlowMax)
	f.Excess = Excess{} // part of it was not seen
	f.Rough = true      // its basis is the appliance's own
	f.Settled = append(append([]SettledDelta(nil), a.Settled...), b.Settled...)
	return f
}

// endByMains says of firings that ended with the bus that the supply ended them, where it is switched with the demand.
func (b *Builder) endByMains(silences []Silence) {
	if !b.cfg.SwitchedLive {
		return
	}
	for i := range b.firings {
		f := &b.firings[i]
		if f.Basis == ByShape || !f.Open {
			continue
		}
		for _, s := range silences {
			if d := s.From.Sub(f.To).Abs(); s.Reason == SilenceNoMains && d <= endSlack {
				f.End, f.Open = EndDemand, false
			}
		}
	}
}

// withoutMains drops what the shape tells of times in which the appliance had no supply: nothing can have burned.
func (b *Builder) withoutMains(silences []Silence) {
	var off []Span
	for _, s := range silences {
		if s.Reason == SilenceNoMains && s.Meanwhile != Fired {
			off = append(off, s.Span)
		}
	}
	if len(off) == 0 {
		return
	}
	out := make([]Firing, 0, len(b.firings))
	for _, f := range b.firings {
		if f.Basis == ByShape {
			for _, s := range minus(f.Span, off) {
				if whole := s == f.Span; whole || s.Duration() >= leftover {
					f.Span = s
					out = append(out, f)
				}
			}
			continue
		}
		out = append(out, f)
	}
	b.firings = out
}

// shapeEdge is how far a firing that the flame told of may reach into a silence by the error of its shape's times: a
// firing there is no witness that the burner ran while the bus was silent. Own proposal, after the stated errors.
const shapeEdge = 3 * time.Minute

// burnedMeanwhile says of silences in which firings are known by shape that the burner ran: a burner that holds its
// set-point warms the flow no further.
func (b *Builder) burnedMeanwhile(silences []Silence) {
	for i := range silences {
		s := &silences[i]
		if s.Reason == SilenceNoMains || s.Meanwhile == Fired {
			continue
		}
		inner := Span{From: s.From.Add(shapeEdge), To: s.To.Add(-shapeEdge)}
		var burned time.Duration
		for _, f := range b.firings {
			if f.Basis == ByShape || f.Rough {
				burned += f.Overlap(inner)
			}
		}
		if burned < leftover {
			continue
		}
		text := fmt.Sprintf("flow and return show that the burner ran for %s meanwhile: the appliance had its supply", words(burned))
		if s.Reason == SilenceAdapter { // why it was silent is known, and stays first
			text = s.Because + "; " + text
		}
		s.Meanwhile, s.Because = Fired, text
	}
}
