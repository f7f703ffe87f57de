package circulation

import (
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/analyse/water"
)

// verdict is what a run of firings says of the water.
type verdict uint8

const (
	unclear  verdict = iota // too short, or cut by the end of demand, and the return had not come
	follows                 // the return followed
	noWater                 // it did not, firing after firing
	onlyOnce                // it did not in one firing, and no other belongs to it
)

// bout is a run of heating firings with short pauses.
type bout struct {
	episode.Span
	firings  []*episode.Firing
	dead     []*episode.Firing // those without water
	verdict  verdict
	overheat bool // a lockout by overheating ended it
	wrong    bool // a sensor reads wrong in it
	// cold is the return at the first lighting, highest the return in the whole run, hottest the flow, °C.
	cold, highest, hottest float64
	followed               time.Duration // since the first lighting; of verdict follows
}

// findBouts groups the firings, which are in order of time, and judges each group.
func findBouts(p *analyse.Pass, firings []*episode.Firing) []bout {
	var out []bout
	for _, f := range firings {
		if n := len(out) - 1; n >= 0 && f.From.Sub(out[n].To) <= boutPause {
			out[n].firings = append(out[n].firings, f)
			out[n].To = f.To
			continue
		}
		b := bout{Span: episode.Span{From: f.From, To: f.To}, firings: []*episode.Firing{f}}
		out = append(out, b)
	}
	var all []bout
	for _, b := range out {
		all = append(all, b.parts(p)...)
	}
	for i := range all {
		if b := &all[i]; b.contradicted(p, firings) {
			b.verdict, b.wrong = unclear, true
		}
	}
	return all
}

// contradicted tells whether firings of the same day, as many as those of a run without water, had their heat carried off
// though the flow read far above the return from the start: then flow or return reads wrong in all of them, and the run's
// are only those that began with an exchanger colder than its pipes, or of which nobody saw what became of the heat.
// They are summed up, since one alone may have risen by no more than two steps of a sensor.
func (b *bout) contradicted(p *analyse.Pass, firings []*episode.Firing) bool {
	if b.verdict != noWater && b.verdict != onlyOnce {
		return false
	}
	n, rose, left := 0, 0.0, 0.0
	for _, f := range firings {
		if f.To.Add(wrongFor).Before(b.From) || f.From.After(b.To.Add(wrongFor)) {
			continue
		}
		if up, stays, ok := heatLeft(p, f); ok {
			n, rose, left = n+1, rose+up, left+stays
		}
	}
	return n > 1 && n >= len(b.dead) && left <= backShare*rose
}

// parts judges a run, and where water stops moving in it, or moves again, each part.
func (b bout) parts(p *analyse.Pass) []bout {
	var out []bout
	for i, f := range b.firings {
		kind := judge(p, f)
		if kind == noWater && (wentOff(p, f) || i+1 < len(b.firings) && goneAtNext(f, b.firings[i+1])) {
			kind = follows
		}
		n := len(out) - 1
		if n < 0 || kind != unclear && out[n].verdict != unclear && kind != out[n].verdict {
			x := bout{Span: f.Span, verdict: kind}
			out = append(out, x)
			n++
		}
		x := &out[n]
		if x.verdict == unclear {
			x.verdict = kind
		}
		x.firings, x.To = append(x.firings, f), f.To
		if kind == noWater {
			x.dead = append(x.dead, f)
		}
	}
	for i := range out {
		out[i].sum(p)
	}
	return out
}

// sum looks at a run as a whole.
func (b *bout) sum(p *analyse.Pass) {
	for i, f := range b.firings {
		r := f.Rise
		if i == 0 {
			b.cold, b.highest, b.hottest = r.ReturnStart, r.ReturnMax, r.FlowMax
		}
		b.highest, b.hottest = max(b.highest, r.ReturnMax), max(b.hottest, r.FlowMax)
		if b.followed == 0 && r.ReturnMax-b.cold >= followsShare*(r.FlowMax-b.cold) {
			b.followed = max(time.Second, f.From.Add(r.FollowedAfter).Sub(b.From))
		}
		b.overheat = b.overheat || overheated(p, f)
	}
	share := 0.0
	if b.hottest > b.cold {
		share = (b.highest - b.cold) / (b.hottest - b.cold)
	}
	switch {
	case b.verdict == noWater && (b.highest-b.cold > least && share >= followsShare):
		b.verdict = unclear // it came in the end
	case b.verdict == noWater && len(b.dead) > 1 && b.burnt() > burnShare*float64(b.Duration()):
		b.verdict = unclear // somebody took that heat
	case b.verdict == noWater && b.overheat:
	case b.verdict == noWater && (len(b.dead) < restarts || b.Duration() < boutLasts):
		b.verdict = onlyOnce
	case b.verdict == unclear && b.followed > 0 && b.highest-b.cold > least:
		b.verdict = follows
	}
}

// burnt is the time that the burner ran.
func (b *bout) burnt() (d float64) {
	for _, f := range b.firings {
		d += float64(f.Duration())
	}
	return d
}

