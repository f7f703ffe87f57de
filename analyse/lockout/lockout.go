// Package lockout judges when a fault held the burner off until a person acted, and tells what went before.
package lockout

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

// Check is the check.
func Check() analyse.Check {
	return analyse.Check{
		Kind: "lockout",
		Doc:  "the burner was held off by a fault until a person acted, however briefly",
		Needs: []analyse.Need{{
			Points: []decode.Point{decode.Fault},
			Say:    "no fault signal: it needs the boiler's bus, or a light sensor on its indicator, with what its signs mean in the job sheet's [light] table",
		}},
		Criteria: append([]analyse.Criterion{
			{Name: "lockout", Value: 1, Unit: "event", Source: "EN 298: lockout stays until a manual reset; a block clears by itself"},
			{Name: "a fault of a kind that can clear unaided is a block below", Value: episode.BlockBelow.Minutes(), Unit: "min", Source: "own proposal"},
			{Name: "a fault without flags of ignition or flame, and no reset over the bus, is a block below", Value: episode.ReachWithin.Seconds(), Unit: "s", Source: "own proposal: nobody can notice it and reach the appliance sooner"},
		}, fineCriteria()...),
		Run: run,
	}
}

// leastRecord is the shortest record that can be called clear of lockouts. Own proposal: one call for heat with all its
// attempts to light.
const leastRecord = 10 * time.Minute

func run(p *analyse.Pass) {
	var locked, blocks []episode.Lockout
	for _, l := range p.Facts.Lockouts {
		if l.Locked {
			locked = append(locked, l)
		} else {
			blocks = append(blocks, l)
		}
	}
	if n := len(blocks); len(locked) == 0 && n > 0 && blocks[n-1].Open {
		p.NotAssessable(fmt.Sprintf("a fault (%s) stood when the record ended, for %s by then: it may yet clear by itself, or need a person",
			blocks[n-1].Cause, analyse.Span(blocks[n-1].Duration())))
		return
	}
	if length := p.Facts.To.Sub(p.Facts.From); len(locked) == 0 && length < leastRecord {
		p.NotAssessable(fmt.Sprintf("the record is only %s long", analyse.Span(length)))
		return
	}
	if len(locked) == 0 {
		p.Clear(noLockout(blocks))
		return
	}
	f := analyse.Finding{
		Severity: analyse.Act,
		From:     locked[0].From, To: locked[len(locked)-1].To,
		Cause: commonest(locked),
	}
	var held time.Duration
	for _, l := range locked {
		held += l.Duration()
		f.Evidence = append(f.Evidence, evidence(p, l))
	}
	f.Summary = summary(locked, f.Cause, held)
	f.Numbers = []analyse.Number{
		{Name: "lockouts", Value: float64(len(locked)), Label: "lockouts"},
		{Name: "locked_min", Value: math.Round(held.Minutes()), Label: "locked out in all", Unit: "min"},
		{Name: "self_cleared", Value: float64(len(blocks)), Label: "blocks that cleared by themselves"},
	}
	f.Causes = causes(p, locked)
	p.Found(f)
}

func noLockout(blocks []episode.Lockout) string {
	if len(blocks) == 0 {
		return "the appliance never said that it was in fault"
	}
	causes := map[string]int{}
	for _, b := range blocks {
		causes[b.Cause]++
	}
	return fmt.Sprintf("%s (%s) cleared without a person: a block, not a lockout", analyse.Count(len(blocks), "fault"), countWords(causes))
}

// words say a cause to a customer.
var words = map[string]string{
	episode.CauseIgnition:    "the burner did not light",
	episode.CauseFlameLoss:   "the flame went out",
	episode.CauseOverheat:    "the water got too hot",
	episode.CauseLowPressure: "the water pressure was too low",
	episode.CauseSensor:      "a sensor failed",
	episode.CauseAirPressure: "air or flue gas did not flow as it must",
	episode.CauseUnknown:     "for a reason that the record does not show",
}

func summary(locked []episode.Lockout, cause string, held time.Duration) string {
	times := analyse.Times(len(locked))
	same := true
	for _, l := range locked {
		same = same && l.Cause == cause
	}
	mostly := "mostly because "
	if same {
		mostly = "because "
	}
	if cause == episode.CauseUnknown {
		mostly = ""
	}
	end := "in all until somebody acted"
	switch last := locked[len(locked)-1]; {
	case last.Open:
		end = "in all; it was still locked out when the record ended"
	case !last.GoneBy.IsZero():
		end = "in all, as far as it was seen"
	}
	return fmt.Sprintf("The boiler locked out %s, %s%s, and gave no heat for %s %s.",
		times, mostly, words[cause], analyse.Span(held), end)
}

