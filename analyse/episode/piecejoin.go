package episode

import (
	"slices"
	"strings"
	"time"
)

// Join puts the parts of a record from…to together. They are in order of time and lie side by side; the result does not
// depend on who worked them out. What spans several pieces is told by the piece in which it begins, and ends as the
// last piece that saw it says.
func Join(cfg Config, parts []*Part, from, to time.Time) *Facts {
	b := NewBuilder(cfg)
	var joins joiner
	n := 0
	for _, p := range parts {
		n += len(p.Firings)
	}
	b.firings = make([]Firing, 0, n)
	for _, p := range parts {
		joins.part(b, p)
	}
	b.unmet.found = slices.DeleteFunc(b.unmet.found, func(u unmetFound) bool { return u.Asked < u.least() })
	silences := b.joinSilences(parts)
	sights := append(b.byFlame(), joins.sights...)
	slices.SortStableFunc(sights, func(x, y Sight) int { return x.From.Compare(y.From) })
	slices.SortStableFunc(b.firings, func(x, y Firing) int { return x.From.Compare(y.From) })
	b.stoppedTogether(silences)
	b.stoppedByCount(silences)
	b.withoutMains(silences)
	b.joinPieces()
	b.endByMains(silences)
	b.burnedMeanwhile(silences)
	b.useByWord()
	b.useByReheat()
	b.useByWater()
	f := &Facts{From: from, To: to, Firings: b.firings, Sights: sights, Silences: silences, Gaps: b.gaps(), Listened: b.sourcesListened()}
	f.Disputes = b.disputes.found()
	f.Demands = b.demands()
	f.Unmet = b.unmets()
	f.Draws = b.draws()
	f.Overruns = b.overruns()
	b.goneMeanwhile()
	b.toldBefore(f.Demands)
	f.Lockouts = b.lockouts
	f.Attempts = b.allAttempts(f.Lockouts)
	f.Days = b.days.days
	if n := len(f.Days) - 1; n >= 0 {
		f.Days[n].To = earlier(f.Days[n].To, to)
	}
	return f
}

// joiner goes from part to part.
type joiner struct {
	levels  [8]struct{ spans, sight bool } // their last span goes on
	reheats bool
	sights  []Sight
}

func (j *joiner) part(b *Builder, p *Part) {
	for i, x := range []struct {
		into *level
		from *levelPart
	}{{&b.flame, &p.Flame}, {&b.demand, &p.Demand}, {&b.heatActive, &p.HeatActive}, {&b.hotWater, &p.HotWater},
		{&b.draw, &p.Draw}, {&b.supply, &p.Supply}, {&b.pump, &p.Pump}, {&b.fault, &p.Fault}} {
		l, open := x.into, &j.levels[i]
		if x.from.Seen {
			l.seen, l.owner = true, x.from.Owner
		}
		l.spans, open.spans = appendBits(l.spans, open.spans, x.from.Spans)
		l.sight, open.sight = appendBits(l.sight, open.sight, x.from.Sight)
	}
	for _, x := range p.FlameCadence {
		b.flame.cadence.AddBin(x)
	}
	b.reheats.found, j.reheats = appendBits(b.reheats.found, j.reheats, p.Reheats)
	b.reheats.seen = b.reheats.seen || p.Cylinder
	b.output.flame = b.output.flame || p.OutputFlame
	b.output.power.seen = b.output.power.seen || p.OutputPower
	j.firings(b, p)
	j.lockouts(b, p)
	j.unmet(b, p)
	for _, s := range p.Sights {
		if n := len(j.sights) - 1; n >= 0 && !p.whole() && s.From.Equal(p.Piece.From) && goesOn(j.sights[n], s) {
			j.sights[n].To = s.To
			continue
		}
		j.sights = append(j.sights, s)
	}
	b.tries.list = append(b.tries.list, p.Attempts...)
	b.overrun.found = append(b.overrun.found, p.Overruns...)
	b.days.days = append(b.days.days, p.Days...)
	b.disputes.join(p.Disputes)
	for _, c := range p.Starts {
		own := b.startsOf(c.Source)
		own.across = append(own.across, c.Across...)
	}
}

func (p *Part) whole() bool { return p.Piece.whole() }

