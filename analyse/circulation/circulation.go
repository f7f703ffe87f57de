// Package circulation judges whether water moves when the burner lights.
package circulation

import (
	"fmt"
	"math"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
	"tundish/decode/unit"
)

// The criteria. An exchanger of 3 l warms at 34 K/min with 7 kW and no water moving, one of 12 l at 8.5 K/min
// (worked out from V·ρ·c); a circuit with water moves that heat on.
const (
	fastRise     = 10.0              // K/min over 10 s or more, from which a rise of the flow is fast
	quickEnd     = 5 * time.Minute   // by then a burner without water has come to its set-point or limit
	leastApart   = 20.0              // K that flow stands above return at the least
	designApart  = 1.5               // times the design ΔT, if that is more
	unknownApart = 30.0              // K, where the design is not known: designs are 20 K at the most as a rule
	burnShare    = 0.3               // of the time that the burner may run at the most: an exchanger alone takes next to nothing
	farApart     = 40.0              // K, from which the return need not be cold: no circuit in order spreads them so far
	coldReturn   = 35.0              // °C up to which a return counts as cold: pipes in a warm room, and a little more
	followShare  = 0.15              // of the flow's own rise; a return that rose by less did not follow
	followsShare = 0.30              // of it; one that rose by more did
	least        = 2.0               // K of the return's rise that are nothing: two steps of a coarse bus sensor
	keepsShare   = 0.5               // of the spread that is left two minutes after the burner went off, where no water moves
	backShare    = 0.25              // of the flow's own rise; what is left of it after two minutes where water moves
	wrongFor     = 24 * time.Hour    // within which what firings tell of a sensor holds for others: one that reads wrong does so for days
	restarts     = 2                 // such firings in a row
	boutLasts    = 10 * time.Minute  // so long they must go on: a return far away follows late
	boutPause    = 90 * time.Minute  // firings nearer than this belong together: water that stands in an exchanger cools slowly
	lateFault    = 2 * time.Minute   // within which a lockout belongs to the firing before it
	littleWater  = 8.0               // l, up to which only the exchanger is warmed: 7 kW for 40 s and 10 K is 6.8 l
	circuitWater = 12.0              // l, from which some of the circuit's water was warmed as well: no exchanger with its metal takes so much
	soonAgain    = 150 * time.Second // within which a burner lights again before two minutes after it were seen, with the time between two readings
	alike        = 5.0               // K between flow and return at a start up to which they count as alike
	warmsFor     = 15 * time.Minute  // for which a return is warm of hot water that was made before
	wide         = 30 * time.Second  // time between two readings of the flow from which the rise cannot be told
)

// Check is no-circulation.
func Check() analyse.Check {
	return analyse.Check{
		Kind: "no-circulation",
		Doc:  "flow rises fast at firing while return does not follow",
		Needs: []analyse.Need{
			{Points: []decode.Point{decode.Flow}, Say: "no flow temperature: read it from the appliance's bus; a probe on a pipe in which no water moves shows little of it"},
			{Points: []decode.Point{decode.Return}, Say: "no return temperature: clip a probe on the return, or read it from the bus"},
			{Points: []decode.Point{decode.Flame, decode.Modulation, decode.ElectricPower}, Say: "nothing tells when the burner runs, and without it a burner that warms no water cannot be told from one that rests: it needs the appliance's bus or a flame contact"},
		},
		Criteria: criteria(),
		Run:      run,
	}
}

