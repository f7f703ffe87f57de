package findings

import (
	"slices"

	"tundish/analyse/episode"
)

// happening is an episode of any kind, with what there is to say of it in words; what is empty is not there to say.
type happening struct {
	episode.Span
	kind                                   string
	use, end, cause, reset, source, reason string
}

// happenings are the episodes of all kinds, in order of time.
func happenings(f *episode.Facts) []happening {
	var all []happening
	for _, x := range f.Demands {
		all = append(all, happening{Span: x.Span, kind: "heat-demand"})
	}
	for _, x := range f.Draws {
		all = append(all, happening{Span: x.Span, kind: "hot-water"})
	}
	for _, x := range f.Firings {
		all = append(all, happening{Span: x.Span, kind: "firing", use: string(x.Use), end: string(x.End)})
	}
	for _, x := range f.Lockouts {
		kind := "lockout"
		if !x.Locked {
			kind = "block"
		}
		all = append(all, happening{Span: x.Span, kind: kind, cause: x.Cause, reset: string(x.Reset)})
	}
	for _, x := range f.Silences {
		all = append(all, happening{Span: x.Span, kind: "silence", source: x.Source, reason: string(x.Reason)})
	}
	for _, x := range f.Gaps {
		all = append(all, happening{Span: x, kind: "gap", reason: string(episode.SilenceLogger)})
	}
	slices.SortStableFunc(all, func(a, b happening) int { return a.From.Compare(b.From) })
	return all
}