// goesOn tells whether a sight is the same as the one before, but for midnight.
func goesOn(x, y Sight) bool {
	at := y.Span
	y.Span = x.Span
	return x == y && x.To.Equal(at.From)
}

// firings takes those of a part. One that the part before saw is the same where both overlap.
func (j *joiner) firings(b *Builder, p *Part) {
	before := len(b.firings)
	for _, f := range p.Firings {
		if p.whole() {
			b.firings = append(b.firings, f)
			continue
		}
		i := before - 1
		for ; i >= 0 && !sameFiring(b.firings[i], f); i-- {
			if b.firings[i].To.Before(f.From.Add(-24 * time.Hour)) {
				i = -1
				break
			}
		}
		switch {
		case i >= 0:
			switch g := &b.firings[i]; {
			case g.Open && f.To.After(g.To) && f.Basis != ByShape && p.Piece.sawBegin(f):
				*g = p.Piece.seenWhole(*g, f)
			case g.Open && f.To.After(g.To):
				*g = extended(*g, f)
			case g.To.After(p.Piece.From.Add(Tail - watchedAfter)): // the earlier piece did not watch it for long enough after it
				g.watched(f)
			}
		case !f.From.Before(p.Piece.From.Add(-nearBorder)):
			b.firings = append(b.firings, f)
		}
	}
}

// watchedAfter is for how long a firing is watched after its end at the most: riseAfter and settlePair.
const watchedAfter = riseAfter + settlePair

// sameFiring tells whether two pieces saw one firing: they overlap by half of the shorter at least.
func sameFiring(f, g Firing) bool {
	if f.Basis != g.Basis {
		return false
	}
	if f.From.Equal(g.From) || f.To.Equal(g.To) {
		return true
	}
	if f.Open && g.Cut {
		return f.Overlap(g.Span) > 0
	}
	return 2*f.Overlap(g.Span) >= min(f.Duration(), g.Duration()) && f.Overlap(g.Span) > 0
}

// seenWhole is a firing whose end the next piece saw, as well as its beginning: g, as that piece saw it, tells all but
// what was before it.
func (p Piece) seenWhole(f, g Firing) Firing {
	before := f
	f.watched(g)
	rise := f.Rise
	f = g
	f.From, f.Cut, f.Rough, f.Start = before.From, before.Cut, before.Rough || g.Rough, before.Start
	if g.From.Sub(p.Begins()) < seenBefore { // it had not looked for long
		f.Rise, f.Excess.Resumed = rise, before.Excess.Resumed || g.Excess.Resumed
	}
	return f
}

// seenBefore is for how long a piece must have looked at the water before a firing to tell of its rise as one that saw
// more. Own proposal: longer than [excessResumes] and a sensor's slowest turn.
const seenBefore = 30 * time.Minute

// extended is a firing whose end the next piece saw: g is what that piece saw of it.
func extended(f, g Firing) Firing {
	seen, more := f.Duration().Seconds(), g.To.Sub(f.To).Seconds()
	part := 1.0 // of what g tells that f does not
	if f.Basis == ByShape {
		part = more / max(g.Duration().Seconds(), 1)
	}
	mean := func(x, y, wx, wy float64) float64 {
		if wx+wy <= 0 {
			return y
		}
		return (x*wx + y*wy) / (wx + wy)
	}
	if f.ModulationSeen && g.ModulationSeen {
		f.MeanModulation, f.MinModulation = mean(f.MeanModulation, g.MeanModulation, seen, more), min(f.MinModulation, g.MinModulation)
	} else if g.ModulationSeen {
		f.MeanModulation, f.MinModulation, f.ModulationSeen = g.MeanModulation, g.MinModulation, true
	}
	if f.FlowSeen && g.FlowSeen {
		f.FlowMax = max(f.FlowMax, g.FlowMax)
	} else if g.FlowSeen {
		f.FlowStart, f.FlowMax, f.FlowSeen = g.FlowStart, g.FlowMax, true
	}
	if g.FlowSeen {
		f.FlowEnd = g.FlowEnd
	}
	if g.DeltaSeen {
		f.DeltaEnd, f.DeltaSeen = g.DeltaEnd, true
	}
	if g.SetpointSeen {
		f.SetpointEnd, f.SetpointSeen = g.SetpointEnd, true
	}
	settled := slices.Clone(f.Settled)
	for _, y := range g.Settled {
		i := slices.IndexFunc(settled, func(x SettledDelta) bool { return x.Source == y.Source })
		if i < 0 {
			settled = append(settled, y)
			continue
		}
		x := &settled[i]
		wx, wy := x.For.Seconds(), y.For.Seconds()*part
		x.Mean, x.MeanFlow = mean(x.Mean, y.Mean, wx, wy), mean(x.MeanFlow, y.MeanFlow, wx, wy)
		if x.ModSeen && y.ModSeen {
			x.Modulation = mean(x.Modulation, y.Modulation, wx, wy)
		}
		x.For, x.To = x.For+seconds(wy), later(x.To, y.To)
	}
	f.Settled = settled
	f.watched(g)
	f.To, f.Open, f.Rough = g.To, g.Open, f.Rough || g.Rough
	return f
}

