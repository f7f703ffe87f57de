package lockout

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
)

// Causes beyond the word for the lockout itself.
const (
	frozenCondensate = "frozen-condensate"
	gasSupply        = "gas-supply"
	electrode        = "electrode"
	flue             = "flue"
	leak             = "leak"
	expansionVessel  = "expansion-vessel"
	pump             = "pump"
	airLock          = "air-lock"
	noCirculation    = "no-circulation"
)

// group is the lockouts of one cause, and what is known of them together.
type group struct {
	list                 []episode.Lockout
	outside, frost, cold int // with the outside known; of them after hours of frost, in the cold
	flames               int // with a flame in their attempts
	told                 int // with attempts told at all, by flame or count
	mildStarts, retried  int
	last                 []episode.Firing // the firings before them, as far as told by the flame
}

func gather(p *analyse.Pass, locked []episode.Lockout, cause string) group {
	var g group
	for _, l := range locked {
		if l.Cause != cause {
			continue
		}
		g.list = append(g.list, l)
		b := l.Preceding
		if b.Outside != nil {
			g.outside++
			if b.Frost >= frostFor {
				g.frost++
			}
			if *b.Outside <= coldBelow {
				g.cold++
			}
		}
		if len(b.Attempts) > 0 || b.FailedStarts > 0 {
			g.told++
		}
		if slices.ContainsFunc(b.Attempts, func(a episode.Attempt) bool { return a.Flame > 0 }) {
			g.flames++
		}
		for _, f := range p.Facts.Firings {
			if f.Basis == episode.ByFlame && f.From.Equal(b.LastFiring.From) {
				g.last = append(g.last, f)
			}
		}
	}
	for _, f := range p.Facts.Firings {
		if f.Start.Outside.Known && f.Start.Outside.Value > coldBelow {
			g.mildStarts++
		}
	}
	for _, a := range p.Facts.Attempts {
		if a.Then == episode.ThenLit {
			g.retried++
		}
	}
	return g
}

func (g *group) inFrost() bool  { return g.outside > 0 && g.frost*2 > g.outside }
func (g *group) onlyCold() bool { return g.outside > 0 && g.cold == g.outside && g.mildStarts >= 3 }

// fine are the causes beyond a cause, most likely first.
func fine(p *analyse.Pass, locked []episode.Lockout, cause string) []analyse.Cause {
	g := gather(p, locked, cause)
	if len(g.list) == 0 {
		return nil
	}
	var out []analyse.Cause
	switch cause {
	case episode.CauseIgnition:
		out = g.ignition(p)
	case episode.CauseFlameLoss:
		out = g.lost()
	case episode.CauseLowPressure:
		out = g.empty(p)
	case episode.CauseOverheat:
		out = g.hot()
	}
	for i := range out {
		out[i].Support = min(0.95, max(0, out[i].Support))
	}
	slices.SortStableFunc(out, func(a, b analyse.Cause) int { return cmp.Compare(b.Support, a.Support) })
	return slices.DeleteFunc(out, func(c analyse.Cause) bool { return c.Support < 0.05 })
}

func (g *group) ignition(p *analyse.Pass) []analyse.Cause {
	n := len(g.list)
	gas := analyse.Cause{Cause: gasSupply, Support: gasFrom, Because: "nothing tells whether gas came", Settle: settleFine[gasSupply]}
	spark := analyse.Cause{Cause: electrode, Support: sparkFrom, Because: "electrode, lead and gap cannot be told from the bus", Settle: settleFine[electrode]}
	out := []analyse.Cause{}
	switch {
	case g.flames > 0:
		gas.Support -= gasFlame
		gas.Because = fmt.Sprintf("a flame came in attempts of %d of %d, so there was gas", g.flames, n)
		loss := analyse.Cause{Cause: episode.CauseFlameLoss, Support: lossAtLighting, Because: gas.Because + "; it went out again", Settle: settle[episode.CauseFlameLoss]}
		if !g.inFrost() {
			out = append(out, loss)
		}
	case g.told > 0:
		gas.Support += gasNoFlame
		gas.Because = "attempts failed and no flame came in any of them"
	}
	if g.cold > 0 && g.flames == 0 {
		gas.Support += gasCold
		gas.Because += fmt.Sprintf("; %d of %d came in the cold, when gas runs short first", g.cold, g.outside)
	}
	if g.outside > g.cold {
		spark.Support += sparkMild
		spark.Because = fmt.Sprintf("%d of %d came in mild weather", g.outside-g.cold, g.outside)
	}
	if g.retried > 0 {
		spark.Support += sparkRandom
		spark.Because += fmt.Sprintf("; at other times %s failed and the next lit", analyse.Count(g.retried, "attempt"))
	}
	if g.inFrost() {
		spark.Support -= sparkFrost
		ice := analyse.Cause{Cause: frozenCondensate, Support: frozenFrom, Settle: settleFine[frozenCondensate],
			Because: fmt.Sprintf("it had been freezing for %s or longer before %d of %d", analyse.Span(frostFor), g.frost, g.outside)}
		if g.flames > 0 {
			ice.Support += frozenFlame
			ice.Because += "; flames came and went out again, as where condensate stands in the burner"
		}
		if g.onlyCold() {
			ice.Support += frozenOnly
			ice.Because += fmt.Sprintf("; none in mild weather, with %s then", analyse.Count(g.mildStarts, "start"))
		}
		out = append(out, ice)
	} else if g.outside > 0 {
		p.RuledOut(frozenCondensate, "it had not been freezing for %s before most of these", analyse.Span(frostFor))
	} else {
		p.LeftOpen(frozenCondensate, "the outside temperature is not in the record")
	}
	return append(out, gas, spark)
}

