// Package bus judges the bus itself: whether it fell silent when nothing explains it.
package bus

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

// leastSilence is the silence that counts. The bus's own rule is one conversation a second, and a minute without
// a valid reply is a fault to the room unit (OpenTherm Protocol Specification v2.2, 2.3 and 4.3.1); ten minutes
// leave out restarts. Own proposal.
const leastSilence = 10 * time.Minute

// Silence is the check.
func Silence() analyse.Check {
	return analyse.Check{
		Kind: "bus-silence",
		Doc:  "no line came from the bus for ten minutes or more, and the appliance's supply does not explain it",
		Criteria: []analyse.Criterion{
			{Name: "no line from the bus for", Value: leastSilence.Minutes(), Unit: "min", Source: "own proposal; a room unit takes the bus for faulty after 1 min (OpenTherm Protocol Specification v2.2, 2.3)"},
			{Name: "a burner that a supply put out lights again within", Value: episode.RelitWithin.Minutes(), Unit: "min", Source: "own proposal"},
			{Name: "and the flow by another source falls within", Value: episode.FallWithin.Minutes(), Unit: "min", Source: "own proposal"},
			{Name: "by", Value: episode.PromptFall, Unit: "K", Source: "own proposal"},
			{Name: "where nothing else looked: the flow is lower when the bus comes back than it was in the burn before, by", Value: episode.CooledBy, Unit: "K", Source: "own proposal; and the appliance's own count of starts must not have risen meanwhile"},
			weight("adapter", forAdapter), weight("cable", forCable), weight("appliance", forAppliance),
		},
		Run: silence,
	}
}

func silence(p *analyse.Pass) {
	if len(p.Buses) == 0 {
		p.Clear("does not apply: no bus is connected")
		return
	}
	if len(p.Facts.Listened) == 0 {
		p.NotAssessable("nothing was recorded or imported for the bus")
		return
	}
	if length := p.Facts.To.Sub(p.Facts.From); length < leastSilence {
		p.NotAssessable(fmt.Sprintf("the record is only %s long; a silence counts from %s", analyse.Span(length), analyse.Span(leastSilence)))
		return
	}
	var found, explained []episode.Silence
	never := false
	for _, s := range p.Facts.Silences {
		if s.Duration() < leastSilence {
			continue
		}
		if s.Reason == episode.SilenceNoMains {
			explained = append(explained, s)
			never = never || s.Never
		} else {
			found = append(found, s)
		}
	}
	reason(p, found, explained)
	if len(found) == 0 && never {
		p.NotAssessable("no line ever came from the bus. The job sheet says that the supply is switched, which may explain it; whether the adapter works at all is not known")
		return
	}
	if len(found) == 0 {
		p.Clear(sound(explained))
		return
	}
	var total, longest time.Duration
	var end time.Time
	for _, s := range found {
		total += s.Duration()
		longest = max(longest, s.Duration())
		if s.To.After(end) {
			end = s.To
		}
	}
	f := analyse.Finding{
		Severity: analyse.Note,
		From:     found[0].From, To: end,
		Summary: fmt.Sprintf("The boiler's bus was silent for %s in all, and a supply that was switched off does not explain it. What it would have told meanwhile is missing.", analyse.Span(total)),
		Numbers: []analyse.Number{
			{Name: "silences", Value: float64(len(found)), Label: "silences"},
			{Name: "silent_min", Value: math.Round(total.Minutes()), Label: "silent in all", Unit: "min"},
			{Name: "longest_min", Value: math.Round(longest.Minutes()), Label: "longest", Unit: "min"},
		},
		Causes: causes(p, found),
	}
	for _, s := range found {
		f.Evidence = append(f.Evidence, analyse.Evidence{From: s.From, To: s.To, Note: note(s, p.Facts.To)})
	}
	p.Found(f)
}

// reason tells what the answer rests on, and what each long silence was taken for.
func reason(p *analyse.Pass, found, explained []episode.Silence) {
	for _, d := range p.Facts.Disputes {
		if text := analyse.DisputeWords(d, p.Buses); text != "" && d.Point == decode.Supply {
			p.LeftOpen("what is said of the supply", "%s", text)
		}
	}
	all := slices.Concat(found, explained)
	if len(all) == 0 {
		p.Measured("silences", "none of %.0f min or more from %s", leastSilence.Minutes(), strings.Join(p.Facts.Listened, ", "))
		return
	}
	p.Measured("silences", "%d of %.0f min or more; %d explained by the supply", len(all), leastSilence.Minutes(), len(explained))
	for _, s := range explained {
		p.Measured("explained by the supply", "%s", told(p, s))
	}
	for _, s := range found {
		switch {
		case s.Reason == episode.SilenceAdapter:
			p.RuledOut("a supply that was off", "%s", told(p, s))
		case s.Meanwhile == episode.Fired:
			p.RuledOut("a supply that was off", "%s", told(p, s))
		default:
			p.LeftOpen("a supply that was off", "%s; a contact or sensor on the appliance's supply would tell", told(p, s))
		}
	}
}