// watched takes what g, the same firing as the next piece saw it, tells of its end and the minutes after it.
func (f *Firing) watched(g Firing) {
	if g.Excess.Resumed { // hot water was made while g was seen: what was before it does not count
		f.Excess = g.Excess
	}
	if g.Excess.OwnSeen && f.Excess.OwnSeen {
		f.Excess.Own = max(f.Excess.Own, g.Excess.Own)
	}
	if g.Excess.OtherSeen && f.Excess.OtherSeen {
		f.Excess.Other = max(f.Excess.Other, g.Excess.Other)
	}
	f.Excess.Setpoint = max(f.Excess.Setpoint, g.Excess.Setpoint)
	if g.Rise.LaterSeen || g.Rise.Followed {
		f.Rise.FlowLater, f.Rise.LaterSeen = g.Rise.FlowLater, g.Rise.LaterSeen
		f.Rise.FlowMax, f.Rise.ReturnMax = max(f.Rise.FlowMax, g.Rise.FlowMax), max(f.Rise.ReturnMax, g.Rise.ReturnMax)
	}
	if f.Rise.Seen && g.Rise.Seen {
		f.Rise.ReturnEnd = g.Rise.ReturnEnd
	}
	f.End = g.End
}

// lockouts takes the faults of a part. One that the part before saw is the same where both overlap.
func (j *joiner) lockouts(b *Builder, p *Part) {
	before := len(b.lockouts)
	for _, l := range p.Lockouts {
		if before == 0 || p.whole() {
			b.lockouts = append(b.lockouts, l)
			continue
		}
		g := &b.lockouts[before-1]
		switch same := l.From.Equal(g.From) || l.Overlap(g.Span) > 0 || g.Open && l.Cut && !l.From.Before(p.Piece.From); {
		case same && g.Open && (l.To.After(g.To) || !l.Open):
			g.goesOn(l)
		case !same && !l.From.Before(p.Piece.From):
			b.lockouts = append(b.lockouts, l)
		}
	}
}

// goesOn takes the end of a fault from l, the same fault as the next piece saw it. What was before it, and mostly its
// cause, was seen by the piece that saw its onset.
func (l *Lockout) goesOn(next Lockout) {
	flags := next.Flags > 0 && next.Flags&flagCauses != 0 && (l.Flags < 0 || l.Flags&flagCauses == 0)
	lower := l.Cause == CauseLowPressure && next.Cause == CauseLowPressure // the pressure went on falling
	if l.Cause == CauseUnknown || !next.Cut && (flags || lower) {
		l.Cause, l.CauseWhy = next.Cause, next.CauseWhy
	}
	if l.Flags <= 0 || flags {
		l.Flags = next.Flags
	}
	if l.Code <= 0 {
		l.Code = next.Code
	}
	if l.Diagnostic <= 0 {
		l.Diagnostic = next.Diagnostic
	}
	l.To, l.Open, l.GoneBy, l.Reset, l.Locked, l.Why = next.To, next.Open, next.GoneBy, next.Reset, next.Locked, next.Why
	switch l.Reset {
	case ResetCommand, ResetPower, ResetRefill:
	default:
		if l.Cause == CauseIgnition || l.Cause == CauseFlameLoss {
			l.withoutSign(strings.HasSuffix(next.Why, saidResettable))
		}
	}
}

