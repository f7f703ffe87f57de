package report

import (
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

// events are the episodes of a plot's window.
type events struct {
	heating, hotWater, demands []episode.Span
	lockouts                   []episode.Span
	absent                     []absence
	known                      bool // facts were there at all
	firings, asked             bool // the burner's flame, and whether heat was asked for, were recorded at all
}

// recorded notes what the record could show. A row without bars must not be taken for a burner that was out, when
// nothing ever told whether it was lit.
func (e *events) recorded(cover []analyse.Coverage, facts *episode.Facts) {
	if facts == nil {
		return
	}
	e.firings, e.asked = len(facts.Firings) > 0, len(facts.Demands) > 0
	for _, c := range cover {
		switch c.Series.Point {
		case decode.Flame:
			e.firings = true
		case decode.HeatDemand, decode.HeatActive:
			e.asked = true
		}
	}
}

// absence is a silence of one source, or a gap of the whole record (then source is empty).
type absence struct {
	episode.Span
	source string
	why    string
}

// eventsIn picks the episodes that touch a window, cut to it.
func eventsIn(facts *episode.Facts, from, to time.Time) events {
	if facts == nil {
		return events{}
	}
	e := events{known: true}
	window := episode.Span{From: from, To: to}
	put := func(list *[]episode.Span, s episode.Span) {
		if s, ok := cut(s, window); ok {
			*list = append(*list, s)
		}
	}
	missing := func(s episode.Span, source, why string) {
		if s, ok := cut(s, window); ok {
			e.absent = append(e.absent, absence{s, source, why})
		}
	}
	for _, x := range facts.Firings {
		if x.Use == episode.HotWater {
			put(&e.hotWater, x.Span)
		} else {
			put(&e.heating, x.Span)
		}
	}
	for _, x := range facts.Demands {
		put(&e.demands, x.Span)
	}
	for _, x := range facts.Lockouts {
		if x.Locked {
			put(&e.lockouts, x.Span)
		}
	}
	for _, x := range facts.Silences {
		if x.Reason != episode.SilenceLogger { // that is among the gaps
			missing(x.Span, x.Source, silenceWhy(x))
		}
	}
	for _, x := range facts.Gaps {
		missing(x, "", "the logger was not running")
	}
	return e
}

// silenceWhy is why a source was silent, in words.
func silenceWhy(s episode.Silence) string {
	switch s.Reason {
	case episode.SilenceNoMains:
		return "the appliance was without mains"
	case episode.SilenceAdapter:
		return "the logger lost the adapter"
	case episode.SilenceUnexplained:
		switch s.Meanwhile {
		case episode.Fired:
			return "not explained; the burner ran meanwhile"
		case episode.Idle:
			return "not explained; the flow did not warm meanwhile"
		}
		return "not explained"
	}
	return string(s.Reason)
}

// cut gives the part of a span that lies in the window; ok is false where none does.
func cut(s, window episode.Span) (part episode.Span, ok bool) {
	if s.To.Before(window.From) || s.From.After(window.To) {
		return s, false
	}
	if s.From.Before(window.From) {
		s.From, s.Cut = window.From, true
	}
	if s.To.After(window.To) {
		s.To, s.Open = window.To, true
	}
	return s, true
}