func run(p *analyse.Pass) {
	seen := gather(p)
	if len(seen.firings) == 0 {
		p.NotAssessable(seen.nothing(p))
		return
	}
	bouts := findBouts(p, seen.firings)
	var dead, lone []bout
	sound, unclear := 0, 0
	for _, b := range bouts {
		switch b.verdict {
		case noWater:
			dead = append(dead, b)
		case onlyOnce:
			lone = append(lone, b)
		case follows:
			sound++
		default:
			unclear++
		}
	}
	p.Measured("heating firings with flow and return read", "%d, in %s", len(seen.firings), analyse.Count(len(bouts), "run"))
	p.Measured("runs in which the return followed", "%d of %d", sound, len(bouts))
	tellLookAlikes(p, seen, bouts)
	weak := weakOf(p, seen.firings, bouts)
	switch {
	case len(dead) > 0 && useOpen(p, dead):
		p.NotAssessable("the flow rose fast and the return stayed cold, but the record does not say whether the burner ran for heating or for hot water, for which the heating's pipes stay cold: it needs the bus's hot-water flag or heat demand")
	case len(dead) > 0:
		p.Found(describe(p, seen, dead, bouts))
	case sound == 0 && seen.rare > 0 && seen.rare >= len(seen.firings):
		p.NotAssessable(fmt.Sprintf("the flow was read only every %s while the burner ran, and no firing lasted long enough to see the return follow: it needs a reading every %s or oftener",
			analyse.Span(seen.interval), analyse.Span(wide)))
	case len(lone) > 0 && sound == 0:
		p.NotAssessable(fmt.Sprintf("the flow rose fast and the return stayed cold in one firing (%s); one alone may be a burn that ended before the water came round. It needs a longer record", p.Site.DayClock(lone[0].From)))
	case sound == 0 && unmoved(seen.firings) > 0:
		p.NotAssessable(fmt.Sprintf("in %s of %s or longer the return did not move at all, and the flow did not rise as it does where water stands: the return is not read where its water flows. Clip the probe on the return near the appliance, under insulation, and look again",
			analyse.Count(unmoved(seen.firings), "heating firing"), analyse.Span(longBurn)))
	case sound == 0:
		p.NotAssessable(fmt.Sprintf("%s seen, none of them long enough for the return to follow, none of them quick enough to say that it never would", analyse.Count(len(seen.firings), "heating firing")))
	case weak.doubtful(len(seen.firings)):
		p.NotAssessable(weak.words(len(seen.firings)))
	default:
		because := fmt.Sprintf("the return followed the flow in %d of %s of heating firings; no two firings in a row rose fast with the return left cold", sound, analyse.Count(len(bouts), "run"))
		if len(lone) > 0 {
			because += fmt.Sprintf("; once, at %s, it did: worth watching", p.Site.DayClock(lone[0].From))
		}
		p.Clear(because)
	}
}

// longBurn is how long a burner must run for any return near the appliance to have warmed: most circuits' water has
// gone round by then (120 l at 12 l/min take 10 min). Own proposal.
const longBurn = 20 * time.Minute

// unmoved counts the firings as long as that in which the return did not move.
func unmoved(firings []*episode.Firing) (n int) {
	for _, f := range firings {
		if f.Duration() >= longBurn && f.Rise.ReturnMax-f.Rise.ReturnStart <= least {
			n++
		}
	}
	return n
}

// observed is what the record has of firings that can be judged.
type observed struct {
	firings  []*episode.Firing // for heating, with flow and return
	hotWater []*episode.Firing // the same for hot water
	shape    int               // heating firings told by shape alone
	bare     int               // without flow or return
	rare     int               // with the flow read too rarely
	interval time.Duration     // the longest of them
	faulty   int               // by a sensor that gives values water cannot have
}

func gather(p *analyse.Pass) observed {
	var o observed
	for i := range p.Facts.Firings {
		f := &p.Facts.Firings[i] // a year has many
		switch {
		case f.Basis == episode.ByShape:
			o.shape++
		case !f.Rise.Seen:
			o.bare++
		case faulty(p, f.Rise):
			o.faulty++
		case f.Use == episode.HotWater:
			o.hotWater = append(o.hotWater, f)
		case f.Cut || f.End == episode.EndRecord:
		default:
			if f.Rise.Interval > wide {
				o.rare++
				o.interval = max(o.interval, f.Rise.Interval)
			}
			o.firings = append(o.firings, f)
		}
	}
	return o
}

