package episode

import (
	"slices"
	"time"
)

const (
	// reheatRise is the rise of a cylinder's temperature that shows a reheat, K; reheatWithin how quickly it comes, and
	// reheatRests how long it may rest on the way. Own proposals: 150 l and 10 kW make 1 K a minute, and a draw's end
	// lets a sensor creep up by some tenths.
	reheatRise, reheatWithin, reheatRests = 1.5, 30 * time.Minute, 10 * time.Minute
	// reheatShare is the share of a firing in which the cylinder warmed that makes it a firing for it. Own proposal.
	reheatShare = 0.5
)

// reheatWatch finds the stretches in which a cylinder warms.
type reheatWatch struct {
	owner    string
	seen     bool
	low, top value
	rising   bool
	found    []Span
}

func (w *reheatWatch) take(source string, t time.Time, v float64) {
	if w.seen && w.owner != source {
		return
	}
	if !w.seen || w.top.age(t) > 2*reheatWithin {
		w.end()
		w.owner, w.seen, w.low, w.top = source, true, value{v, momentOf(t), true}, value{v, momentOf(t), true}
		return
	}
	switch {
	case w.rising && v > w.top.v:
		w.top = value{v, momentOf(t), true}
	case w.rising && (v < w.top.v-reheatRise/2 || w.top.age(t) > reheatRests):
		w.end()
		w.low, w.top = value{v, momentOf(t), true}, value{v, momentOf(t), true}
	case w.rising:
	case v <= w.low.v || w.low.age(t) > reheatWithin:
		w.low, w.top = value{v, momentOf(t), true}, value{v, momentOf(t), true}
	case v-w.low.v >= reheatRise:
		w.rising, w.top = true, value{v, momentOf(t), true}
	default:
		w.top.t = momentOf(t)
	}
}

func (w *reheatWatch) end() {
	if w.rising {
		w.found = append(w.found, Span{From: w.low.t.time(), To: w.top.t.time()})
	}
	w.rising = false
}

// useByWord says of firings that ended before the appliance first spoke of hot water that they were for heating: it
// does tell. One that never does in a whole record may not know of it, where valves in the house share its heat.
func (b *Builder) useByWord() {
	if len(b.hotWater.spans) == 0 {
		return
	}
	for i := range b.firings {
		f := &b.firings[i]
		within := func(s Span) bool { return !f.From.Before(s.From) && !f.From.After(s.To) }
		if !f.UseKnown && f.Basis != ByShape && slices.ContainsFunc(b.hotWater.sight, within) {
			f.Use, f.UseKnown = Heating, true
		}
	}
}

// useByReheat says what the firings of unknown use were for, where a cylinder's temperature tells: it warmed, or it
// was watched and did not.
func (b *Builder) useByReheat() {
	b.reheats.end()
	if !b.reheats.seen {
		return
	}
	for i := range b.firings {
		f := &b.firings[i]
		if f.UseKnown {
			continue
		}
		var warm time.Duration
		for _, s := range b.reheats.found {
			warm += s.Overlap(f.Span)
		}
		f.UseKnown = true
		if f.Use = Heating; warm.Seconds() > reheatShare*f.Duration().Seconds() {
			f.Use = HotWater
		}
	}
}

// draws are the stretches of hot-water making: by the appliance's own word, a flow meter's, or a cylinder that warms
// while the burner burns.
func (b *Builder) draws() []Draw {
	var out []Draw
	switch {
	case len(b.hotWater.spans) > 0:
		for _, s := range b.hotWater.spans {
			out = append(out, Draw{s, b.cfg.Draws, ByFlame})
		}
	case b.draw.seen:
		kind := Tap
		if b.cfg.Draws == Reheat {
			kind = DrawUnknown
		}
		for _, s := range b.draw.spans {
			out = append(out, Draw{s, kind, ByFlame})
		}
	default:
		for _, s := range b.reheats.found {
			if b.burntFor(s) {
				out = append(out, Draw{s, Reheat, ByShape})
			}
		}
		if !b.reheats.seen {
			for _, s := range b.reheatFirings() {
				out = append(out, Draw{s, b.cfg.Draws, ByShape})
			}
		}
	}
	return out
}

// reheatFirings are the reheats that firings tell: those for hot water, run together where the burner only rested.
func (b *Builder) reheatFirings() []Span {
	var out []Span
	for _, f := range b.firings {
		if f.Basis != ByShape || !f.UseKnown || f.Use != HotWater {
			continue
		}
		if n := len(out) - 1; n >= 0 && f.From.Sub(out[n].To) <= reheatRests {
			out[n].To, out[n].Open = f.To, f.Open
			continue
		}
		out = append(out, f.Span)
	}
	return out
}

// burntFor tells whether the burner burned in a good part of a span.
func (b *Builder) burntFor(s Span) bool {
	return slices.ContainsFunc(b.firings, func(f Firing) bool {
		return f.Overlap(s).Seconds() > reheatShare*min(s.Duration(), f.Duration()).Seconds()
	})
}
