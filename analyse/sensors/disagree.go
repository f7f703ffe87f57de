package sensors

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/decode"
)

const (
	// contactAllowed is the share of the water's excess over the room by which a sound strapped probe may read low: a dry
	// strap under foam misses 0.03 to 0.08 (common practice, no source), 0.05 of 40 K are 2 K.
	contactAllowed = 0.05
	// leastApart is the difference below which nothing is said, K. Own proposal: steps, lag and places cost this much.
	leastApart = 3.0
	// leastHours and leastSettled are in how many hours, and for how long, two sensors must have been further apart.
	// Own proposal: once may be the water.
	leastHours   = 2
	leastSettled = 20 * time.Minute
	// overShare is the share of the compared hours, from the first one on in which they were apart, that must be so.
	// Own proposal: two sensors that agree in between see other water now and then.
	overShare = 0.3
	// largestError is the sum of two sensors' errors from which nothing can be told, K. Own proposal.
	largestError = 5.0
	// largestStep is the largest step that counts against a comparison, K; usualRoom the room where none is read, °C.
	largestStep, usualRoom = 1.0, 20.0
	// storeApart is by how much two sensors of one store may differ by their height and their pockets when it was just heated,
	// airApart the same of two on different walls by night, K. Own proposals, wide on purpose.
	storeApart, airApart = 5.0, 5.0
	// restWarm is how far above the room pipes at rest may be, K. Own proposal.
	restWarm = 6.0
	// leastCompared is the settled time of a pair that is enough to call it clear.
	leastCompared = 20 * time.Minute
)

// Disagreement is the check for two sensors of the same water.
func Disagreement() analyse.Check {
	return analyse.Check{
		Kind: "probe-disagreement", Sensors: true,
		Doc: "two sensors of the same water differ by more than their errors allow",
		Needs: []analyse.Need{{Points: water,
			Say: "no flow and no return temperature: clip probes on both pipes, and read the appliance's bus besides"}},
		Criteria: []analyse.Criterion{
			{Name: "apart by more than both sensors' errors and half a step of each, and this share of the water's excess over the room", Value: contactAllowed, Source: "common practice, no source: a dry strap under foam misses 0.03 to 0.08"},
			{Name: "but never below", Value: leastApart, Unit: "K", Source: "own proposal"},
			{Name: "error of a 1-Wire thermometer between −10 and 85 °C", Value: 0.5, Unit: "K", Source: "DS18B20 datasheet"},
			{Name: "hours of settled water in which they were apart", Value: leastHours, Unit: "h", Source: "own proposal"},
			{Name: "settled time in them", Value: leastSettled.Minutes(), Unit: "min", Source: "own proposal"},
			{Name: "share of the hours compared since they first were apart", Value: overShare, Source: "own proposal"},
			{Name: "two sensors of one store, apart by both errors and", Value: storeApart, Unit: "K", Source: "own proposal, of the warmest hour of a day: height and pocket"},
			{Name: "two sensors of outside air, apart by both errors and", Value: airApart, Unit: "K", Source: "own proposal, of the hours from midnight to five: walls and places"},
			{Name: "errors of both from which nothing can be told", Value: largestError, Unit: "K", Source: "own proposal"},
			{Name: "poor contact from this share of the excess over the room", Value: contactPoor, Source: "common practice, no source: a bare clip in air misses 0.08 to 0.2"},
			{Name: "off its pipe from this share", Value: contactOff, Source: "own proposal: beyond any contact"},
			{Name: "no line of the difference against the water's excess over the room, where its intercept's error is above this share of the difference", Value: fitError, Source: "own proposal"},
			{Name: "an offset, where at rest, or by that line's intercept, there is this share of the difference at load", Value: restOffset, Source: "own proposal"},
			{Name: "contact, where at rest there is less than this share of it", Value: restContact, Source: "own proposal"},
		},
		Run: runDisagreement,
	}
}