// faulty tells whether flow or return of a firing come from a sensor that gives values water cannot have: a return that is
// stuck never follows. Two sensors that disagree are no such reason: a pipe in which nothing moves stays cold.
func faulty(p *analyse.Pass, r episode.Rise) bool {
	const fault = "sensor-fault"
	return p.Doubted(decode.Series{Source: r.FlowSource, Point: decode.Flow}) == fault ||
		p.Doubted(decode.Series{Source: r.ReturnSource, Point: decode.Return}) == fault
}

func (o observed) nothing(p *analyse.Pass) string {
	switch {
	case o.shape > 0:
		return "when the burner ran is told from the warming of flow and return alone, and a burner that warms no moving water does not show in it: it needs the appliance's bus or a flame contact"
	case o.faulty > 0:
		return "the sensor of flow or return gives values that water cannot have (sensor-fault): see to it, then log again"
	case o.bare > 0:
		return "flow and return were not read while the burner ran for heating"
	}
	return "no heating firing was seen from beginning to end"
}

// useOpen tells whether it matters that the use of the firings that show it is a guess. It does not where a cylinder
// is warmed through the same return as the rooms, which is where an appliance's own sensor sits.
func useOpen(p *analyse.Pass, dead []bout) bool {
	return slices.ContainsFunc(dead, func(b bout) bool {
		return slices.ContainsFunc(b.dead, func(f *episode.Firing) bool {
			common := p.Plant.HotWater == analyse.CylinderHotWater && slices.Contains(p.Buses, f.Rise.ReturnSource)
			return !f.UseKnown && !common
		})
	})
}

// tellLookAlikes keeps what speaks for and against what resembles a circuit without circulation.
func tellLookAlikes(p *analyse.Pass, o observed, bouts []bout) {
	late, quickWarm, hot, wrong := 0, 0, 0, 0
	for _, b := range bouts {
		if b.verdict == follows && b.followed > slowReturn {
			late++
		}
		for _, f := range b.firings {
			if carriedOff(p, f) {
				wrong++
			}
			if f.Rise.Fastest >= fastRise && (f.Rise.Followed || f.Rise.ReturnStart > coldReturn) {
				quickWarm++
			}
		}
	}
	for _, f := range o.hotWater {
		if f.Rise.Fastest >= fastRise && !f.Rise.Followed {
			hot++
		}
	}
	if late > 0 {
		p.RuledOut("a return that follows late", "in %s the return took more than %s, but it came", analyse.Count(late, "run"), analyse.Span(slowReturn))
	}
	if quickWarm > 0 {
		p.RuledOut("a burner that is big for its circuit", "%s rose fast, but the return followed or was warm", analyse.Count(quickWarm, "firing"))
	}
	if wrong > 0 {
		p.LeftOpen("a flow sensor that reads too hot", "%s began with the flow far above the return, and two minutes later it was back there: the heat was carried off. Hold a thermometer against the flow pipe", analyse.Count(wrong, "firing"))
	}
	if hot > 0 {
		p.RuledOut("hot water", "%s with a cold return were for hot water, with the heating's pipes shut off", analyse.Count(hot, "firing"))
	}
	if o.shape > 0 {
		p.LeftOpen("firings told by shape", "%s are left out: without a flame's word a burner that warms no moving water does not show", analyse.Count(o.shape, "firing"))
	}
}

// slowReturn is the time from which a return that follows is called late: the way round a house takes minutes. Own
// proposal.
const slowReturn = 5 * time.Minute

// apart is how far flow must stand above return.
func apart(p *analyse.Pass) float64 {
	if d, ok := p.Plant.DesignDeltaT(); ok {
		return max(leastApart, designApart*float64(d))
	}
	return unknownApart
}

func round(v float64) float64 { return math.Round(v*10) / 10 }

func celsius(v float64) unit.Celsius { return unit.Celsius(v) }
