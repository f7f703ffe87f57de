// Package ignition judges how the burner lights: attempts that failed before one succeeded.
package ignition

import (
	"fmt"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
	"tundish/decode/unit"
)

const (
	// foundFrom is the number of failed attempts in a record from which they are a finding. Own proposal: one or two can
	// be a gust at the terminal or air in the gas pipe.
	foundFrom = 3
	// flashBelow is the flame time of an attempt that did not hold (safety times of 3–10 s, EN 298 as remembered).
	flashBelow = 10 * time.Second
	// lookAtLeast is how often the flame must be read for such a flash to be told: half of it.
	lookAtLeast = flashBelow / 2
	// joinWithin is how near failed attempts are one sequence: all tries of one start, with the pauses between them. Own
	// proposal.
	joinWithin = 30 * time.Minute
	// shownMost is how many starts are shown as evidence. Own proposal.
	shownMost = 12
)

// Retries is the check.
func Retries() analyse.Check {
	return analyse.Check{
		Kind: "ignition-retries",
		Doc:  "attempts that failed before one succeeded",
		Needs: []analyse.Need{{
			Points: []decode.Point{decode.Flame, decode.FailedStarts},
			Say:    "neither a flame signal nor the appliance's count of failed starts: it needs the boiler's bus or a flame contact",
		}},
		Spared: func(p analyse.Plant) string {
			switch {
			case p.Kind == "heat-pump":
				return "a heat pump lights no burner"
			case p.Fuel == "electricity":
				return "an electric boiler lights no burner"
			}
			return ""
		},
		Criteria: append([]analyse.Criterion{
			{Name: "failed attempts in the record that are a finding, from", Value: foundFrom, Unit: "attempts", Source: "own proposal"},
			{Name: "a flame that went out is a failed attempt below", Value: flashBelow.Seconds(), Unit: "s", Source: "longest ignition safety time usual on gas burners, 3–10 s (EN 298, from memory)"},
			{Name: "the flame must be read at least every", Value: lookAtLeast.Seconds(), Unit: "s", Source: "own proposal: half the longest flash"},
			{Name: "failed attempts belong to one start within", Value: joinWithin.Minutes(), Unit: "min", Source: "own proposal"},
			{Name: "a failed attempt is repeated within", Value: retryWithin.Seconds(), Unit: "s", Source: "own proposal: less than anti-cycle times in use (3 to 5 min, common practice, no source)"},
		}, append(waitCriteria(), weightCriteria()...)...),
		Run: run,
	}
}

// sequence is the failed attempts of one start.
type sequence struct {
	tries []episode.Attempt
	lit   time.Time // when it lit at last; zero: not found
}

func (s sequence) from() time.Time { return s.tries[0].At }
func (s sequence) to() time.Time {
	if s.lit.IsZero() {
		return s.tries[len(s.tries)-1].At
	}
	return s.lit
}

// flames is how many of the attempts showed a flame.
func (s sequence) flames() (n int) {
	for _, a := range s.tries {
		if a.Flame > 0 {
			n++
		}
	}
	return n
}

// sequences gathers the attempts after which one held, start by start.
func sequences(f *episode.Facts, list []episode.Attempt) []sequence {
	var out []sequence
	next := 0
	for _, a := range list {
		if a.Then != episode.ThenLit {
			continue
		}
		for next < len(f.Firings) && f.Firings[next].From.Before(a.At) {
			next++
		}
		var lit time.Time
		if next < len(f.Firings) && f.Firings[next].From.Sub(a.At) <= joinWithin {
			lit = f.Firings[next].From
		}
		if n := len(out) - 1; n >= 0 && out[n].lit.Equal(lit) && a.At.Sub(out[n].from()) <= joinWithin {
			out[n].tries = append(out[n].tries, a)
			continue
		}
		out = append(out, sequence{tries: []episode.Attempt{a}, lit: lit})
	}
	return out
}

func run(p *analyse.Pass) {
	n := map[episode.AttemptEnd]int{}
	list, out := sift(p.Facts)
	out.tell(p)
	for _, a := range list {
		n[a.Then]++
	}
	interval, watched := flameInterval(p.Facts)
	counted := p.Has(decode.FailedStarts)
	p.Measured("failed attempts", "%d after which the burner lit, %d that ended in a lockout, %d given up, %d whose outcome was not seen",
		n[episode.ThenLit], n[episode.ThenLockout], n[episode.ThenGivenUp], n[episode.ThenUnknown])
	if watched {
		p.Measured("flame", "read every %s", analyse.Span(interval))
	}
	quick := watched && interval <= lookAtLeast
	seqs := sequences(p.Facts, list)
	switch {
	case n[episode.ThenLit] >= foundFrom:
		if !counted {
			uncounted(p)
		}
		found(p, seqs)
	case !quick && !counted && watched:
		p.NotAssessable(fmt.Sprintf("the flame is read every %s and the appliance's count of failed starts is missing: an attempt that fails shows for less than %s; read the flame every %s or oftener, or have the count polled",
			analyse.Span(interval), analyse.Span(flashBelow), analyse.Span(lookAtLeast)))
	case !watched && !counted:
		p.NotAssessable("the flame was never seen by its own signal, and what flow and return tell of a burner shows no attempt that failed: it needs the boiler's bus or a flame contact")
	case n[episode.ThenLit]+n[episode.ThenUnknown] >= foundFrom:
		p.NotAssessable(fmt.Sprintf("%s failed, but what came of %d of them was not seen: a flame signal read every %s or oftener, without breaks, would show it",
			analyse.Count(n[episode.ThenLit]+n[episode.ThenUnknown], "attempt"), n[episode.ThenUnknown], analyse.Span(lookAtLeast)))
	case out.slow >= foundFrom:
		p.NotAssessable(fmt.Sprintf("%s but %s went out within seconds, and the next came %s or more later: that is how control puts a burner out and waits, as where no water moves, and seldom how an ignition is repeated; the appliance's count of failed starts would tell (OpenTherm data id 113)",
			few(p, n, seqs), analyse.Count(out.slow, "flame"), analyse.Span(retryWithin)))
	case !counted:
		byWaits(p, few(p, n, seqs))
	default:
		if k := n[episode.ThenLockout]; k > 0 {
			p.RuledOut("lockout", "%s ended in a lockout and are told there", analyse.Count(k, "failed attempt"))
		}
		p.Clear(few(p, n, seqs))
	}
}

