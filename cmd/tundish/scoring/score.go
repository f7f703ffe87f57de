package scoring

import (
	"context"
	"time"

	"tundish/analyse/episode"
)

// Score is all that is measured of one plant and listening, over its seeds.
type Score struct {
	Firings  Firings
	Lockouts Lockouts
	Blocks   Spans
	Demands  Spans
	Draws    Spans
	Overruns Spans
	Attempts Spans
	Silences Silences

	// Shortest is what the facts said of the shortest burn that can be told, by the length of record for which they
	// said it; Sightless the share of the record in which no firing can be told.
	Shortest  map[time.Duration]time.Duration
	Recorded  time.Duration
	Sightless time.Duration
}

// Score measures one record.
func (h *Heard) Score() Score {
	s := Score{Firings: h.Firings(), Lockouts: h.Lockouts(), Blocks: h.Blocks(), Demands: h.Demands(), Draws: h.Draws(),
		Overruns: h.Overruns(), Attempts: h.Attempts(), Silences: h.Silences(),
		Shortest: map[time.Duration]time.Duration{}, Recorded: h.Truth.Ended}
	for _, x := range h.Facts.Sights {
		s.see(x)
	}
	return s
}

func (s *Score) see(x episode.Sight) {
	if x.Basis == "" {
		s.Sightless += x.Duration()
		return
	}
	s.Shortest[x.Shortest.Round(time.Second)] += x.Duration()
}

// Add adds another record's score.
func (s *Score) Add(o Score) {
	s.Firings.Add(o.Firings)
	s.Lockouts.Add(o.Lockouts)
	s.Blocks.Add(o.Blocks)
	s.Demands.Add(o.Demands)
	s.Draws.Add(o.Draws)
	s.Overruns.Add(o.Overruns)
	s.Attempts.Add(o.Attempts)
	s.Silences.Add(o.Silences)
	if s.Shortest == nil {
		s.Shortest = map[time.Duration]time.Duration{}
	}
	for k, v := range o.Shortest {
		s.Shortest[k] += v
	}
	s.Recorded += o.Recorded
	s.Sightless += o.Sightless
}

// UsualShortest is the shortest burn that can be told in most of the record; false: none can in any of it.
func (s *Score) UsualShortest() (time.Duration, bool) {
	var best, length time.Duration
	for k, v := range s.Shortest {
		if v > length || v == length && k < best {
			best, length = k, v
		}
	}
	return best, length > 0
}

// Measure scores a plant over its seeds.
func Measure(ctx context.Context, p Plant, seeds []uint64, days int, l Listening) (Score, error) {
	var all Score
	for _, seed := range seeds {
		for _, s := range p.scenarios(seed, days) {
			h, err := Listen(ctx, s, seed, l)
			if err != nil {
				return all, err
			}
			all.Add(h.Score())
		}
	}
	return all, nil
}
