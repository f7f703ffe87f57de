package cycling

import (
	"fmt"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

const (
	// fineEnough is the shortest burn or pause that must be told for a burn to count that is as short as can be told, and
	// for "clear" to be said: half of what is short.
	fineEnough = shortBurn / 2
	// seenEnough is the share of the record in which burns must have been told so finely. As for the readings of a
	// check. Own proposal.
	seenEnough = 0.8
	// standingDelta and standingShare are the ΔT at the end of a burn told by shape, K and by the design's, from which
	// the water stands rather than takes heat: short burns under hot standing water do not show.
	standingDelta, standingShare = 35.0, 1.75
	// quietFor is how long without any burn told by shape it is open whether none came or none showed.
	quietFor = 24 * time.Hour
)

// tells whether burns under five minutes can be told over the stretch.
func tells(s episode.Sight) bool { return s.Basis != "" && s.Shortest <= fineEnough }

// sharp tells whether a firing told by shape counts: it is sure of its times, or burns far shorter than five minutes
// can be told where it lies.
func sharp(f *episode.Facts, x episode.Firing) bool {
	if x.Basis != episode.ByShape || !x.Rough {
		return true
	}
	for _, s := range f.Sights {
		if s.Contains(x.From) && s.Basis == episode.ByShape {
			return tells(s)
		}
	}
	return false
}

// shapeOnly tells whether the burner's own signal is missing for most of the time.
func shapeOnly(p *analyse.Pass) bool { return p.Share(decode.Flame) < seenEnough }

// stood is how long the water may have stood under firings told by shape, and the longest of them.
func stood(p *analyse.Pass) (time.Duration, episode.Sight) {
	var d time.Duration
	var worst episode.Sight
	for _, s := range standing(p) {
		if d += s.Duration(); s.Duration() > worst.Duration() {
			worst = s
		}
	}
	return d, worst
}

// seenShare is the share of the record in which short burns could be told, and the longest stretch in which not.
func seenShare(p *analyse.Pass) (float64, episode.Sight) {
	total := p.Facts.To.Sub(p.Facts.From)
	for _, g := range p.Facts.Gaps {
		total -= g.Duration()
	}
	dead := map[string]time.Duration{}
	for _, s := range p.Facts.Silences {
		if s.Reason == episode.SilenceNoMains {
			dead[s.Source] += s.Duration()
		}
	}
	var good time.Duration
	var worst episode.Sight
	var off time.Duration
	for _, s := range p.Facts.Sights {
		if s.Basis == episode.ByFlame {
			off = max(off, dead[s.Source])
		}
		if tells(s) {
			good += s.Duration()
		} else if s.Duration() > worst.Duration() {
			worst = s
		}
	}
	for _, s := range hidden(p) {
		for _, x := range p.Facts.Sights {
			if x.Basis == episode.ByShape && tells(x) {
				good -= s.Overlap(x.Span)
			}
		}
		if s.Duration() > worst.Duration() {
			worst = s
		}
	}
	if total -= off; total <= 0 {
		return 0, worst
	}
	return max(0, min(1, float64(good)/float64(total))), worst
}

// hidden are the stretches in which burns told by shape may not have shown.
func hidden(p *analyse.Pass) []episode.Sight {
	out := standing(p)
	last := p.Facts.From
	quiet := func(to time.Time) {
		if to.Sub(last) >= quietFor {
			out = append(out, episode.Sight{Span: episode.Span{From: last, To: to},
				Because: "for " + analyse.Span(to.Sub(last)) + " no burn was seen, and none would show by probes if the water stood"})
		}
	}
	for _, f := range p.Facts.Firings {
		quiet(f.From)
		last = later(last, f.To)
	}
	quiet(p.Facts.To)
	return out
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// standing are the heating firings told by shape in which flow and return lie so far apart as where the water stands.
func standing(p *analyse.Pass) []episode.Sight {
	var out []episode.Sight
	limit := standingDelta
	if d, ok := p.Plant.DesignDeltaT(); ok {
		limit = max(limit, standingShare*float64(d))
	}
	for _, f := range p.Facts.Firings {
		if delta := widest(f); f.Basis == episode.ByShape && f.Use == episode.Heating && delta >= limit {
			out = append(out, episode.Sight{Span: f.Span,
				Because: fmt.Sprintf("flow and return were %.0f K apart in what looks like a burn of %s, as where the water stands, and there short burns do not show", delta, analyse.Span(f.Duration()))})
		}
	}
	return out
}

// widest is the widest ΔT known of a firing, K: at its end or while it was settled.
func widest(f episode.Firing) float64 {
	widest := 0.0
	if f.DeltaSeen {
		widest = f.DeltaEnd
	}
	for _, s := range f.Settled {
		widest = max(widest, s.Mean)
	}
	return widest
}

// unseen says why short burns would not have shown, and what would show them.
func unseen(share float64, worst episode.Sight) string {
	why := fmt.Sprintf("burns under %s could be told for only %.0f %% of the time", analyse.Span(shortBurn), share*100)
	switch {
	case worst.Basis == "" && worst.Because != "":
		why += ": " + worst.Because
	case worst.Basis == episode.ByShape:
		why += fmt.Sprintf(": by flow and return, read every %s, burns and pauses shorter than %s can be missed (%s)",
			analyse.Span(worst.Interval), analyse.Span(worst.Shortest), worst.Because)
	case worst.Basis != "":
		why += fmt.Sprintf(": burns shorter than %s can be missed (%s)", analyse.Span(worst.Shortest), worst.Because)
	}
	return why + "; connect the boiler's bus or a flame contact"
}
