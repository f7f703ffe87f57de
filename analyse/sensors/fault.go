package sensors

import (
	"fmt"
	"math"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

const (
	// leastJumps is the number of jumps, or of power-on values, in any spell from which a sensor is at fault, spell that
	// time. Own proposal: one or two are a knock, a plug that was pulled, or a probe powered up.
	leastJumps = 3
	spell      = 7 * 24 * time.Hour
	// mixedShare is the share of readings that jump from which two sensors come under one name. Own proposal: a poor
	// connection is right most of the time.
	mixedShare = 0.15
	// leastRail and leastRails are how long, or how often, a sensor must have been at the end of its range. Own proposal:
	// above what a single telegram that was garbled can do.
	leastRail  = time.Minute
	leastRails = 3
	// leastSeen is the shortest record that may be called clear: what a stuck sensor takes to show. Own proposal.
	leastSeen = stuckCoarse
	// slowlyRead is the interval from which jumps may be missed. Own proposal, as in the facts.
	slowlyRead = 12 * time.Second
)

// Fault is the check for values that water cannot have.
func Fault() analyse.Check {
	return analyse.Check{
		Kind: "sensor-fault", Sensors: true,
		Doc: "a sensor gives values that water cannot have: jumps, stuck, power-on value, open, short",
		Needs: []analyse.Need{{Points: []decode.Point{decode.Flow, decode.Return, decode.Cylinder, decode.Outside, decode.Room, decode.Pressure, decode.HotWater},
			Say: "no temperature and no pressure: clip probes on flow and return, or read the appliance's bus"}},
		Criteria: []analyse.Criterion{
			{Name: "water changes no faster than", Value: 3, Unit: "K/s", Source: "computed: 24 kW into 2 l of water and metal"},
			{Name: "jumps looked at in water from", Value: 8, Unit: "K", Source: "own proposal: above steps of 1 K and noise"},
			{Name: "a jump lasts for at most", Value: 3, Unit: "values", Source: "common practice, no source"},
			{Name: "jumps or power-on values needed in seven days", Value: leastJumps, Source: "own proposal"},
			{Name: "share of readings that jump from which two sensors share one name", Value: mixedShare, Source: "own proposal"},
			{Name: "open or shorted below", Value: -35, Unit: "°C", Source: "common practice, no source: an open thermistor reads about −40 °C"},
			{Name: "open or shorted above", Value: 115, Unit: "°C", Source: "common practice, no source: a shorted thermistor reads 120 °C and more; limiters of sealed systems trip at 110 °C or below"},
			{Name: "at the end of its range for", Value: leastRail.Seconds(), Unit: "s", Source: "own proposal"},
			{Name: "value before the first measurement of a 1-Wire thermometer", Value: 85, Unit: "°C", Source: "DS18B20 datasheet, memory map at power-up"},
			{Name: "single values off the line of their neighbours by", Value: 12, Unit: "K", Source: "own proposal, of readings 12 to 75 s apart, the other pipe and three values on either side being calm"},
			{Name: "of these, needed in seven days", Value: leastSpikes, Source: "own proposal"},
			{Name: "but above this share of the readings it may be the burner", Value: spikesShare, Source: "own proposal"},
			{Name: "and on average a day", Value: spikesADay, Source: "own proposal"},
			{Name: "stuck outside, without another sensor to compare: one value for", Value: aloneFor.Hours(), Unit: "h", Source: "own proposal: air moves by more than the steps below between night and day"},
			{Name: "where the sensor has shown steps no larger than", Value: aloneStep, Unit: "K", Source: "own proposal"},
			{Name: "record needed to call it clear", Value: leastSeen.Hours(), Unit: "h", Source: "own proposal"},
			{Name: "not relied on by other checks where wrong for this share of the record, from", Value: doubtShare, Source: "own proposal"},
			{Name: "stuck: one value for", Value: stuckFor.Hours(), Unit: "h", Source: "own proposal"},
			{Name: "stuck, where the sensor tells steps of 0.3 K or more: one value for", Value: stuckCoarse.Hours(), Unit: "h", Source: "own proposal: a slow return in steps of 1 K may stand for hours"},
			{Name: "stuck: another sensor of the same water moved meanwhile by", Value: stuckMoved, Unit: "K", Source: "own proposal"},
			{Name: "or the other pipe, its quick swings smoothed out, by", Value: pairMoved, Unit: "K", Source: "own proposal: emitters even short burns out"},
			{Name: "of which a return was to move, by its share of the flow's excess over the room, and two of its steps more", Value: followsBy, Unit: "K", Source: "own proposal"},
			{Name: "not stuck where another sensor of the same water moved by no more than", Value: twinStands, Unit: "K", Source: "own proposal: the room's drift"},
			{Name: "a flow in coarse steps: not its set-point held, where the burner rested for", Value: stuckDark.Minutes(), Unit: "min", Source: "own proposal"},
			{Name: "or, where nobody tells of the burner, and of a return that hardly follows: one value for", Value: stuckBlind.Hours(), Unit: "h", Source: "own proposal"},
			{Name: "stuck: burner time meanwhile", Value: stuckLit.Minutes(), Unit: "min", Source: "own proposal"},
		},
		Run: runFault,
	}
}

// fault is one sort of wrong values of one sensor.
type fault struct {
	*record
	how      string // "jumps", "power-on", "open", "short", "stuck"
	n        int
	what     string // for people
	evidence []analyse.Evidence
	severity analyse.Severity
	stuckFor time.Duration // of how "stuck"
}

func runFault(p *analyse.Pass) {
	all := records(p)
	var found []fault
	var remarks, open []string // what was seen and is none; what was seen and cannot be told
	for _, r := range all {
		p.Measured(r.String(), "%s; %d jumps and back, %d more near a start, a stop or hot water, %d single values far off their neighbours; %d power-on values; %d readings at the end of the range, %d that cannot be at all, %d that are no number",
			r.span(), r.jumps.n, r.excused, r.spikes.n, r.powerOn.n, r.rail.n, r.beyond.n, r.blank.n)
		f, said := r.judge(p)
		found, remarks = append(found, f...), append(remarks, said...)
		if why := r.untold(p); why != "" {
			open = append(open, why)
		}
	}
	if seen := p.Facts.To.Sub(p.Facts.From); len(found) == 0 && seen < leastSeen {
		p.NotAssessable(fmt.Sprintf("the record is only %s long, too short for a sensor that sticks or jumps now and then; %s with heating are needed: leave the logger on", analyse.Span(seen), analyse.Span(leastSeen)))
		return
	}
	if len(found) == 0 && len(open) > 0 {
		p.NotAssessable(strings.Join(append(open, remarks...), "; "))
		return
	}
	if len(found) == 0 {
		because := fmt.Sprintf("%s gave only values that can be", analyse.Count(len(all), "sensor"))
		for _, c := range p.Coverage {
			if isWater(c.Series.Point) && c.Interval > slowlyRead && !episode.SpikesLookedAt(c.Series.Point, c.Interval) {
				remarks = append(remarks, fmt.Sprintf("%s is read only every %s, so that a jump of seconds is seldom seen", c.Series, analyse.Span(c.Interval)))
				p.LeftOpen("jumps of "+c.Series.String(), "read every %s only: a probe beside it, or a look every few seconds, would tell a jump from water", analyse.Span(c.Interval))
			}
		}
		if len(remarks) > 0 {
			because += "; " + strings.Join(remarks, "; ")
		}
		p.Clear(because)
		return
	}
	p.Found(findingOf(p, found, remarks))
}

// judge weighs one sensor: its faults, and remarks on what is none.
func (r *record) judge(p *analyse.Pass) (found []fault, remarks []string) {
	name := called(p, r.Series)
	switch {
	case r.jumps.n > 0 && float64(r.jumps.n) > mixedShare*float64(r.n):
		remarks = append(remarks, fmt.Sprintf("%s jumps to and fro all the time: two sensors seem to come under one name", name))
		p.RuledOut("jumps of "+r.String(), "%d of %d readings jump and come back: as two sensors under one name do, not as a poor connection does", r.jumps.n, r.n)
	case r.jumps.spell >= leastJumps:
		found = append(found, fault{record: r, how: "jumps", n: r.jumps.n, severity: r.gravity(p),
			what:     fmt.Sprintf("%s jumped %s by up to %.3g %s and came back at once", name, analyse.Times(r.jumps.n), math.Abs(r.jumps.most), kelvin(r.Point)),
			evidence: r.jumps.evidence(r.Point, "jumped")})
	case r.jumps.n > 0:
		remarks = append(remarks, fmt.Sprintf("%s jumped %s, fewer than %d: a knock or a plug may do that", name, analyse.Times(r.jumps.n), leastJumps))
		p.LeftOpen("a knock on "+r.String(), "%s only; should it come again, look at the plug", analyse.Times(r.jumps.n))
	}
	if r.excused > 0 && r.jumps.spell < leastJumps {
		p.RuledOut("jumps of "+r.String(), "%s within three minutes of a start, a stop or hot water, when standing water passes the sensor", analyse.Times(r.excused))
	}
	if r.powerOn.spell >= leastJumps {
		found = append(found, fault{record: r, how: "power-on", n: r.powerOn.n, severity: analyse.Note,
			what:     fmt.Sprintf("%s answered %s with its power-on value of 85 °C, or without having measured", name, analyse.Times(r.powerOn.n)),
			evidence: r.powerOn.evidence(r.Point, "power-on value")})
	} else if r.powerOn.n > 0 {
		remarks = append(remarks, fmt.Sprintf("%s gave its power-on value %s, as a probe does that was just plugged in", name, analyse.Times(r.powerOn.n)))
	}
	if f, ok := r.spiked(p, name); ok {
		found = append(found, f)
	}
	if f, ok := r.impossible(p, name); ok {
		found = append(found, f)
	} else if r.beyond.n > 0 {
		remarks = append(remarks, fmt.Sprintf("%s gave %.4g %s %s, which cannot be: too seldom to tell the sensor from what wrote it down", name, r.beyond.most, r.Point.Unit(), analyse.Times(r.beyond.n)))
	}
	if f, ok := r.railed(p, name); ok {
		found = append(found, f)
	}
	f, ok, why := r.stuck(p, name)
	if ok {
		found = append(found, f)
	}
	if why != "" {
		remarks = append(remarks, why)
	}
	return found, remarks
}

// railed tells of an open or a shorted sensor.
func (r *record) railed(p *analyse.Pass, name string) (fault, bool) {
	if r.rail.n < leastRails && r.railFor < leastRail || r.neverElse() && r.low == 0 {
		return fault{}, false
	}
	how, level := "short", r.rail.most
	if level < 0 {
		how = "open"
	}
	f := fault{record: r, how: how, n: r.rail.n, severity: r.gravity(p),
		what: fmt.Sprintf("%s read %.4g %s %s, which it cannot have seen", name, level, r.Point.Unit(), lasting(r.railFor, r.rail.n))}
	if isWater(r.Point) && isBus(p, r.Source) {
		f.severity = analyse.Act // an appliance locks out on it
	}
	f.evidence = r.rail.evidence(r.Point, "end of the range")
	return f, true
}

func lasting(d time.Duration, n int) string {
	if d < leastRail {
		return analyse.Times(n)
	}
	return "for " + analyse.Span(d)
}

// neverElse tells whether the sensor gave one value and no other.
func (r *record) neverElse() bool { return r.low == r.high }

// gravity is how much a fault of the sensor means: the appliance acts on its own, nobody but the logger on a probe.
func (r *record) gravity(p *analyse.Pass) analyse.Severity {
	if isBus(p, r.Source) && r.Point != decode.Outside && r.Point != decode.Room {
		return analyse.Advise
	}
	return analyse.Note
}

func kelvin(p decode.Point) string {
	if p.Temperature() {
		return "K"
	}
	return p.Unit()
}

// evidenceKept is how many events are shown of one sort.
const evidenceKept = 4

func (e *events) evidence(p decode.Point, what string) (out []analyse.Evidence) {
	for _, x := range e.first[:min(len(e.first), evidenceKept)] {
		out = append(out, analyse.Evidence{From: x.At, To: x.At, Note: fmt.Sprintf("%s: %.4g after %.4g %s", what, x.Value, x.Before, p.Unit())})
	}
	return out
}
