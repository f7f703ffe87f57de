package episode

import (
	"slices"
	"time"
)

// Run is one run of the logger, or one imported file. A run during which the machine was suspended is told in parts that
// share its ID: between two of them no logger ran.
type Run struct {
	ID       uint32
	From, To time.Time
	// Live: the logger took it as it happened, and between two such runs no logger ran. Imported files have no
	// such gaps: where a file has nothing, its source was silent.
	Live bool
	// Sources that the run listened to; nothing is said of a source in a run that did not.
	Sources []string
}

// session is a stretch in which somebody listened: a live run, or files that were imported together.
type session struct {
	from, to time.Time
	sources  []string
	runs     []uint32
	live     bool
}

// sessionsOf gathers the runs, in order of time.
func sessionsOf(runs []Run) []session {
	var out []session
	for _, r := range runs {
		if n := len(out) - 1; n >= 0 && !r.Live && !out[n].live {
			s := &out[n]
			if r.From.Before(s.from) {
				s.from = r.From
			}
			if r.To.After(s.to) {
				s.to = r.To
			}
			s.sources = append(s.sources, r.Sources...)
			s.runs = append(s.runs, r.ID)
			continue
		}
		out = append(out, session{r.From, r.To, slices.Clone(r.Sources), []uint32{r.ID}, r.Live})
	}
	return out
}

// sessionOf finds the session of a run at t, −1 where there is none. A run has several where the machine was suspended
// meanwhile; until is when the next of them begins, zero after the last.
func (b *Builder) sessionOf(run uint32, t time.Time) (found int, until time.Time) {
	found = -1
	for i, s := range b.sessions {
		switch {
		case !slices.Contains(s.runs, run):
		case found < 0 || !t.Before(s.from):
			found = i
		default:
			return found, s.from
		}
	}
	return found, time.Time{}
}

// gaps are the stretches between two sessions: nobody listened.
func (b *Builder) gaps() []Span {
	var out []Span
	var end time.Time
	for _, s := range b.sessions {
		if !end.IsZero() && s.from.After(end) {
			out = append(out, Span{From: end, To: s.from})
		}
		if s.to.After(end) {
			end = s.to
		}
	}
	return out
}

// sourceValues are the last analogue values of one source, by point.
type sourceValues struct {
	name   string
	values [64]value
	rail   value    // the last flow or return at the end of its converter's range
	good   [64]bool // a good reading of the point has been seen
	last   moment
	woke   time.Time // when it last spoke again after [holdAtLeast]
	pair   settler
	// what the day's watches keep of the source, once they have seen it
	sensors [64]*sensorTrack
	paired  [64]*pairSeries
	water   int     // its place among the day's waters, from 1 on
	shape   *shaper // nil until flow or return is seen
}

// of finds or makes a source's values. There are few sources, and most readings come from the same one as the last.
func (b *Builder) of(source string) *sourceValues {
	if b.lastSource != nil && b.lastSource.name == source {
		return b.lastSource
	}
	i := slices.IndexFunc(b.sources, func(s *sourceValues) bool { return s.name == source })
	if i < 0 {
		i = len(b.sources)
		b.sources = append(b.sources, &sourceValues{name: source, pair: settler{source: source}})
	}
	b.lastSource = b.sources[i]
	return b.lastSource
}
