package lockout

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode/unit"
)

const (
	// storyHours is how far back the story of a lockout goes. Own proposal: a night, and the evening before.
	storyHours = 12 * time.Hour
	// pressureDays is how far back the pressure is followed: a leak takes days. Own proposal.
	pressureDays = 7 * 24 * time.Hour
	// warmsFrom is the shortest firing that warms radiators. Own proposal: water comes around in some minutes.
	warmsFrom = 5 * time.Minute
	// alikeFlow is how near the flow must be for two pressures to be compared, K: water that warms raises it by 0.013 to
	// 0.023 bar/K with a sound vessel, and 0.2 bar is then more than that.
	alikeFlow = 8.0
	// fallUnlike is the fall of pressure that is told where the flow is not known, bar. Own proposal.
	fallUnlike = 0.5
	// marksAfter is how long after a lockout's end a note may still be of it. Own proposal.
	marksAfter = 2 * time.Hour
)

// story gathers lines in order of time.
type story struct {
	p     *analyse.Pass
	day   string
	lines []storyLine
}

type storyLine struct {
	t    time.Time
	text string
}

func (s *story) add(t time.Time, format string, args ...any) {
	clock := s.p.Site.Clock(t)
	if s.p.Site.Day(t) != s.day {
		clock = s.p.Site.DayClock(t)
	}
	s.lines = append(s.lines, storyLine{t, clock + "  " + fmt.Sprintf(format, args...)})
}

// before tells what went before a lockout, oldest first, and what people noticed and noted of it.
func before(p *analyse.Pass, l episode.Lockout) []string {
	b := l.Preceding
	s := &story{p: p, day: p.Site.Day(l.From)}
	if !b.LastFiring.From.IsZero() {
		least := ""
		if b.LastFiring.Cut {
			least = "at least "
		}
		s.add(b.LastFiring.To, "the last firing that held ended, %s before, after %s%s",
			analyse.Span(l.From.Sub(b.LastFiring.To)), least, analyse.Span(b.LastFiring.Duration()))
	}
	if !b.DemandSince.IsZero() {
		s.add(b.DemandSince, "heat was asked for, %s before", analyse.Span(l.From.Sub(b.DemandSince)))
	}
	for _, a := range b.Attempts {
		s.add(a.At, "an attempt to light: a flame for %s, then none", analyse.Span(a.Flame))
	}
	s.hoursBefore(l)
	s.noticed(l)
	for _, m := range p.Marks {
		if m.At.After(l.From.Add(-storyHours)) && !m.At.After(l.To.Add(marksAfter)) {
			s.add(m.At, "noted by a person: “%s”", m.Text)
		}
	}
	if b.FailedStarts > 0 {
		s.lines = append(s.lines, storyLine{l.From, fmt.Sprintf("the appliance itself counted %s since that firing", analyse.Count(b.FailedStarts, "failed start"))})
	}
	if known := state(b); known != "" {
		s.add(l.From, "%s", known)
	}
	slices.SortStableFunc(s.lines, func(x, y storyLine) int { return x.t.Compare(y.t) })
	out := make([]string, len(s.lines))
	for i, x := range s.lines {
		out[i] = x.text
	}
	return out
}

