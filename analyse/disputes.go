package analyse

import (
	"fmt"
	"slices"
	"time"

	"tundish/analyse/episode"
	"tundish/decode"
)

const (
	// disputeLeast is for how long two sources of one 0/1 point must say different things for it to be told. Own proposal.
	disputeLeast = 5 * time.Minute
	// oppositeShare is the share of the time from which they say the opposite of each other. Own proposal.
	oppositeShare = 0.9
)

// DisputeWords says how two sources of one 0/1 point contradict each other; "" where they hardly do.
func DisputeWords(d episode.Dispute, buses []string) string {
	if d.Apart < disputeLeast {
		return ""
	}
	opposite := float64(d.Apart) >= oppositeShare*float64(d.Together)
	if d.Point == decode.Supply && slices.Contains(buses, d.Other) {
		text := fmt.Sprintf("%s says that the appliance has no supply for %s in which it answered on its bus (%s): that is not believed", d.Counts, Span(d.Off), d.Other)
		if opposite {
			return text + "; it says so whenever it answers: if the contact is wired the other way round, invert = true in the job sheet says so"
		}
		return text + "; the contact may hang, or sit on another supply"
	}
	text := fmt.Sprintf("%s comes from %s and from %s, which said different things for %s of the %s in which both spoke: %s counts", d.Point, d.Counts, d.Other, Span(d.Apart), Span(d.Together), d.Counts)
	if opposite {
		return text + "; they say the opposite of each other: if a contact is wired the other way round, invert = true in the job sheet says so"
	}
	return text
}

// Disputes says of all of them.
func Disputes(f *episode.Facts, buses []string) (out []string) {
	if f == nil {
		return nil
	}
	for _, d := range f.Disputes {
		if text := DisputeWords(d, buses); text != "" {
			out = append(out, text)
		}
	}
	return out
}