// commonest cause; where equal, the one that came first.
func commonest(locked []episode.Lockout) string {
	n := map[string]int{}
	best := ""
	for _, l := range locked {
		n[l.Cause]++
	}
	for _, l := range locked {
		if best == "" || n[l.Cause] > n[best] {
			best = l.Cause
		}
	}
	return best
}

func evidence(p *analyse.Pass, l episode.Lockout) analyse.Evidence {
	note := fmt.Sprintf("locked out for %s: %s", analyse.Span(l.Duration()), l.CauseWhy)
	if l.Code > 0 {
		note += "; the appliance's own code " + code(p, l.Code)
	}
	if s, ok := p.Signs[l.Sign]; ok {
		note += fmt.Sprintf("; the indicator light showed %s", s)
	}
	if l.Diagnostic > 0 {
		note += "; its diagnostic code " + code(p, l.Diagnostic)
	}
	switch {
	case l.Open:
		note += "; still locked out when the record ended"
	case !l.GoneBy.IsZero():
		note += fmt.Sprintf("; its end was not seen: it was gone when next looked at, %s", p.Site.DayClock(l.GoneBy))
	case l.Reset == episode.ResetByHand:
		note += "; ended with no reset command on the bus: by hand, at the appliance"
	case l.Reset != "":
		note += "; reset " + string(l.Reset)
	}
	if l.Cut {
		note += "; it had begun before the record did"
	}
	return analyse.Evidence{From: l.From, To: l.To, Cause: l.Cause, Note: note, Before: before(p, l)}
}

// code is a maker's number, with the words that the job sheet has for it.
func code(p *analyse.Pass, n int) string {
	if words := p.Codes[n]; words != "" {
		return fmt.Sprintf("%d, by the job sheet “%s”", n, words)
	}
	return strconv.Itoa(n)
}

// causes ranks what the lockouts were put down to, by their share, and after them what may lie behind each.
func causes(p *analyse.Pass, locked []episode.Lockout) []analyse.Cause {
	n := map[string]int{}
	why := map[string]string{}
	var order []string
	for _, l := range locked {
		if n[l.Cause] == 0 {
			order = append(order, l.Cause)
			why[l.Cause] = l.CauseWhy
		}
		n[l.Cause]++
	}
	slices.SortStableFunc(order, func(x, y string) int { return n[y] - n[x] })
	var out, behind []analyse.Cause
	for i, c := range order {
		share := float64(n[c]) / float64(len(locked))
		x := analyse.Cause{Cause: c, Support: share, Settle: settle[c], Because: fmt.Sprintf("%d of %d: %s", n[c], len(locked), why[c])}
		if i == 0 {
			if d := differs(p, locked, c); d != "" {
				x.Because += "; " + d
			}
		}
		out = append(out, x)
		for _, f := range fine(p, locked, c) {
			if n[f.Cause] > 0 || slices.ContainsFunc(behind, func(o analyse.Cause) bool { return o.Cause == f.Cause }) {
				continue
			}
			f.Support *= share
			f.Because = "behind " + c + ": " + f.Because
			behind = append(behind, f)
		}
	}
	out = append(out, behind...)
	slices.SortStableFunc(out, func(x, y analyse.Cause) int { return cmp.Compare(y.Support, x.Support) })
	return out
}

// settle says what would settle a cause on the next visit. All of it is work for a licensed person.
var settle = map[string]string{
	episode.CauseIgnition:    "a registered gas engineer checks gas supply pressure under load, electrode and lead, and the condensate drain, in the cold if it happens in the cold",
	episode.CauseFlameLoss:   "a registered gas engineer checks gas pressure while running, flue and wind, and the flame signal",
	episode.CauseOverheat:    "look at what stops the water: pump, air, valves, a blocked heat exchanger",
	episode.CauseLowPressure: "find where the water goes: relief valve, expansion vessel, leak",
	episode.CauseSensor:      "measure the sensor's resistance against the maker's table, and shake its connector",
	episode.CauseAirPressure: "a registered gas engineer checks fan, air switch, flue and its terminal",
	episode.CauseUnknown:     "read the appliance's own fault memory by the maker's instructions",
}

func countWords(n map[string]int) string {
	var out []string
	for c, k := range n {
		out = append(out, fmt.Sprintf("%s %d", c, k))
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}