func runDisagreement(p *analyse.Pass) {
	out := judgement{p: p, room: roomOf(p), records: records(p)}
	var compared, missing, open []string
	waters := 0
	for _, x := range pairs(p) {
		name := x.name()
		if x.point == decode.Room {
			open = append(open, name+": two rooms may differ as they like")
			continue
		}
		if isWater(x.point) {
			waters++
		}
		lacks := &missing
		if !isWater(x.point) {
			lacks = &open
		}
		if x.limit > largestError {
			*lacks = append(*lacks, fmt.Sprintf("%s: their errors of %.1f K together are larger than what could be told", name, x.limit))
			continue
		}
		over := x.over()
		t := total(x.hours)
		p.Measured(name, "%s of settled water or air in %s; median difference %+.1f K at %.0f °C; %s further apart than allowed (%.1f K)", analyse.Span(t),
			analyse.Count(len(x.hours), "hour"), median(x.hours, diff), median(x.hours, level), analyse.Count(len(over), "hour"), median(x.hours, func(h hour) float64 { return h.allowed }))
		switch {
		case x.apart(over):
			out.found = append(out.found, apart{pair: x, hours: over})
		case t < leastCompared:
			*lacks = append(*lacks, fmt.Sprintf("%s: %s settled for only %s%s, %s are needed", name, stuff(x.point), analyse.Span(t), when(x.point), analyse.Span(leastCompared)))
		default:
			if len(over) > 0 {
				p.RuledOut(name, "apart in %s of %d only: other water for a while, as hot water or a start brings, not a sensor", analyse.Count(len(over), "hour"), len(x.hours))
			}
			compared = append(compared, fmt.Sprintf("%s differ by %.1f K at %.0f °C, allowed %.1f K", name, math.Abs(median(x.hours, diff)), median(x.hours, level),
				median(x.hours, func(h hour) float64 { return h.allowed })))
		}
	}
	for _, x := range open {
		p.LeftOpen("not compared", "%s", x)
	}
	if len(open) > 0 {
		open = []string{"not compared: " + strings.Join(open, ", ")}
	}
	switch {
	case len(out.found) > 0:
		p.Found(out.finding())
	case waters == 0:
		p.NotAssessable("only one sensor of each water was read: a second one on the same pipe, or the appliance's bus besides the probes, would let them be compared" + also(append(compared, open...)))
	case len(missing) == 0 && len(out.alone()) > 0: // clear would be said of a sensor that nothing was held against
		p.NotAssessable(fmt.Sprintf("%s: these agree. But %s, and nothing tells whether it is right: a second sensor on that pipe, a probe or the appliance's own, would let it be compared",
			strings.Join(compared, "; "), strings.Join(out.alone(), " and ")) + also(open))
	case len(missing) > 0:
		p.NotAssessable(strings.Join(missing, "; ") + ". A quarter of an hour of heating with the set-point held, the pump running and no hot water would let them be compared" + also(append(compared, open...)))
	default:
		p.Clear(strings.Join(append(compared, open...), "; "))
	}
}

// alone are the sensors of flow and return that have no second one of the same water, in words.
func (j *judgement) alone() (list []string) {
	for _, r := range j.records {
		second := func(o *record) bool { return o.Point == r.Point && o.Source != r.Source && o.n > 0 }
		if isWater(r.Point) && r.n > 0 && !slices.ContainsFunc(j.records, second) {
			list = append(list, fmt.Sprintf("the %s was read by one sensor only (%s)", pointName(r.Point), r.Series))
		}
	}
	return list
}

func stuff(p decode.Point) string {
	if p == decode.Outside {
		return "the air"
	}
	return "the water"
}

func when(p decode.Point) string {
	switch p {
	case decode.Outside:
		return " by night"
	case decode.Cylinder:
		return " in the warmest hours"
	}
	return " while heating"
}

func also(compared []string) string {
	if len(compared) == 0 {
		return ""
	}
	return "; " + strings.Join(compared, "; ")
}

func (x *pair) name() string {
	return fmt.Sprintf("%s and %s", x.first(), x.second())
}

// apart tells whether the hours in which a pair was over what is allowed are enough.
func (x *pair) apart(over []hour) bool {
	if len(over) < leastHours || total(over) < leastSettled {
		return false
	}
	since := slices.IndexFunc(x.hours, func(h hour) bool { return h.At.Equal(over[0].At) })
	return float64(len(over)) >= overShare*float64(len(x.hours)-since) ||
		// An ailment that came and went is one all the same, if it lasted.
		x.longest() >= leastRun
}

// leastRun is how many compared hours on end two sensors must have been apart for that to count though they agree again.
// Own proposal.
const leastRun = 4

// longest is the most hours on end that were over.
func (x *pair) longest() (most int) {
	n := 0
	for _, h := range x.hours {
		if n++; !h.over {
			n = 0
		}
		most = max(most, n)
	}
	return most
}

// apart is two sensors that differ.
type apart struct {
	*pair
	hours []hour // those over
}

// judgement gathers what is wrong.
type judgement struct {
	p       *analyse.Pass
	room    float64
	records []*record
	found   []apart
}