func (g *group) lost() []analyse.Cause {
	n := len(g.list)
	gas := analyse.Cause{Cause: gasSupply, Support: lossGas, Because: "a dip of the gas pressure puts a flame out", Settle: settleFine[gasSupply]}
	wind := analyse.Cause{Cause: flue, Support: lossFlue, Because: "wind on the terminal or a wrong mixture puts a flame out", Settle: settleFine[flue]}
	low := 0
	for _, f := range g.last {
		if f.ModulationSeen && f.MeanModulation <= lowFire {
			low++
		}
	}
	if low*2 > len(g.last) {
		wind.Support += flueLeast
		wind.Because += fmt.Sprintf("; %d of %d flames were lost near the least output (%.0f %% or less)", low, len(g.last), lowFire)
	}
	out := []analyse.Cause{gas, wind}
	if g.inFrost() {
		ice := analyse.Cause{Cause: frozenCondensate, Support: lossFrozen, Settle: settleFine[frozenCondensate],
			Because: fmt.Sprintf("it had been freezing for %s or longer before %d of %d", analyse.Span(frostFor), g.frost, n)}
		if g.onlyCold() {
			ice.Support += frozenOnly
			ice.Because += fmt.Sprintf("; none in mild weather, with %s then", analyse.Count(g.mildStarts, "start"))
		}
		out = append(out, ice)
	}
	return out
}

func (g *group) empty(p *analyse.Pass) []analyse.Cause {
	water := analyse.Cause{Cause: leak, Support: leakFrom, Because: "water went and nobody is known to have let it out", Settle: settleFine[leak]}
	vessel := analyse.Cause{Cause: expansionVessel, Support: vesselFrom, Because: "a vessel without its charge lets the relief valve open when hot and leaves too little when cold", Settle: settleFine[expansionVessel]}
	for _, l := range g.list {
		first, last, ok := pressuresBefore(p, l)
		if ok {
			water.Support += leakFell
			water.Because = fmt.Sprintf("the pressure at starts fell from %.2f bar (%s) to %.2f bar (%s)", first.bar, p.Site.DayClock(first.at), last.bar, p.Site.DayClock(last.at))
			break
		}
	}
	return []analyse.Cause{water, vessel}
}

func (g *group) hot() []analyse.Cause {
	still := analyse.Cause{Cause: noCirculation, Support: stillFrom, Because: "return and flow at the onset are not known", Settle: settleFine[noCirculation]}
	pumps := analyse.Cause{Cause: pump, Support: pumpFrom, Because: "a pump that stands or is worn moves no water", Settle: settleFine[pump]}
	air := analyse.Cause{Cause: airLock, Support: airFrom, Because: "air stops the water", Settle: settleFine[airLock]}
	var deltas, low []string
	wide, sound, quick := 0, 0, 0
	for _, l := range g.list {
		b := l.Preceding
		if b.Flow != nil && b.Return != nil {
			d := *b.Flow - *b.Return
			deltas = append(deltas, fmt.Sprintf("%.0f K", d))
			switch {
			case d >= wideDelta:
				wide++
			case d <= soundDelta && *b.Flow >= hotFlow: // cool water at a limiter's trip is water that stands elsewhere
				sound++
			}
		}
		if b.Pressure != nil && *b.Pressure < airBelow {
			low = append(low, fmt.Sprintf("%.2f bar", *b.Pressure))
		}
	}
	var soonest time.Duration
	for _, f := range g.last {
		if f.Duration() < tripsWithin {
			quick++
			soonest = max(soonest, f.Duration())
		}
	}
	if len(deltas) > 0 {
		still.Because = "flow and return were " + strings.Join(deltas[:min(len(deltas), 4)], ", ") + " apart at the onset"
	}
	switch {
	case quick*2 > len(g.list):
		still.Support += stillWide
		still.Because += fmt.Sprintf("; %d of %d came within %s of lighting, so the water in the exchanger stood", quick, len(g.list), analyse.Span(soonest))
	case wide*2 > len(g.list):
		still.Support += stillWide
		still.Because += ": the return did not follow"
	case sound*2 > len(g.list):
		still.Support -= stillSound
		pumps.Support -= stillSound
		still.Because += ": water did move"
	}
	if len(low) > 0 {
		air.Support += airLow
		air.Because = "the pressure was low (" + strings.Join(low[:min(len(low), 4)], ", ") + "), and air comes in then"
	}
	return []analyse.Cause{still, pumps, air}
}