// goneMeanwhile says of a fault that still stood when nobody looked any more, and was gone when the appliance was next
// seen, by when that was: where that is a later piece, none saw both.
func (b *Builder) goneMeanwhile() {
	for i := range b.lockouts {
		l := &b.lockouts[i]
		if !l.Open {
			continue
		}
		n, _ := slices.BinarySearchFunc(b.fault.sight, l.To, func(s Span, t time.Time) int { return s.From.Compare(t.Add(1)) })
		if n < len(b.fault.sight) {
			l.Open, l.GoneBy = false, b.fault.sight[n].From
			l.withoutSign(strings.HasSuffix(l.Why, saidResettable))
		}
	}
}

// toldBefore says of lockouts what happened longer before them than a piece looks back.
func (b *Builder) toldBefore(demands []Demand) {
	i, k := 0, 0
	var last Span
	for j := range b.lockouts {
		p := &b.lockouts[j].Preceding
		asPieceSaw := *p
		for ; i < len(b.firings) && b.firings[i].From.Before(b.lockouts[j].From); i++ {
			if b.firings[i].Basis != ByShape {
				last = b.firings[i].Span
			}
		}
		switch {
		case last.From.IsZero():
		case p.LastFiring.From.IsZero():
			p.LastFiring = last
			p.LastFiring.To = earlier(last.To, b.lockouts[j].From)
		case last.Overlap(p.LastFiring) > 0:
			p.LastFiring.From, p.LastFiring.Cut = last.From, last.Cut
		}
		for ; k < len(demands) && demands[k].To.Before(p.DemandSince); k++ {
		}
		if !p.DemandSince.IsZero() && k < len(demands) && demands[k].From.Before(p.DemandSince) {
			p.DemandSince = demands[k].From
		}
		if p.LastFiring != asPieceSaw.LastFiring || !p.DemandSince.Equal(asPieceSaw.DemandSince) {
			b.lockouts[j].retold(asPieceSaw)
		}
	}
}

// joinSilences puts the silences of the parts together, and explains what the supply explains.
func (b *Builder) joinSilences(parts []*Part) []Silence {
	var all []Silence
	for i, w := range b.buses {
		var found []foundSilence
		var last time.Time
		for _, p := range parts {
			x := &p.Buses[i]
			w.ever = w.ever || x.Ever
			if len(b.sessions) == 0 && x.Ever {
				if !last.IsZero() && x.First.Sub(last) >= holdAtLeast {
					s := foundSilence{Silence: Silence{Span: Span{From: last, To: x.First}, Source: w.source}}
					found = addSilence(found, len(found), s)
				}
				last = x.Last
			}
			n := len(found)
			for _, s := range x.Found {
				found = addSilence(found, n, s)
			}
		}
		for _, s := range found {
			s.Never = !w.ever
			all = append(all, b.explain(s.told())...)
		}
	}
	slices.SortStableFunc(all, func(x, y Silence) int { return x.From.Compare(y.From) })
	return all
}

// addSilence takes a silence of a part; the first n of found are of the parts before, and the same where they overlap.
func addSilence(found []foundSilence, n int, s foundSilence) []foundSilence {
	if n == 0 || s.Overlap(found[n-1].Span) <= 0 {
		return append(found, s)
	}
	g := &found[n-1]
	if s.From.Before(g.From) {
		g.From, g.Cut = s.From, s.Cut
	}
	if s.To.After(g.To) {
		g.To, g.Open = s.To, s.Open
	}
	if g.Lost == "" {
		g.Lost = s.Lost
	}
	g.Warm = slices.Clone(g.Warm)
	for _, x := range s.Warm {
		if i := slices.IndexFunc(g.Warm, func(y warming) bool { return y.Source == x.Source }); i >= 0 {
			g.Warm[i].Rise, g.Warm[i].End = max(g.Warm[i].Rise, x.Rise), x.End // it fell from the first minutes on as the first piece saw it
		} else {
			g.Warm = append(g.Warm, x)
		}
	}
	return found
}
