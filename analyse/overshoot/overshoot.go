// Package overshoot judges how far the flow runs past its set-point when the burner starts.
package overshoot

import (
	"fmt"
	"math"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

const kind = "flow-overshoot"

// The criteria. No standard sets a limit on how far a boiler's flow may pass its set-point; burner thermostats go off
// 2 to 6 K above it (common practice, no source).
const (
	overK      = 8.0              // K past the set-point that count
	mostShare  = 0.5              // of the starts must pass by so much
	leastBurns = 4                // heating starts that can be judged, before anything is said
	leastBurn  = 20 * time.Second // a shorter one says nothing of control
	heatsBy    = 2.0              // K: a firing that warms the flow by less did not bring it where it is
	evenStarts = 0.75             // share of the starts that must overshoot where their use is not known
	apartK     = 4.0              // K: two sensors of the same flow that peak so far apart do not agree
	readEvery  = 30 * time.Second // a flow read less often can miss the peak of a short burn
	standingK  = 40.0             // K of flow over return at the end of a burn: the water hardly moves (common practice, no source)
	shortBurn  = 5 * time.Minute  // by then a burner whose water stands has come to its set-point. Own proposal
	stillShare = 0.15             // of the flow's rise over the return: a return that rose by less did not answer. Own proposal
	stillK     = 2.0              // K of the return's rise that are nothing: two steps of a coarse bus sensor
	manyStarts = 4.0              // starts an hour of firing and pause from which the overshoot is also wear
)

// Check is the check.
func Check() analyse.Check {
	return analyse.Check{
		Kind: kind,
		Doc:  "flow runs well past its set-point after most starts",
		Needs: []analyse.Need{
			{Points: []decode.Point{decode.FlowSetpoint}, Say: "no flow set-point: it needs the boiler's bus, or the controller's set-point in a file"},
			{Points: []decode.Point{decode.Flow}, Say: "no flow temperature: read it from the bus, or clip a probe on the flow"},
			{Points: []decode.Point{decode.Flame}, Say: "no flame signal, so that starts cannot be told: it needs the boiler's bus or a flame contact"},
		},
		Criteria: []analyse.Criterion{
			{Name: "the flow passes the highest set-point in force by", Value: overK, Unit: "K", Source: "own proposal; burner thermostats go off 2 to 6 K above (common practice, no source)"},
			{Name: "in this share of the heating starts", Value: mostShare, Source: "own proposal: most starts"},
			{Name: "heating starts needed", Value: leastBurns, Unit: "starts", Source: "own proposal"},
			{Name: "a start burns for at least", Value: leastBurn.Seconds(), Unit: "s", Source: "own proposal"},
			{Name: "a start warms the flow by at least", Value: heatsBy, Unit: "K", Source: "own proposal"},
			{Name: "and in this share, evenly, where the record does not say what the starts were for", Value: evenStarts, Source: "own proposal"},
			{Name: "two sensors of the flow do not agree from", Value: apartK, Unit: "K", Source: "own proposal: ±0.5 K (DS18B20 datasheet), 0.7 K of a thermistor and 2 K of contact on a dry strap (common practice, no source)"},
			{Name: "of the two that one is wrong whose flow stands off its return at lighting, after a rest of", Value: restFor.Hours(), Unit: "h", Source: "own proposal: the water has taken on the warmth of the room by then"},
			{Name: "while the other pair agrees within", Value: restEven, Unit: "K", Source: "own proposal: two probes of ±0.5 K (DS18B20 datasheet), and some warmth left"},
			{Name: "starts after such a rest, at least", Value: leastRests, Unit: "starts", Source: "own proposal"},
			{Name: "or that flow is wrong which stands no further above its return while the burner burns than this share of the other pair's difference", Value: lowOwn, Source: "own proposal"},
			{Name: "sensor-placement: the flow climbs after the burner stopped by", Value: lateK, Unit: "K", Source: "own proposal"},
			{Name: "closed-valves: the flow climbs in a minute by", Value: quickRise, Unit: "K", Source: "12 l of water warmed by 7 kW climb by 8.5 K/min (P/(V·ρ·c))"},
			{Name: "closed-valves: flow less return at the end of the burn from", Value: wideDelta, Unit: "K", Source: "common practice, no source: 25 to 30 K"},
			{Name: "control: half of the starts overshoot alike within", Value: evenK, Unit: "K", Source: "own proposal"},
			{Name: "oversized: the burner is at its least output up to", Value: lowFire, Unit: "%", Source: "own proposal"},
			{Name: "nothing is said where in most starts the water hardly moves: flow less return at the end of the burn from", Value: standingK, Unit: "K", Source: "common practice, no source"},
			{Name: "or a burn shorter than", Value: shortBurn.Minutes(), Unit: "min", Source: "own proposal"},
			{Name: "whose flow climbs in a minute by", Value: quickRise, Unit: "K", Source: "12 l of water warmed by 7 kW climb by 8.5 K/min (P/(V·ρ·c))"},
			{Name: "while the return rises by no more than this share of it", Value: stillShare, Source: "own proposal"},
			{Name: "or by no more than", Value: stillK, Unit: "K", Source: "two steps of a coarse bus sensor"},
			{Name: "flow read at least every", Value: readEvery.Seconds(), Unit: "s", Source: "own proposal"},
		},
		Run: run,
	}
}

// start is one firing that can be judged.
type start struct {
	*episode.Firing
	own, other         float64 // K past the set-point
	ownSeen, otherSeen bool
}

// by gives the excess that decides: by the source of the set-point, else by another.
func (s start) by() float64 {
	if s.ownSeen {
		return s.own
	}
	return s.other
}

func run(p *analyse.Pass) {
	starts, left := collect(p)
	unknown := left.unknownUse > len(starts)
	if unknown && none(left.unknown) {
		starts = append(starts, left.unknown...) // for whatever use, they keep to the set-point
		slices.SortFunc(starts, func(a, b start) int { return a.From.Compare(b.From) })
	} else if unknown && evenly(p, left.unknown) {
		starts = left.unknown
	} else if unknown {
		p.NotAssessable(fmt.Sprintf("of %s the record does not say whether they were for heating or for hot water: it needs the bus's hot-water flag, or a probe on the cylinder",
			analyse.Count(left.unknownUse, "firing")))
		return
	}
	if len(starts) < leastBurns {
		p.NotAssessable(fmt.Sprintf("%s could be held against the set-point, %d are needed: leave the logger on through more heating",
			analyse.Count(len(starts), "heating start"), leastBurns))
		return
	}
	starts = ofTheirOwn(p, starts)
	m := measure(starts)
	p.Measured("excess", "median %.1f K above the highest set-point in force, %.0f %% of %d heating starts by %.0f K or more", m.median, 100*m.share, len(starts), overK)
	if m.bothSeen > 0 {
		p.Measured("second sensor of the flow", "peaks %.1f K above the one of the source that gives the set-point", m.apart)
	}
	p.Measured("starts at which next to no water moved", "%.0f %% of %d", 100*m.standing, len(starts))
	left.tell(p)
	switch {
	case m.share >= mostShare && m.apart < -apartK:
		p.NotAssessable(fmt.Sprintf("the flow passes its set-point by %.1f K by one sensor, but a second sensor of the same flow peaks %.1f K lower: which of them is right must be settled first (compare both with a thermometer of known error at steady flow)",
			m.median, -m.apart))
	case m.share >= mostShare:
		p.Found(describe(p, starts, m))
	case m.otherShare >= mostShare && m.apart >= apartK:
		bySecond(p, starts, m)
	case m.standing >= mostShare:
		p.NotAssessable(fmt.Sprintf("at %.0f %% of the starts flow and return end %.0f K or more apart, or the flow shoots up in a short burn and the return never answers: next to no water moves, and a sensor on water that stands does not follow what the burner makes of it. See that the water moves (no-circulation), then judge again",
			100*m.standing, standingK))
	case interval(p) > readEvery && m.brief:
		p.NotAssessable(fmt.Sprintf("no overshoot was seen, but the flow was read every %s only: the peak of a short burn can be missed. Read it every %s or more often, or clip on a probe",
			analyse.Span(interval(p)), analyse.Span(readEvery)))
	default:
		p.Clear(fmt.Sprintf("the flow peaks %.1f K above its set-point in the median of %s", m.median, analyse.Count(len(starts), "heating start")))
	}
}

// none tells whether hardly any start overshoots.
func none(starts []start) bool {
	var by []float64
	for _, s := range starts {
		by = append(by, s.by())
	}
	return share(by) <= 1-evenStarts
}

// ofTheirOwn leaves out starts that went on from hot water, where enough others are left.
func ofTheirOwn(p *analyse.Pass, starts []start) []start {
	own := slices.DeleteFunc(slices.Clone(starts), func(s start) bool { return s.Excess.Resumed })
	if len(own) < leastBurns {
		return starts
	}
	if n := len(starts) - len(own); n > 0 {
		p.RuledOut("firings that go on from hot water", "%d are left out", n)
	}
	return own
}

// evenly tells whether firings of unknown use were all driven by the one set-point that is known: nearly all came while
// heat was asked for, and pass it by much the same. Firings for hot water at a set-point of their own would stand apart.
func evenly(p *analyse.Pass, starts []start) bool {
	if len(starts) < 2*leastBurns || len(p.Facts.Demands) == 0 {
		return false
	}
	asked, demands := 0, p.Facts.Demands
	for _, s := range starts {
		for len(demands) > 0 && demands[0].To.Before(s.From) {
			demands = demands[1:]
		}
		if len(demands) > 0 && demands[0].Overlap(s.Span) > 0 {
			asked++
		}
	}
	var by []float64
	for _, s := range starts {
		by = append(by, s.by())
	}
	slices.Sort(by)
	spread := by[len(by)*9/10] - by[len(by)/10]
	p.Measured("use of the starts", "not told; %d of %d came while heat was asked for, and eight in ten of them pass the set-point within %.1f K of each other", asked, len(starts), spread)
	return float64(asked) >= 0.9*float64(len(starts)) && spread <= 2*evenK && share(by) >= evenStarts
}

// bySecond answers where only a second sensor shows the overshoot: one of the two is wrong. Where the own flow sensor
// comes out no warmer than the return although the burner burns, or reads below it when water stands, it is the one that
// reads low.
func bySecond(p *analyse.Pass, starts []start, m measured) {
	d := deltas(p, starts)
	p.Measured("flow less return while the burner burns", "%.1f K by the source of the set-point, %.1f K by the other", d.own, d.other)
	r := readRests(p)
	firing := d.seen && d.other > 0 && d.own <= max(lowOwn*d.other, float64(p.DeltaError(d.source))) && !d.otherWide(p)
	if r.ownLow(m.apart) || firing && !r.otherHigh(m.apart) {
		m.atRest = r
		m.median, m.share, m.ownLow = m.otherMedian, m.otherShare, true
		p.Found(describe(p, starts, m))
		return
	}
	if r.otherHigh(m.apart) {
		p.RuledOut("the second sensor of the flow", "it reads %.1f K above its return after a long rest too, when water stands as warm in both pipes: it reads high", r.other)
		p.Clear(fmt.Sprintf("by the appliance's own sensor the flow peaks %.1f K above its set-point in the median of %s; a second sensor peaks %.1f K higher, but reads as much too high at rest",
			m.median, analyse.Count(len(starts), "heating start"), m.apart))
		return
	}
	p.NotAssessable(fmt.Sprintf("by the appliance's own sensor the flow keeps to its set-point, by a second sensor it passes it by %.1f K: which of them is right must be settled first (compare both with a thermometer of known error at steady flow)",
		m.otherMedian))
}

// leftOut counts the firings that were not judged, by why.
type leftOut struct {
	unknownUse, still int
	unknown           []start // the firings of unknown use
}

func (l leftOut) tell(p *analyse.Pass) {
	if l.still > 0 {
		p.RuledOut("firings that did not warm the flow", "%s are left out", analyse.Count(l.still, "firing"))
	}
}

func collect(p *analyse.Pass) (out []start, left leftOut) {
	for i := range p.Facts.Firings {
		f := &p.Facts.Firings[i]
		x := f.Excess
		if f.Use != episode.Heating || f.Cut || f.Rough || !x.Seen() || f.Duration() < leastBurn {
			continue
		}
		s := start{Firing: f, own: x.Own - x.Setpoint, other: x.Other - x.Setpoint, ownSeen: x.OwnSeen, otherSeen: x.OtherSeen}
		peak := x.Other
		if x.OwnSeen {
			peak = x.Own
		}
		switch {
		case f.FlowSeen && max(peak, f.FlowMax)-f.FlowStart < heatsBy:
			left.still++
		case !f.UseKnown:
			left.unknownUse++
			left.unknown = append(left.unknown, s)
		default:
			out = append(out, s)
		}
	}
	return out, left
}

// measured are the figures over all starts.
type measured struct {
	median, share           float64
	otherMedian, otherShare float64
	bothSeen                int
	apart                   float64 // K, median of other less own; 0 where they were not both seen
	standing                float64 // share of the starts in which next to no water moved
	brief                   bool    // the median burn is brief against the time between readings
	atRest                  rested
	ownLow                  bool // the overshoot is seen by the second sensor, the own one reads low
}

func measure(starts []start) measured {
	var by, other, apart, burns []float64
	still := 0.0
	moves := slices.ContainsFunc(starts, start.answered)
	for _, s := range starts {
		by = append(by, s.by())
		burns = append(burns, s.Duration().Seconds())
		if s.apart() || s.spike() && !moves {
			still++
		}
		if s.otherSeen {
			other = append(other, s.other)
		}
		if s.ownSeen && s.otherSeen {
			apart = append(apart, s.other-s.own)
		}
	}
	return measured{standing: still / max(1, float64(len(starts))), median: median(by), share: share(by), otherMedian: median(other), otherShare: share(other),
		bothSeen: len(apart), apart: median(apart), brief: median(burns) < (10 * time.Minute).Seconds()}
}

// apart tells whether flow and return end so far apart that the water hardly moves.
func (s start) apart() bool { return s.DeltaSeen && s.DeltaEnd >= standingK }

// spike tells whether a short burn drove the flow up as only a little water warms and the return never answered. Where
// other burns of the record show that the water moves, it is no more than a burner too big for its circuit.
func (s start) spike() bool {
	return s.Rise.Seen && s.Duration() <= shortBurn && s.Rise.Fastest >= quickRise && !s.returned()
}

// answered tells whether a burn lasted, and the return came.
func (s start) answered() bool { return s.Rise.Seen && s.Duration() > shortBurn && s.returned() }

// returned tells whether the return rose with the flow.
func (s start) returned() bool {
	r := s.Rise
	up := r.FlowMax - min(r.FlowStart, r.ReturnStart)
	return r.ReturnMax-r.ReturnStart > max(stillK, stillShare*up)
}

// share is how many of the values count as overshoot, 0…1.
func share(v []float64) float64 {
	n := 0
	for _, x := range v {
		if x >= overK {
			n++
		}
	}
	return float64(n) / max(1, float64(len(v)))
}

// median of the values, the lower one of the two in the middle; 0 for none.
func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	v = slices.Clone(v)
	slices.Sort(v)
	return v[(len(v)-1)/2]
}