func told(p *analyse.Pass, s episode.Silence) string {
	return fmt.Sprintf("%s, %s: ", p.Site.DayClock(s.From), analyse.Span(s.Duration())) + cmp.Or(s.Because, "nothing else looked at the appliance meanwhile")
}

func sound(explained []episode.Silence) string {
	if len(explained) == 0 {
		return fmt.Sprintf("no silence of %.0f minutes or more", leastSilence.Minutes())
	}
	var total time.Duration
	for _, s := range explained {
		total += s.Duration()
	}
	return fmt.Sprintf("%s, %s in all, with the appliance's supply off: %s", analyse.Count(len(explained), "silence"), analyse.Span(total), explained[0].Because)
}

func note(s episode.Silence, end time.Time) string {
	n := fmt.Sprintf("no line from %s for %s", s.Source, analyse.Span(s.Duration()))
	if s.Because != "" {
		n += "; " + s.Because
	}
	if s.Open && !s.To.Before(end) {
		n += "; still silent when the record ended"
	}
	return n
}

// weights are how far one silence speaks for a cause, by what is known of it: the logger noted that it lost the
// adapter, the burner ran meanwhile, the water cooled, or nothing. Own proposal.
type weights struct{ lost, fired, idle, unknown float64 }

var (
	forAdapter   = weights{lost: 0.95, fired: 0.5, idle: 0.3, unknown: 0.35}
	forCable     = weights{lost: 0.1, fired: 0.45, idle: 0.3, unknown: 0.33}
	forAppliance = weights{lost: 0.05, fired: 0.1, idle: 0.45, unknown: 0.3}
)

func (w weights) of(lost, fired, idle float64) float64 {
	return w.lost*lost + w.fired*fired + w.idle*idle + w.unknown*(1-lost-fired-idle)
}

func weight(cause string, w weights) analyse.Criterion {
	return analyse.Criterion{Name: fmt.Sprintf("weight, %s, where the logger lost the adapter %.2f, the burner ran %.2f, the water cooled %.2f, else", cause, w.lost, w.fired, w.idle), Value: w.unknown, Source: "own proposal"}
}

// causes weighs adapter, cable and appliance by how many of the silences speak for each.
func causes(p *analyse.Pass, found []episode.Silence) []analyse.Cause {
	var lost, fired, idle float64
	for _, s := range found {
		switch {
		case s.Reason == episode.SilenceAdapter:
			lost++
		case s.Meanwhile == episode.Fired:
			fired++
		case s.Meanwhile == episode.Idle:
			idle++
		}
	}
	n := float64(len(found))
	lost, fired, idle = lost/n, fired/n, idle/n
	out := []analyse.Cause{
		{Cause: "adapter", Support: forAdapter.of(lost, fired, idle),
			Because: because(lost, fired, "the logger itself lost the adapter", "the burner ran while the bus was silent, so the appliance was alive", "a dead adapter looks like a dead bus"),
			Settle:  "put another adapter on the same two terminals"},
		{Cause: "cable", Support: forCable.of(lost, fired, idle),
			Because: because(0, fired, "", "the burner ran while the bus was silent, so the appliance was alive", "a broken or loose bus wire looks the same"),
			Settle:  "measure the bus voltage at the boiler's terminals and at the adapter, while it is silent"},
		{Cause: "appliance", Support: forAppliance.of(lost, fired, idle),
			Because: because(0, idle, "", "the water showed no sign that the burner ran, so the appliance may have lost its supply", "the appliance may have been without mains, or its control hung"),
			Settle:  "watch the appliance's display and supply while the bus is silent"},
	}
	if p.Plant.Supply == analyse.SupplyUnknown {
		out[2].Because += "; the job sheet does not say whether its supply is switched"
	}
	slices.SortStableFunc(out, func(x, y analyse.Cause) int { return cmp.Compare(y.Support, x.Support) })
	return out
}

func because(first, second float64, a, b, otherwise string) string {
	switch {
	case first > 0:
		return a
	case second > 0:
		return b
	}
	return otherwise
}
