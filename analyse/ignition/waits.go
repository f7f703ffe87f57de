package ignition

import (
	"fmt"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

// An attempt that fails without any flame leaves no signal on a bus that does not give the count of failed starts, but it
// takes time: the purge before it, the safety time, the pause and the purge of the next. Where a call comes to a burner
// that has rested and whose water is cold, the flame then comes later than it does at the other starts.
const (
	// lateBy is how much later than usual a flame must come for an attempt to have failed before it. Own proposal: 3 s of
	// safety time (the shortest of those in EN 298, from memory), a pause and a purge of some seconds each.
	lateBy = 15 * time.Second
	// promptBelow is the longest usual wait that leaves no room for a failed attempt in each start. Own proposal: a purge
	// of 20 s, spark and flame; with a longer wait it is not known whether the purge or an attempt takes it.
	promptBelow = 30 * time.Second
	// restedFor is the rest before a call after which no anti-cycle wait is left: those in use are 3 to 5 min (common
	// practice, no source). A longer one makes starts late, and then nothing is said.
	restedFor = 10 * time.Minute
	// leastWaits is how many starts must tell by their wait, and mostWaits the share of all starts. Own proposals.
	leastWaits = 5
	mostWaits  = 0.5
)

func waitCriteria() []analyse.Criterion {
	return []analyse.Criterion{
		{Name: "without the count of failed starts: a flame that comes later than usual after the call by", Value: lateBy.Seconds(), Unit: "s", Source: "own proposal: 3 s of safety time (EN 298, from memory), a pause and a purge"},
		{Name: "the usual wait leaves no room for an attempt in each start below", Value: promptBelow.Seconds(), Unit: "s", Source: "own proposal"},
		{Name: "the burner rested before the call for", Value: restedFor.Minutes(), Unit: "min", Source: "own proposal: anti-cycle times in use are 3 to 5 min (common practice, no source)"},
		{Name: "starts that tell by their wait, at least", Value: leastWaits, Unit: "starts", Source: "own proposal"},
		{Name: "and of all starts", Value: mostWaits, Source: "own proposal"},
	}
}

// waits are how long the flame kept callers waiting, at the starts that tell.
type waits struct {
	starts int
	usual  time.Duration // the lower quartile: what goes wrong makes it longer
	list   []time.Duration
	late   int
}

func readWaits(f *episode.Facts) (w waits) {
	for i, x := range f.Firings {
		if x.Basis != episode.ByFlame || x.Cut {
			continue
		}
		w.starts++
		if x.Start.Wait > 0 && i > 0 && x.From.Add(-x.Start.Wait).Sub(f.Firings[i-1].To) >= restedFor {
			w.list = append(w.list, x.Start.Wait)
		}
	}
	if len(w.list) == 0 {
		return w
	}
	slices.Sort(w.list)
	w.usual = w.list[(len(w.list)-1)/4]
	for _, d := range w.list {
		if d >= w.usual+lateBy {
			w.late++
		}
	}
	return w
}

// callsRead tells whether calls are read often enough for their waits to tell.
func callsRead(p *analyse.Pass) bool {
	seen := false
	for _, c := range p.Coverage {
		switch c.Series.Point {
		case decode.HeatDemand, decode.HotWaterActive:
			if c.Interval > lookAtLeast {
				return false
			}
			seen = true
		}
	}
	return seen
}

// byWaits answers where the count is not there and no attempt was seen fail: by how soon the flame follows its call.
func byWaits(p *analyse.Pass, said string) {
	const count = "have the count of failed starts polled (OpenTherm data id 113), or read it off the appliance before and after"
	missing := "an attempt without any flame, as for want of gas or spark, leaves no trace without the appliance's count of failed starts"
	w := readWaits(p.Facts)
	if len(w.list) > 0 {
		p.Measured("wait from the call to the flame", "%s to %s, a quarter within %s, at %d of %s; %d of them later than that by %s or more",
			analyse.Span(w.list[0]), analyse.Span(w.list[len(w.list)-1]), analyse.Span(w.usual), len(w.list), analyse.Count(w.starts, "start"), w.late, analyse.Span(lateBy))
	}
	tells := callsRead(p) && len(w.list) >= leastWaits && w.usual <= promptBelow
	cleared := tells && w.late == 0 && float64(len(w.list)) >= mostWaits*float64(w.starts)
	if !cleared {
		uncounted(p)
	}
	switch {
	case tells && w.late > 0:
		p.NotAssessable(fmt.Sprintf("%s, but at %d of %d starts after a rest the flame came %s or more later than usual after the call, as it does when an attempt fails without a flame; what else the boiler waited for is not told: %s",
			said, w.late, len(w.list), analyse.Span(lateBy), count))
	case cleared:
		p.RuledOut("attempts without any flame", "at %d of %s the wait from the call to the flame could be seen, and none was longer than usual by the time that an attempt takes", len(w.list), analyse.Count(w.starts, "start"))
		p.Clear(fmt.Sprintf("%s, and an attempt without a flame would have made one of the %d starts after a rest later: the flame followed the call within %s each time. The appliance's own count of failed starts is not in the record",
			said, len(w.list), analyse.Span(w.list[len(w.list)-1])))
	case tells:
		p.NotAssessable(fmt.Sprintf("%s, but %s; how soon the flame follows a call tells of %d of %s only: %s",
			said, missing, len(w.list), analyse.Count(w.starts, "start"), count))
	default:
		p.NotAssessable(fmt.Sprintf("%s, but %s: %s", said, missing, count))
	}
}

func uncounted(p *analyse.Pass) {
	p.LeftOpen("attempts without any flame", "the appliance's count of failed starts is not in the record, and only that count shows each of them")
}
