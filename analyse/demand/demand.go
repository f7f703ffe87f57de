// Package demand judges whether the heat that was asked for came.
package demand

import (
	"fmt"
	"math"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

const kind = "demand-not-met"

// The criteria. No standard sets them. That the flow is "well below its set-point" is a fact's own limit: 8 K, a
// switch-on differential of 5 K and 3 K beyond (common practice, no source).
const (
	idleFor     = 30 * time.Minute // of demand with cold water and no firing: longer than anti-cycle times in use (3 to 5 min, up to 30)
	coldFor     = 4 * time.Hour    // of demand in which the flow never neared its set-point: longer than a sound warm-up
	slabFor     = 24 * time.Hour   // the same for underfloor heating that still warms up
	slabRise    = 2.0              // K between the first hour and the last: it still warms up
	otherFor    = time.Hour        // as idleFor, where only a sensor that control does not use says that the water is cold
	otherEven   = 4.0              // K by which the two may draw apart meanwhile: a sensor that reads hot stays as far off
	coolsBy     = 2.0              // K an hour: water that is pumped through emitters without heat cools many times as fast
	warmWater   = 40.0             // °C that water at rest in a heating circuit does not keep
	briefShare  = 0.2              // share of the demand with a flame up to which flames are but brief
	leastDemand = time.Hour        // of demand, before anything can be said
	readEvery   = 5 * time.Minute  // a flow or a flame read less often can hide a firing
	graveIdle   = 2 * time.Hour    // without any heat: people sit in the cold
	graveCold   = 8 * time.Hour    //
)

// Check is the check.
func Check() analyse.Check {
	return analyse.Check{
		Kind: kind,
		Doc:  "heat asked for and not given",
		Needs: []analyse.Need{
			{Points: []decode.Point{decode.HeatDemand, decode.HeatActive}, Say: "no heat demand: it needs the boiler's bus, or a contact that tells when the room thermostat calls"},
			{Points: []decode.Point{decode.FlowSetpoint}, Say: "no flow set-point, so that a burner that rests because the water is warm enough cannot be told: it needs the boiler's bus, or the controller's set-point in a file",
				Unless: blind},
			{Points: []decode.Point{decode.Flow}, Say: "no flow temperature: read it from the bus, or clip a probe on the flow"},
			{Points: []decode.Point{decode.Flame, decode.Modulation, decode.ElectricPower}, Say: "no flame signal, so that a burner at rest cannot be told: it needs the boiler's bus or a flame contact"},
		},
		Criteria: []analyse.Criterion{
			{Name: "demand with the flow 8 K or more below its set-point and no firing, from", Value: idleFor.Minutes(), Unit: "min", Source: "own proposal: longer than anti-cycle times in use (common practice, no source)"},
			{Name: "without any set-point, where a contact asks for heat: the same with the flow below", Value: blindFlow, Unit: "°C", Source: "own proposal: water no warmer heats no room"},
			{Name: "or demand in which the flow came no nearer than 8 K, from", Value: coldFor.Hours(), Unit: "h", Source: "own proposal: longer than a warm-up of radiators"},
			{Name: "the same for underfloor heating that still warms up, from", Value: slabFor.Hours(), Unit: "h", Source: "own proposal: a cold slab takes a day"},
			{Name: "it still warms up when the last hour's flow lies above the first's by", Value: slabRise, Unit: "K", Source: "own proposal"},
			{Name: "the same where the appliance's own sensor says that the water is warm and a second one that it is 15 K or more too cold, from", Value: otherFor.Minutes(), Unit: "min", Source: "own proposal"},
			{Name: "and the two draw apart by no more than", Value: otherEven, Unit: "K", Source: "own proposal: water that stands hot in the appliance cools, a sensor that reads hot stays as far off"},
			{Name: "water that stays as warm as this with flames of some seconds is fired, whatever else is wrong, from", Value: warmWater, Unit: "°C", Source: "own proposal"},
			{Name: "which takes up of the demand at most", Value: briefShare, Source: "own proposal"},
			{Name: "and cools by no more, in an hour, than", Value: coolsBy, Unit: "K", Source: "own proposal"},
			{Name: "the flow stands still within", Value: steadyFlow, Unit: "K", Source: "own proposal"},
			{Name: "output-too-small: modulation while it burns from", Value: fullOutput, Unit: "%", Source: "own proposal"},
			{Name: "the burner never rests from this share of the demand with a flame", Value: restless, Source: "own proposal"},
			{Name: "heat-elsewhere: all output, and the load by the weather below this share of design", Value: mildLoad, Source: "own proposal"},
			{Name: "low-flow: flow less return above this share of design", Value: wideDelta, Source: "own proposal"},
			{Name: "anti-cycle-time: rests of one length within", Value: sameWaits.Minutes(), Unit: "min", Source: "own proposal"},
			{Name: "anti-cycle-time: rests, at least", Value: leastWaits, Unit: "rests", Source: "own proposal"},
			{Name: "anti-cycle-time: each begins after a firing within", Value: afterFiring.Minutes(), Unit: "min", Source: "own proposal"},
			{Name: "demand needed", Value: leastDemand.Hours(), Unit: "h", Source: "own proposal"},
			{Name: "flow and flame read at least every", Value: readEvery.Minutes(), Unit: "min", Source: "own proposal"},
			{Name: "no heat at all for so long calls for action", Value: graveIdle.Hours(), Unit: "h", Source: "own proposal"},
			{Name: "too little heat for so long calls for action", Value: graveCold.Hours(), Unit: "h", Source: "own proposal"},
		},
		Run: run,
	}
}

// blindFlow is the fact's own limit where no set-point is told, °C.
const blindFlow = 25.0

// blind tells whether no set-point is told, but a contact asks for heat: then water that heats no room is cold enough to
// tell, and nothing more can be told.
func blind(p *analyse.Pass) bool {
	return !p.Has(decode.FlowSetpoint) && p.ByContact(decode.HeatDemand)
}

// unmet are the stretches that count.
type unmet struct{ idle, cold []episode.Unmet }

func run(p *analyse.Pass) {
	asked := demandTime(p.Facts)
	p.Measured("heat demand", "%s in %s", analyse.Span(asked), analyse.Count(len(p.Facts.Demands), "period"))
	for _, d := range p.Facts.Disputes {
		if text := analyse.DisputeWords(d, p.Buses); text != "" && (d.Point == decode.HeatDemand || d.Point == decode.Flame) {
			p.LeftOpen("two words on one thing", "%s", text)
		}
	}
	u := collect(p)
	every := interval(p)
	if every > readEvery { // a firing can hide between two readings
		u.idle = nil
	}
	if len(u.idle)+len(u.cold) > 0 {
		if !p.Has(decode.Fault) {
			p.LeftOpen("a lockout", "no fault signal is in the record: the appliance may have been locked out. The bus tells, or the appliance's display")
		}
		p.Found(describe(p, u, asked))
		return
	}
	switch {
	case blind(p):
		p.NotAssessable(fmt.Sprintf("no flow set-point, so that a burner that rests because the water is warm enough cannot be told; what can be was not found: a burner at rest for %s with the flow below %.0f °C", analyse.Span(idleFor), blindFlow))
	case asked < leastDemand:
		p.NotAssessable(fmt.Sprintf("heat was asked for during %s only; %s are needed: leave the logger on through colder weather", analyse.Span(asked), analyse.Span(leastDemand)))
	case every > readEvery:
		p.NotAssessable(fmt.Sprintf("flow or flame were read every %s only, so that a firing between two readings cannot be told; every %s is needed", analyse.Span(every), analyse.Span(readEvery)))
	default:
		p.Clear(fmt.Sprintf("in %s of heat demand the burner never rested for %s with the water well below its set-point, nor did the water stay there for %s",
			analyse.Span(asked), analyse.Span(idleFor), analyse.Span(coldFor)))
	}
}

// collect takes the stretches that count and says what spoke against the others.
func collect(p *analyse.Pass) (u unmet) {
	var longest time.Duration
	warming, standing, kept := 0, 0, 0
	for _, x := range p.Facts.Unmet {
		second := x.Apart != [2]float64{}
		switch {
		case second && (x.Asked < otherFor || x.Apart[1]-x.Apart[0] > otherEven):
			if x.Asked >= idleFor {
				standing++
			}
		case x.Asked >= idleFor && keptWarm(x):
			kept++
		case x.Kind == episode.UnmetIdle && x.Asked >= idleFor:
			u.idle = append(u.idle, x)
		case x.Kind == episode.UnmetIdle:
			longest = max(longest, x.Asked)
		case x.Asked < coldFor:
		case p.Plant.Emitters == "underfloor" && x.Asked < slabFor && x.FlowLast-x.FlowFirst >= slabRise:
			warming++
		default:
			u.cold = append(u.cold, x)
		}
	}
	if longest > 0 {
		p.RuledOut("anti-cycle waits", "the longest rest with cold water short of the criterion was %s", analyse.Span(longest))
	}
	if kept > 0 {
		p.RuledOut("burns too brief to hold", "%s with flames of some seconds in which the water yet stayed as warm: the burner fires and is put out, see no-circulation and short-cycling", analyse.Count(kept, "period"))
	}
	if standing > 0 {
		p.LeftOpen("water that stands hot in the appliance", "%s in which the appliance's own sensor was warm, a second one cold, and no burner ran: see whether the water moves", analyse.Count(standing, "period"))
	}
	if warming > 0 {
		p.RuledOut("a cold slab that warms up", "%s of underfloor heating in which the flow still rose", analyse.Count(warming, "period"))
	}
	return u
}

// keptWarm tells whether flames of some seconds kept the water warm: without heat it would have cooled.
func keptWarm(x episode.Unmet) bool {
	return x.Tries > 0 && x.Flow >= warmWater && x.FlowFirst-x.FlowLast <= max(steadyFlow, coolsBy*x.Asked.Hours()) && x.Fired.Seconds() <= briefShare*x.Asked.Seconds()
}

func demandTime(f *episode.Facts) time.Duration {
	var d time.Duration
	for _, x := range f.Demands {
		d += x.Duration()
	}
	return d
}

// interval is how often flow and flame were read, the rarer of the two, each by its best series.
func interval(p *analyse.Pass) time.Duration {
	worst := time.Duration(0)
	for _, points := range [][]decode.Point{{decode.Flow}, {decode.Flame, decode.Modulation, decode.ElectricPower}} {
		best := time.Duration(math.MaxInt64)
		for _, c := range p.Coverage {
			if slices.Contains(points, c.Series.Point) && c.Interval > 0 {
				best = min(best, c.Interval)
			}
		}
		if best < math.MaxInt64 {
			worst = max(worst, best)
		}
	}
	return worst
}

func describe(p *analyse.Pass, u unmet, asked time.Duration) analyse.Finding {
	all := append(slices.Clone(u.idle), u.cold...)
	f := analyse.Finding{Severity: analyse.Advise, From: all[0].From, To: all[0].To}
	for _, x := range all {
		f.From, f.To = earlier(f.From, x.From), later(f.To, x.To)
	}
	idle, idleMost := sum(u.idle)
	_, coldMost := sum(u.cold)
	if idleMost >= graveIdle || coldMost >= graveCold {
		f.Severity = analyse.Act
	}
	f.Numbers = []analyse.Number{
		{Name: "idle_min_longest", Value: math.Round(idleMost.Minutes()), Label: "longest demand without firing", Unit: "min"},
		{Name: "idle_min", Value: math.Round(idle.Minutes()), Label: "demand without firing", Unit: "min"},
		{Name: "cold_h_longest", Value: math.Round(coldMost.Hours()*10) / 10, Label: "longest demand without nearing the set-point", Unit: "h"},
		{Name: "demand_h", Value: math.Round(asked.Hours()*10) / 10, Label: "heat demand in the record", Unit: "h"},
	}
	switch {
	case len(u.idle) > 0:
		f.Summary = fmt.Sprintf("Heat was asked for and did not come: the burner stayed off %s, %s at the longest, though the water was cold and no fault was shown.",
			analyse.Times(len(u.idle)), analyse.Span(idleMost))
	default:
		x := longest(u.cold)
		f.Summary = fmt.Sprintf("The heating never gets as warm as is asked for: the water stayed at %.0f °C when %.0f °C were wanted, for %s at the longest.",
			x.Flow, x.Setpoint, analyse.Span(coldMost))
	}
	f.Evidence = evidence(all)
	f.Causes = weigh(p, u)
	return f
}

// mostEvidence is how many stretches are shown: the longest, not all.
const mostEvidence = 6

func evidence(all []episode.Unmet) (out []analyse.Evidence) {
	slices.SortStableFunc(all, func(x, y episode.Unmet) int { return int(y.Asked - x.Asked) })
	all = all[:min(len(all), mostEvidence)]
	slices.SortStableFunc(all, func(x, y episode.Unmet) int { return x.From.Compare(y.From) })
	for _, x := range all {
		note := fmt.Sprintf("%s of demand, set-point %.0f °C, flow %.0f °C, ", analyse.Span(x.Asked), x.Setpoint, x.Flow)
		if x.Blind {
			note = fmt.Sprintf("%s of demand, set-point not known, flow %.0f °C, ", analyse.Span(x.Asked), x.Flow)
		}
		switch {
		case x.Kind == episode.UnmetIdle && x.Tries > 0:
			note += fmt.Sprintf("no firing but %s that did not hold", analyse.Count(x.Tries, "flame"))
		case x.Kind == episode.UnmetIdle:
			note += "no firing"
		default:
			note += fmt.Sprintf("burner on for %.0f %% of it", 100*x.Fired.Seconds()/max(1, x.Asked.Seconds()))
		}
		if x.OutSeen {
			note += fmt.Sprintf(", outside %.0f °C", x.Outside)
		}
		out = append(out, analyse.Evidence{From: x.From, To: x.To, Note: note})
	}
	return out
}

func sum(list []episode.Unmet) (all, most time.Duration) {
	for _, x := range list {
		all += x.Asked
		most = max(most, x.Asked)
	}
	return all, most
}

// longest of one or more stretches.
func longest(list []episode.Unmet) episode.Unmet {
	return slices.MaxFunc(list, func(x, y episode.Unmet) int { return int(x.Asked - y.Asked) })
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}
