package lockout

import (
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
)

// frostFor is how long it must have frozen for pipes outside to freeze. Own proposal.
const frostFor = 2 * time.Hour

// occasions are the lockouts of a cause, those near each other as one: the first.
func occasions(locked []episode.Lockout, cause string) []episode.Lockout {
	var out []episode.Lockout
	var last time.Time
	for _, l := range locked {
		if l.Cause != cause || l.Cut {
			continue
		}
		if last.IsZero() || l.From.Sub(last) > oneOccasion {
			out = append(out, l)
		}
		last = l.To
	}
	return out
}

// startsThatWorked are the firings, by their place, that were lit in sight, held, and did not end in a fault.
func startsThatWorked(p *analyse.Pass, locked []episode.Lockout) []int {
	lost := map[time.Time]bool{}
	for _, l := range locked {
		if l.Cause == episode.CauseFlameLoss || l.Cause == episode.CauseOverheat {
			lost[l.Preceding.LastFiring.From] = true
		}
	}
	var out []int
	for i, f := range p.Facts.Firings {
		if f.Basis == episode.ByFlame && !f.Cut && f.End != episode.EndFault && f.End != episode.EndFlameLoss && !lost[f.From] {
			out = append(out, i)
		}
	}
	return out
}

// atFiring is what was known of the start of a firing.
func atFiring(p *analyse.Pass, i int) circumstance {
	f := p.Facts.Firings[i]
	c := circumstance{outside: f.Start.Outside, pressure: f.Start.Pressure, flow: f.Start.Flow, hour: hourOf(p, f.From)}
	c.frost = frostOf(c.outside, f.Start.Frost)
	if i > 0 {
		c.rest = restOf(p, p.Facts.Firings[i-1].Span, f.From)
	}
	if f.ModulationSeen {
		c.modulation = episode.Maybe{Value: float32(f.MeanModulation), Known: true}
	}
	return c
}

// atLockout is what was known of the start that ended in a lockout: of the firing itself where a flame held before it.
func atLockout(p *analyse.Pass, l episode.Lockout) circumstance {
	b := l.Preceding
	if l.Cause == episode.CauseFlameLoss || l.Cause == episode.CauseOverheat {
		for i, f := range p.Facts.Firings {
			if f.From.Equal(b.LastFiring.From) && f.Basis == episode.ByFlame {
				return atFiring(p, i)
			}
		}
	}
	at := l.From
	if len(b.Attempts) > 0 {
		at = b.Attempts[0].At
	}
	c := circumstance{outside: maybe(b.Outside), pressure: maybe(b.Pressure), flow: maybe(b.Flow), hour: hourOf(p, at)}
	c.frost = frostOf(c.outside, b.Frost)
	if !b.LastFiring.From.IsZero() {
		c.rest = restOf(p, b.LastFiring, at)
	}
	return c
}

func maybe(v *float64) episode.Maybe {
	if v == nil {
		return episode.Maybe{}
	}
	return episode.Maybe{Value: float32(*v), Known: true}
}

func frostOf(outside episode.Maybe, d time.Duration) episode.Maybe {
	m := episode.Maybe{Known: outside.Known}
	if d >= frostFor {
		m.Value = 1
	}
	return m
}

// restOf is how long the burner rested before a start, min; not known where nobody looked meanwhile.
func restOf(p *analyse.Pass, last episode.Span, at time.Time) episode.Maybe {
	if last.Open || at.Before(last.To) {
		return episode.Maybe{}
	}
	rest := episode.Span{From: last.To, To: at}
	for _, g := range p.Facts.Gaps {
		if g.Overlap(rest) > 0 {
			return episode.Maybe{}
		}
	}
	for _, s := range p.Facts.Silences {
		if s.Overlap(rest) > 0 {
			return episode.Maybe{}
		}
	}
	return episode.Maybe{Value: float32(rest.Duration().Minutes()), Known: true}
}

func hourOf(p *analyse.Pass, t time.Time) float64 {
	zone := p.Site.Zone
	if zone == nil {
		zone = time.UTC
	}
	t = t.In(zone)
	return float64(t.Hour()) + float64(t.Minute())/60 + float64(t.Second())/3600
}