// few says what was seen where it is too little for a finding.
func few(p *analyse.Pass, n map[episode.AttemptEnd]int, seqs []sequence) string {
	switch {
	case n[episode.ThenLit] > 0:
		return fmt.Sprintf("%s before the burner lit (%s): worth watching, too few to be a finding", analyse.Count(n[episode.ThenLit], "failed attempt"), p.Site.DayClock(seqs[0].from()))
	case n[episode.ThenLockout] > 0:
		return "no attempt failed before one that lit; those that ended in a lockout are told there"
	}
	return "every start that was seen lit at its first attempt"
}

// flameInterval is how often the flame was read, where it was.
func flameInterval(f *episode.Facts) (time.Duration, bool) {
	var longest, best time.Duration
	seen := false
	for _, s := range f.Sights {
		if s.Basis == episode.ByFlame && (!seen || s.Duration() > longest) {
			longest, best, seen = s.Duration(), s.Interval, true
		}
	}
	return best, seen
}

func found(p *analyse.Pass, seqs []sequence) {
	total, flames, most := 0, 0, 0
	for _, s := range seqs {
		total += len(s.tries)
		flames += s.flames()
		most = max(most, len(s.tries))
	}
	lookAlikes(p, flames)
	starts := len(lit(p.Facts))
	f := analyse.Finding{Severity: analyse.Advise, From: seqs[0].from(), To: seqs[len(seqs)-1].to(), Causes: weigh(p, seqs)}
	f.Summary = fmt.Sprintf("The burner needed more than one attempt to light at %d of %s: %s failed before it lit.",
		len(seqs), analyse.Count(max(starts, len(seqs)), "start"), analyse.Count(total, "attempt"))
	f.Numbers = []analyse.Number{
		{Name: "failed_attempts", Value: float64(total), Label: "failed attempts before one that lit"},
		{Name: "starts_with_retries", Value: float64(len(seqs)), Label: "starts that needed more than one attempt"},
		{Name: "starts", Value: float64(starts), Label: "starts seen"},
		{Name: "failed_attempts_most", Value: float64(most), Label: "most failed attempts at one start"},
		{Name: "failed_with_flame", Value: float64(flames), Label: "failed attempts that showed a flame"},
	}
	for _, s := range worst(seqs) {
		f.Evidence = append(f.Evidence, evidence(s))
	}
	p.Found(f)
}

// worst are the sequences worth showing: those with the most failed attempts, in order of time.
func worst(seqs []sequence) []sequence {
	out := slices.Clone(seqs)
	if len(out) > shownMost {
		slices.SortStableFunc(out, func(a, b sequence) int { return len(b.tries) - len(a.tries) })
		out = out[:shownMost]
		slices.SortStableFunc(out, func(a, b sequence) int { return a.from().Compare(b.from()) })
	}
	return out
}

func evidence(s sequence) analyse.Evidence {
	note := analyse.Count(len(s.tries), "failed attempt")
	switch k := s.flames(); {
	case k == 0:
		note += ", told by the appliance's own count"
	case k == 1:
		note += fmt.Sprintf(", one with a flame of %s", analyse.Span(flash(s)))
	default:
		note += fmt.Sprintf(", %d of them with a flame of %s at the longest", k, analyse.Span(flash(s)))
	}
	if o := s.tries[0].Start.Outside; o.Known {
		note += "; outside " + unit.Celsius(o.Value).String()
	}
	if !s.lit.IsZero() && s.flames() > 0 {
		note += fmt.Sprintf("; lit %s after the first", analyse.Span(s.lit.Sub(s.from())))
	}
	return analyse.Evidence{From: s.from(), To: s.to(), Note: note}
}

func flash(s sequence) (longest time.Duration) {
	for _, a := range s.tries {
		longest = max(longest, a.Flame)
	}
	return longest
}

// lit are the firings whose lighting was seen.
func lit(f *episode.Facts) []episode.Firing {
	var out []episode.Firing
	for _, x := range f.Firings {
		if x.Basis == episode.ByFlame && !x.Cut {
			out = append(out, x)
		}
	}
	return out
}

// lookAlikes says what short flames could be instead.
func lookAlikes(p *analyse.Pass, flames int) {
	if flames > 0 {
		p.RuledOut("short burns ended by control", "%d flames went out within %s while heat was still asked for, as far as that was seen, and without the water having come to its set-point", flames, analyse.Span(flashBelow))
	}
	lost := 0
	for _, x := range p.Facts.Firings {
		if x.End == episode.EndFlameLoss {
			lost++
		}
	}
	if lost > 0 {
		p.RuledOut("flames lost in the run", "%s went out after it had held: those are not counted here", analyse.Count(lost, "flame"))
	}
}
