package scoring

import (
	"time"

	"tundish/analyse/episode"
)

// Resolved is the score at the resolution that the facts themselves state, see [episode.Sight]: the true firings as they
// would be told by somebody who runs together what lies closer than the shortest pause that can be told, and leaves out
// what is shorter than the shortest burn.
type Resolved struct {
	True    int // firings at that resolution, in sight
	Found   int // all that were found
	Matched int // of True
	Right   int // of Found: they match a firing at that resolution, or a true one as it was
	Rough   int // of Found: the facts say that their times are not sharp
}

// Precision is the share of found ones that are right; NaN where none was found.
func (r Resolved) Precision() float64 { return share(r.Right, r.Found) }

// Recall is the share of the firings at the stated resolution that were found; NaN where there was none.
func (r Resolved) Recall() float64 { return share(r.Matched, r.True) }

// Add adds another record's score.
func (r *Resolved) Add(o Resolved) {
	r.True += o.True
	r.Found += o.Found
	r.Matched += o.Matched
	r.Right += o.Right
	r.Rough += o.Rough
}

// resolved scores at the stated resolution. right are the found ones that match a true one as it was; hide tells which
// of two spans' list cannot be judged.
func (h *Heard) resolved(really []span, found []span, right []bool, trueAside []bool, foundAside func(j int) bool) (out Resolved) {
	merged, aside := h.runTogether(really, trueAside)
	tolerance := h.Listening.Tolerance()
	hit := make([]bool, len(merged))
	good := append([]bool(nil), right...)
	for i, j := range spanPairs(merged, found, tolerance) {
		if j >= 0 {
			hit[i], good[j] = true, true
		}
	}
	for i, j := range byOverlap(merged, found) { // of a rough one no more is claimed than that it was
		if j >= 0 && h.Facts.Firings[j].Rough {
			hit[i], good[j] = true, true
		}
	}
	for i, s := range merged {
		if aside[i] || !h.claimed(s) {
			continue
		}
		out.True++
		if hit[i] {
			out.Matched++
		}
	}
	for j, f := range h.Facts.Firings {
		if !good[j] && foundAside(j) {
			continue
		}
		out.Found++
		if good[j] {
			out.Right++
		}
		if f.Rough {
			out.Rough++
		}
	}
	return out
}

// runTogether joins firings that lie closer together than can be told. One that is set aside stays for itself.
func (h *Heard) runTogether(really []span, aside []bool) (out []span, outAside []bool) {
	for i, s := range really {
		n := len(out) - 1
		if n >= 0 && !aside[i] && !outAside[n] && s.from-out[n].to < h.shortestAt(s.from) {
			out[n].to = s.to
			continue
		}
		out, outAside = append(out, s), append(outAside, aside[i])
	}
	return out, outAside
}

// shortestAt is the shortest burn or pause that can be told at a time; 0: not known.
func (h *Heard) shortestAt(t time.Duration) time.Duration {
	if x := h.sightOf(span{t, t}); x != nil {
		return x.Shortest
	}
	return 0
}

// claimed tells whether the facts claim to be able to tell a firing.
func (h *Heard) claimed(s span) bool {
	x := h.sightOf(s)
	return x != nil && s.length() >= x.Shortest
}

// sightOf is the stretch of sight in which a span lies; nil: in none.
func (h *Heard) sightOf(s span) *episode.Sight {
	for i, sight := range h.Facts.Sights {
		if x := h.spanOf(sight.Span); sight.Basis != "" && s.from >= x.from && s.to <= x.to {
			return &h.Facts.Sights[i]
		}
	}
	return nil
}