// interval is how often the flow was read, by the series that is read most often.
func interval(p *analyse.Pass) time.Duration {
	least := time.Duration(math.MaxInt64)
	for _, c := range p.Coverage {
		if c.Series.Point == decode.Flow && c.Interval > 0 {
			least = min(least, c.Interval)
		}
	}
	return least
}

func describe(p *analyse.Pass, starts []start, m measured) analyse.Finding {
	over := slices.DeleteFunc(slices.Clone(starts), func(s start) bool { return m.of(s) < overK })
	perHour := startsPerHour(starts)
	f := analyse.Finding{
		Severity: analyse.Advise, From: over[0].From, To: over[len(over)-1].To,
		Summary: fmt.Sprintf("After most starts the water gets much hotter than was asked for: %.0f K past the set-point as a rule, in %d of %s. It wastes fuel and wears the boiler.",
			m.median, len(over), analyse.Count(len(starts), "heating start")),
		Numbers: []analyse.Number{
			{Name: "overshoot_k_median", Value: round(m.median), Label: "median overshoot", Unit: "K"},
			{Name: "overshoot_share", Value: math.Round(m.share*100) / 100, Label: "share of the starts", Unit: ""},
			{Name: "heating_starts", Value: float64(len(starts)), Label: "heating starts judged", Unit: ""},
			{Name: "starts_per_hour_median", Value: round(perHour), Label: "starts an hour, median", Unit: "1/h"},
		},
		Causes: weigh(p, over, m),
	}
	if m.median < 1.25*overK && perHour < manyStarts {
		f.Severity = analyse.Note
	}
	worst := slices.Clone(over)
	slices.SortStableFunc(worst, func(x, y start) int { return -cmpFloat(m.of(x), m.of(y)) })
	worst = worst[:min(len(worst), mostEvidence)]
	slices.SortFunc(worst, func(x, y start) int { return x.From.Compare(y.From) })
	for _, s := range worst {
		f.Evidence = append(f.Evidence, analyse.Evidence{From: s.From, To: s.To,
			Note: fmt.Sprintf("set-point %.0f °C, flow up to %.1f °C", s.Excess.Setpoint, s.Excess.Setpoint+m.of(s))})
	}
	return f
}

// mostEvidence is how many starts are shown: the worst, not all.
const mostEvidence = 6

// of gives the excess of a start by the sensor that decides.
func (m measured) of(s start) float64 {
	if m.ownLow {
		return s.other
	}
	return s.by()
}

// startsPerHour is the median rate of starts, from one start to the next.
func startsPerHour(starts []start) float64 {
	var rates []float64
	for i := 1; i < len(starts); i++ {
		if d := starts[i].From.Sub(starts[i-1].From).Hours(); d > 0 {
			rates = append(rates, 1/d)
		}
	}
	return median(rates)
}

func round(x float64) float64 { return math.Round(x*10) / 10 }

func cmpFloat(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}
