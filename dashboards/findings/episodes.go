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
	basis                                  string
	unsure                                 string // of use or times
}

// happenings are the episodes of all kinds, in order of time.
func happenings(f *episode.Facts) []happening {
	var all []happening
	for _, x := range f.Demands {
		all = append(all, happening{Span: x.Span, kind: "heat-demand"})
	}
	for _, x := range f.Draws {
		all = append(all, happening{Span: x.Span, kind: "hot-water", use: string(x.Kind), basis: string(x.Basis)})
	}
	for _, x := range f.Firings {
		all = append(all, happening{Span: x.Span, kind: "firing", use: string(x.Use), end: string(x.End), basis: string(x.Basis), unsure: unsure(x)})
	}
	for _, x := range f.Overruns {
		all = append(all, happening{Span: x.Span, kind: "overrun", use: string(x.After), basis: string(x.Basis)})
	}
	for _, x := range f.Attempts {
		all = append(all, happening{Span: episode.Span{From: x.At, To: x.At.Add(x.Flame)}, kind: "attempt", end: string(x.Then)})
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

// unsure says what of a firing is not known for sure.
func unsure(f episode.Firing) string {
	switch {
	case f.Basis == episode.ByShape && !f.UseKnown && f.Rough:
		return "use and times"
	case f.Basis == episode.ByShape && !f.UseKnown:
		return "use"
	case f.Rough:
		return "times"
	}
	return ""
}