// hoursBefore tells of earlier starts, of hot water, of frost and of the pressure.
func (s *story) hoursBefore(l episode.Lockout) {
	since := l.From.Add(-storyHours)
	n, retried := 0, 0
	var first time.Time
	for _, f := range s.p.Facts.Firings {
		if f.From.After(since) && f.From.Before(l.From) {
			if n == 0 {
				first = f.From
			}
			n++
		}
	}
	for _, a := range s.p.Facts.Attempts {
		if a.Then == episode.ThenLit && a.At.After(since) && a.At.Before(l.From) {
			retried++
		}
	}
	if n > 1 {
		more := ""
		if retried > 0 {
			more = fmt.Sprintf("; %s failed before one lit", analyse.Count(retried, "attempt"))
		}
		s.add(first, "the first of %s in the %s before%s", analyse.Count(n, "firing"), analyse.Span(storyHours), more)
	}
	if d := lastDraw(s.p.Facts.Draws, since, l.From); d != nil {
		s.add(d.To, "hot water was last made, for %s", analyse.Span(d.Duration()))
	}
	if f := l.Preceding.Frost; f >= frostFor {
		least := ""
		if f >= episode.FrostSeen {
			least = "at least "
		}
		s.add(l.From.Add(-f), "it has been freezing outside, for %s%s by the lockout", least, analyse.Span(f))
	}
	if a, b, ok := pressuresBefore(s.p, l); ok {
		s.add(a.at, "the pressure was %s at a start; %s later %s", unit.Bar(a.bar), analyse.Span(b.at.Sub(a.at)), unit.Bar(b.bar))
	}
}

func lastDraw(draws []episode.Draw, since, to time.Time) *episode.Draw {
	for i := len(draws) - 1; i >= 0; i-- {
		if d := &draws[i]; d.To.After(since) && !d.To.After(to) {
			return d
		}
	}
	return nil
}

// noticed tells what a householder would have noticed.
func (s *story) noticed(l episode.Lockout) {
	cold := l.Preceding.LastFiring.To
	for _, f := range s.p.Facts.Firings {
		if f.Use == episode.Heating && f.Duration() >= warmsFrom && f.From.Before(l.From) && f.To.After(l.From.Add(-pressureDays)) {
			cold = f.To
		}
	}
	asked := !l.Preceding.DemandSince.IsZero()
	for _, d := range s.p.Facts.Demands {
		asked = asked || d.Overlap(l.Span) > 0
	}
	if asked && !cold.IsZero() && !cold.After(l.From) {
		s.add(l.From, "in the house: radiators cooling since %s, when the burner last gave heat", s.p.Site.DayClock(cold))
	} else if asked {
		s.add(l.From, "in the house: radiators cooling")
	}
	switch s.p.Plant.HotWater {
	case analyse.InstantaneousHotWater:
		s.add(l.From, "in the house: no hot water at the taps from here on")
	case analyse.CylinderHotWater:
		s.add(l.From, "in the house: no more hot water than the cylinder still held")
	}
}

// pressureAt is the pressure at a start.
type pressureAt struct {
	at  time.Time
	bar float64
}

// pressuresBefore are the highest pressure at a start in the days before a lockout with water about as warm, and the
// pressure at its onset; ok tells that it fell by more than warmth explains.
func pressuresBefore(p *analyse.Pass, l episode.Lockout) (first, last pressureAt, ok bool) {
	b := l.Preceding
	if b.Pressure == nil {
		return first, last, false
	}
	last = pressureAt{l.From, *b.Pressure}
	for _, f := range p.Facts.Firings {
		v, flow := f.Start.Pressure, f.Start.Flow
		if !v.Known || !f.From.After(l.From.Add(-pressureDays)) || !f.From.Before(l.From) {
			continue
		}
		told := fallUnlike
		if flow.Known && b.Flow != nil {
			if math.Abs(float64(flow.Value)-*b.Flow) > alikeFlow {
				continue
			}
			told = fallTold
		}
		if x := (pressureAt{f.From, float64(v.Value)}); x.bar-last.bar >= told && x.bar > first.bar {
			first, ok = x, true
		}
	}
	return first, last, ok
}

// state is what the plant was like at the onset, as far as known.
func state(b episode.Preceding) string {
	var parts []string
	add := func(what string, v *float64, print func(float64) string) {
		if v != nil {
			parts = append(parts, what+" "+print(*v))
		}
	}
	celsius := func(v float64) string { return unit.Celsius(v).String() }
	add("outside", b.Outside, celsius)
	add("flow", b.Flow, celsius)
	add("return", b.Return, celsius)
	add("flow set-point", b.Setpoint, celsius)
	add("pressure", b.Pressure, func(v float64) string { return unit.Bar(v).String() })
	return strings.Join(parts, ", ")
}
