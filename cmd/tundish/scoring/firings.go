package scoring

import (
	"tundish/analyse/episode"
	"tundish/cmd/tundish/house"
)

// Firings is the score of the burner's runs.
type Firings struct {
	Tally
	Told        Resolved
	Unseen      int // set aside because their water never passed the probes; part of Aside
	Start, Stop Edges
	UseRight    int // of the matched
	Ends        int // of the matched: those whose reason to end is known by the truth
	EndRight    int
}

// Add adds another record's score.
func (f *Firings) Add(o Firings) {
	f.Tally.Add(o.Tally)
	f.Start.Add(o.Start)
	f.Stop.Add(o.Stop)
	f.Told.Add(o.Told)
	f.Unseen += o.Unseen
	f.UseRight += o.UseRight
	f.Ends += o.Ends
	f.EndRight += o.EndRight
}

// Firings scores the firings.
func (h *Heard) Firings() (out Firings) {
	tolerance := h.Listening.Tolerance()
	if h.Listening.Bus() && h.Scenario.Boiler.Kind == house.HeatPump {
		tolerance += (modulationEvery - 1) * h.Listening.Status
	}
	blind, margin := h.blind(), edgeOfSight+tolerance
	really, unseen := h.trueFirings()
	found := make([]span, len(h.Facts.Firings))
	for j, f := range h.Facts.Firings {
		found[j] = h.spanOf(f.Span)
	}
	aside := make([]bool, len(really))
	for i, s := range really {
		aside[i] = unseen[i] || hidden(s, blind, margin)
		if unseen[i] {
			out.Unseen++
		}
	}
	used := make([]bool, len(found))
	for i, j := range spanPairs(really, found, tolerance) {
		if j >= 0 {
			used[j] = true
		}
		if aside[i] {
			out.Aside++
			continue
		}
		out.True++
		if j < 0 {
			continue
		}
		out.Matched++
		out.Found++
		out.compare(h.Truth.Firings[i], h.Facts.Firings[j])
	}
	besides := func(j int) bool { return hidden(found[j], blind, margin) || touchesAny(found[j], really, unseen) }
	for j := range found {
		if !used[j] && !besides(j) {
			out.Found++
		}
	}
	var onPipes []span // a rest in between in which only the plate was heated is a rest to them
	var onPipesAside []bool
	for i, s := range really {
		if !unseen[i] {
			onPipes, onPipesAside = append(onPipes, s), append(onPipesAside, aside[i])
		}
	}
	out.Told = h.resolved(onPipes, found, used, onPipesAside, besides)
	for i, j := range byOverlap(really, found) {
		if j >= 0 && !aside[i] {
			out.Start.Note(found[j].from, really[i].from)
			out.Stop.Note(found[j].to, really[i].to)
		}
	}
	return out
}

// compare looks at what else was said of a firing that was found.
func (f *Firings) compare(really house.Firing, told episode.Firing) {
	if really.Use == told.Use {
		f.UseRight++
	}
	if really.End != episode.EndUnknown && really.End != episode.EndRecord {
		f.Ends++
		if really.End == told.End {
			f.EndRight++
		}
	}
}

// trueFirings are the true ones, and which of them the probes cannot see.
func (h *Heard) trueFirings() (all []span, unseen []bool) {
	blindToTaps := !h.Listening.Bus() && h.Scenario.HotWater.Kind == house.Instantaneous
	for _, f := range h.Truth.Firings {
		s, hid := spanOfTruth(f.Span), false
		for _, d := range h.Truth.Draws {
			hid = hid || blindToTaps && s.overlap(spanOfTruth(d)) > 0
		}
		all, unseen = append(all, s), append(unseen, hid)
	}
	return all, unseen
}

// touchesAny tells whether a span touches one of those that are marked.
func touchesAny(s span, all []span, marked []bool) bool {
	for i, o := range all {
		if marked[i] && s.touches(o) {
			return true
		}
	}
	return false
}
