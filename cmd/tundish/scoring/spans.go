package scoring

import (
	"time"

	"tundish/analyse/episode"
	"tundish/cmd/tundish/house"
)

// offset is a moment of the record as offset from the scenario's start.
func (h *Heard) offset(t time.Time) time.Duration { return t.Sub(h.Scenario.Start) }

func (h *Heard) spanOf(s episode.Span) span { return span{h.offset(s.From), h.offset(s.To)} }

func spanOfTruth(s house.Span) span { return span{s.From, s.To} }

// Spans is the score of episodes that are no more than their edges: demands, draws, overruns.
type Spans struct {
	Tally
	Start, Stop Edges
	Right       int // of the matched: also of the right kind, where the episode has one
}

// Add adds another record's score.
func (s *Spans) Add(o Spans) {
	s.Tally.Add(o.Tally)
	s.Start.Add(o.Start)
	s.Stop.Add(o.Stop)
	s.Right += o.Right
}

// spans scores two lists of spans, matched by both edges. right tells whether a matched pair also agrees in kind.
func (h *Heard) spans(really, found []span, tolerance time.Duration, right func(i, j int) bool) Spans {
	return h.spansBy(really, found, tolerance, spanPairs(really, found, tolerance), right)
}

// spansBy scores two lists of spans that are paired.
func (h *Heard) spansBy(really, found []span, tolerance time.Duration, of []int, right func(i, j int) bool) (out Spans) {
	blind, margin := append(h.blind(), h.cutOff()...), edgeOfSight+tolerance
	used := make([]bool, len(found))
	for i, j := range of {
		aside := hidden(really[i], blind, margin)
		if j >= 0 {
			used[j] = true
		}
		switch {
		case aside:
			out.Aside++
			continue
		case j >= 0:
			out.Matched++
			out.Found++
			if right(i, j) {
				out.Right++
			}
		}
		out.True++
	}
	for j, f := range found {
		if !used[j] && !hidden(f, blind, margin) {
			out.Found++
		}
	}
	for i, j := range byOverlap(really, found) {
		if j >= 0 && !hidden(really[i], blind, margin) {
			out.Start.Note(found[j].from, really[i].from)
			out.Stop.Note(found[j].to, really[i].to)
		}
	}
	return out
}
