package episode

import (
	"slices"
	"time"

	"tundish/decode"
)

const (
	// overrunSlack is how far the pump's or the water's word may lie from the end of what was asked: a round of polling
	// and a sensor's lag. Own proposal.
	overrunSlack = 30 * time.Second
	// overrunMost is the longest overrun that is followed: pumps run on for 2 to 5 min (common practice, no source), some for
	// longer. Own proposal.
	overrunMost = 30 * time.Minute
	// overrunStep is how far apart looks at the water are. Own proposal: several times a bus's turn.
	overrunStep = 15 * time.Second
	// overrunJoins is how near flow and return come when the pump runs and the burner does not, as a share of what
	// they were apart, and in K whatever they were. Own proposal.
	overrunJoins, overrunJoinsK = 0.35, 1.0
	// overrunCeases is the share of its quickest fall to which the flow's fall comes down when the water stands still,
	// or no longer shows that it moves. Own proposal.
	overrunCeases = 0.15
	// overrunFalls is the least fall of the flow between two looks that shows moving water, K. Own proposal: more than
	// pipes lose in that time.
	overrunFalls = 0.4
	// overrunNoise is the fall between two looks that noise makes, K.
	overrunNoise = 0.15
)

// overrunWatch looks, from the end of a demand or a draw on, how long the water keeps moving. It needs one source's
// flow and return. What it finds ends where water was last seen to move, and is left open there: where flow and return
// have come together and hardly cool, nothing shows whether it still moves.
type overrunWatch struct {
	on      bool
	after   Use
	from    time.Time
	source  string
	apart   float64   // K at the beginning
	at      time.Time // of the last look
	flow    float64
	fastest float64 // K/s, the quickest fall
	moved   time.Time
	met     bool // flow and return have come together
	found   []Overrun
}

// begin starts a watch at the end of a demand or a draw.
func (o *overrunWatch) begin(t time.Time, after Use) {
	*o = overrunWatch{on: true, after: after, from: t, found: o.found}
}

// stop ends it: something is asked for again, the burner burns, or nothing is known any more.
func (o *overrunWatch) stop() {
	if o.on && o.met && o.moved.After(o.from) {
		o.found = append(o.found, Overrun{Span{From: o.from, To: o.moved, Open: true}, o.after, ByShape})
	}
	o.on = false
}

// look takes a flow with its return.
func (o *overrunWatch) look(source string, t time.Time, flow, ret float64) {
	if !o.on {
		return
	}
	if since(t, o.from) > overrunMost {
		o.on = false // the fall goes on and on: a cooling house, not a pump
		return
	}
	if o.source == "" {
		o.source, o.apart, o.at, o.flow = source, flow-ret, t, flow
	}
	dt := since(t, o.at)
	if o.source != source || dt < overrunStep {
		return
	}
	fall := (o.flow - flow) / dt.Seconds()
	o.at, o.flow = t, flow
	if flow-ret <= max(overrunJoins*o.apart, overrunJoinsK) && o.fastest*overrunStep.Seconds() >= overrunFalls {
		o.met = true
	}
	o.fastest = max(o.fastest, fall)
	switch {
	case fall > max(overrunCeases*o.fastest, overrunNoise/overrunStep.Seconds()):
		o.moved = t
	case o.met && since(t, o.moved) >= 2*overrunStep:
		o.stop()
	}
}

// overruns gives the stretches in which water was kept moving for nobody: by the pump's own word where it is there.
func (b *Builder) overruns() []Overrun {
	b.overrun.stop()
	if !b.pump.seen {
		return b.overrun.found
	}
	var asked []Span
	after := map[time.Time]Use{}
	add := func(s Span, use Use) {
		asked = append(asked, s)
		after[s.To] = use
	}
	for _, d := range b.demands() {
		add(d.Span, Heating)
	}
	for _, s := range b.hotWater.spans {
		add(s, HotWater)
	}
	for _, f := range b.firings {
		if _, ok := after[f.To]; !ok {
			add(f.Span, f.Use)
		}
	}
	ends := slices.Clone(asked)
	slices.SortFunc(ends, func(x, y Span) int { return x.To.Compare(y.To) })
	asked = joined(asked)
	var out []Overrun
	for _, p := range b.pump.spans {
		for len(asked) > 0 && !asked[0].To.After(p.From) { // both are in order of time
			asked = asked[1:]
		}
		for _, s := range minus(p, asked) {
			i, _ := slices.BinarySearchFunc(ends, s.From.Add(time.Nanosecond), func(x Span, t time.Time) int { return x.To.Compare(t) })
			if i == 0 || s.From.Sub(ends[i-1].To) > overrunSlack || s.To.Equal(s.From) {
				continue // it did not run on: it was started
			}
			s.Cut = false
			out = append(out, Overrun{s, after[ends[i-1].To], ByFlame})
		}
	}
	return out
}

// askedFor tells whether heat or hot water is asked for, as far as known.
func (b *Builder) askedFor() bool {
	d := &b.demand
	if !d.seen {
		d = &b.heatActive
	}
	return d.known && d.on || b.hotWater.known && b.hotWater.on
}

// watchOverrun follows the end of what was asked for.
func (b *Builder) watchOverrun(t time.Time, before bool, use Use) {
	switch asked := b.askedFor(); {
	case before && !asked:
		b.overrun.begin(t, use)
	case asked:
		b.overrun.stop()
	}
}

// overrunWater gives the watch a source's flow and return.
func (b *Builder) overrunWater(p decode.Point, src *sourceValues, t time.Time) {
	f, r := &src.pair.flow, &src.pair.ret
	if b.overrun.on && p == decode.Flow && f.seen && r.seen && r.age(t) <= settlePair {
		b.overrun.look(src.name, t, f.v, r.v)
	}
}
