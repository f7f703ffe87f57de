package scoring

import (
	"cmp"
	"slices"
	"time"

	"tundish/analyse/episode"
)

// shortSilence is the length under which a silence is no silence yet (package episode looks from a minute on), with
// what the bus needs to speak again.
const shortSilence = time.Minute + 15*time.Second

// quiet is a silence, or a stretch in which no logger ran, which package episode tells as a gap.
type quiet struct {
	span
	reason episode.SilenceReason
}

func (h *Heard) quiets() (all []quiet) {
	for _, s := range h.Facts.Silences {
		all = append(all, quiet{h.spanOf(s.Span), s.Reason})
	}
	for _, g := range h.Facts.Gaps {
		all = append(all, quiet{h.spanOf(g), episode.SilenceLogger})
	}
	slices.SortStableFunc(all, func(a, b quiet) int { return cmp.Compare(a.from, b.from) })
	return all
}

// Silences scores the silences of the bus that last long enough to be one; right: for the right reason. One whose reason
// was left open is neither right nor wrong.
func (h *Heard) Silences() (out Silences) {
	if !h.Listening.Bus() {
		return out
	}
	var really, found []span
	for _, s := range h.Truth.Silences {
		really = append(really, spanOfTruth(s.Span))
	}
	told := h.quiets()
	for _, q := range told {
		found = append(found, q.span)
	}
	out.Found = len(found)
	for i, j := range spanPairs(really, found, edgeOfSight) {
		if really[i].length() < shortSilence {
			out.Aside++
			if j >= 0 {
				out.Found--
			}
			continue
		}
		out.True++
		if j < 0 {
			continue
		}
		out.Matched++
		out.Start.Note(found[j].from, really[i].from)
		out.Stop.Note(found[j].to, really[i].to)
		switch told[j].reason {
		case h.Truth.Silences[i].Reason:
			out.Right++
		case episode.SilenceUnexplained:
			out.LeftOpen++
		}
	}
	return out
}

// Silences is the score of the silences.
type Silences struct {
	Spans
	LeftOpen int // of the matched: no reason was told, and there was one
}

// Add adds another record's score.
func (s *Silences) Add(o Silences) {
	s.Spans.Add(o.Spans)
	s.LeftOpen += o.LeftOpen
}