// judge says of one firing whether water moved. What ended early because nobody asked for heat any more says nothing
// against it.
func judge(p *analyse.Pass, f *episode.Firing) verdict {
	r := f.Rise
	up := r.FlowMax - min(r.FlowStart, r.ReturnStart)
	spread, answer := r.FlowMax-r.ReturnMax, r.ReturnMax-r.ReturnStart
	answered := answer > least && answer >= followsShare*up
	carried := r.LaterSeen && spread >= leastApart && r.FlowLater-r.ReturnMax < keepsShare*spread && pumpGoesOn(p, f)
	taken := f.Duration() > 2*quickEnd && spread < farApart // somebody took the heat for that long
	switch {
	case answered, carried, taken:
		return follows
	case r.ReturnMax > coldReturn && spread < leastApart:
		if f.Use == episode.Heating && afterHotWater(p, f) { // that may be what warmed it
			return unclear
		}
		return follows
	case f.Duration() > quickEnd, spread < apart(p), answer > least && answer >= followShare*up,
		r.ReturnMax > coldReturn && spread < farApart:
		return unclear
	case !quick(p, f) && !stands(p, f):
		return unclear
	case carriedOff(p, f):
		return unclear // something took the heat, whatever flow and return read
	case circuitWarmed(p, f):
		return unclear // the return is late
	case (f.End == episode.EndDemand || f.End == episode.EndHotWater) && spread < farApart && !overheated(p, f):
		return unclear
	}
	return noWater
}

// afterHotWater tells whether hot water was made shortly before a firing.
func afterHotWater(p *analyse.Pass, f *episode.Firing) bool {
	all := p.Facts.Firings
	i, _ := slices.BinarySearchFunc(all, f.From, func(x episode.Firing, t time.Time) int { return x.From.Compare(t) })
	for i--; i >= 0 && f.From.Sub(all[i].To) <= warmsFor; i-- {
		if all[i].Use == episode.HotWater {
			return true
		}
	}
	return false
}

// quick tells whether the flow rose as fast as only a little water warms.
func quick(p *analyse.Pass, f *episode.Firing) bool {
	r := f.Rise
	if r.Fastest >= fastRise {
		return true
	}
	l, ok := warmed(p.Plant, f)
	return ok && l <= littleWater
}

// warmed is the water that a firing's heat would warm by as much as the flow rose, l.
func warmed(pl analyse.Plant, f *episode.Firing) (float64, bool) {
	rise := f.Rise.FlowMax - f.Rise.FlowStart
	kw, ok := output(pl, f)
	if !ok || rise < least {
		return 0, false
	}
	return kw * f.Duration().Seconds() / (water.VolumeHeat60 * rise), true
}

// output is a firing's mean output, kW; the least one where its modulation is not told.
func output(pl analyse.Plant, f *episode.Firing) (kw float64, ok bool) {
	if !pl.OutputMin.Known {
		return 0, false
	}
	kw = float64(pl.OutputMin.Value)
	if f.ModulationSeen && pl.OutputMax.Known {
		kw += f.MeanModulation / 100 * float64(pl.OutputMax.Value-pl.OutputMin.Value)
	}
	return kw, true
}

// circuitWarmed tells whether a firing warmed more water than an exchanger holds, though the first seconds may have been
// quick: some of the circuit's water went by, and its return is still on the way. Only
// a start with flow and return alike tells: the rise of one that lights again while hot is too small to reckon by.
func circuitWarmed(p *analyse.Pass, f *episode.Firing) bool {
	if r := f.Rise; r.FlowStart-r.ReturnStart >= alike || r.FlowMax-r.FlowStart < leastApart {
		return false
	}
	l, ok := warmed(p.Plant, f)
	return ok && l > circuitWater
}

// stands tells whether hot flow stood beside a cold return from the lighting until two minutes after the burner went
// off: where water moves it draws near the return in the pause. A burner that lights again before that shows nothing.
func stands(p *analyse.Pass, f *episode.Firing) bool {
	r := f.Rise
	return r.FlowStart-r.ReturnStart >= apart(p) && r.LaterSeen && r.FlowLater-r.ReturnMax >= apart(p)
}

// pumpGoesOn tells whether heat was still asked for two minutes after a firing, so that a pump in order runs.
func pumpGoesOn(p *analyse.Pass, f *episode.Firing) bool {
	if f.End == episode.EndFault {
		return false
	}
	later := f.To.Add(2 * time.Minute)
	for _, d := range p.Facts.Demands {
		if d.Contains(f.To) && d.Contains(later) {
			return true
		}
	}
	return false
}

// overheated tells whether a lockout by overheating followed a firing.
func overheated(p *analyse.Pass, f *episode.Firing) bool {
	for _, l := range p.Facts.Lockouts {
		if l.Cause == episode.CauseOverheat && l.From.Sub(f.To).Abs() <= lateFault {
			return true
		}
	}
	return false
}
