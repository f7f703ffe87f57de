package sensors

import (
	"fmt"
	"math"
	"slices"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

const (
	strap    = "strap it on bare metal with paste, insulate it for 100 mm to either side, and compare again"
	bath     = "put both sensors into the same stirred water, cold and hot, and compare them with a thermometer you trust"
	exchange = "exchange the two probes: a difference that goes with the probe is the probe's"
)

// causes explains one pair.
func (j *judgement) causes(x apart, s shape, crossed map[[2]string]string) []analyse.Cause {
	if odd, ok := crossed[[2]string{x.a, x.b}]; ok {
		return []analyse.Cause{{Cause: "swapped-probes", Support: 0.95,
			Because: fmt.Sprintf("%s reads its flow colder than its return while heat is made, and each agrees with the other pipe of the other source", odd),
			Settle:  "follow the pipes and exchange the two in the job sheet; recorded data can be read with the corrected sheet"}}
	}
	out, _ := j.held(s)
	if !isWater(x.point) {
		return append(out, j.placeCauses(x, s)...)
	}
	offset, contact, off := j.weights(s)
	_, who := j.odd(x, s)
	out = append(out,
		analyse.Cause{Cause: "sensor-offset", Support: offset, Because: s.words() + who, Settle: settleOffset(j.p, s)},
		analyse.Cause{Cause: "poor-contact", Support: contact, Because: s.words() + s.missing(), Settle: strap},
		analyse.Cause{Cause: "probe-off-pipe", Support: off, Because: s.words() + s.missing(), Settle: "look at it: it may hang beside its pipe; " + strap},
		analyse.Cause{Cause: "different-water", Support: 0.1, Because: "a mixing valve, a low-loss header or a buffer between the two would do the same", Settle: "follow the pipe from one sensor to the other"})
	if s.drifts() {
		out = append(out, analyse.Cause{Cause: "sensor-drift", Support: min(0.9, offset+0.25), Because: fmt.Sprintf("the difference grew from %+.1f to %+.1f K over the record", s.early, s.late), Settle: bath})
	}
	return slices.DeleteFunc(out, func(c analyse.Cause) bool { return c.Support < 0.05 })
}

// held names a sensor that is stuck in the same time: it disagrees, but that is not its offset.
func (j *judgement) held(s shape) (causes []analyse.Cause, who decode.Series) {
	for _, r := range j.records {
		if r.Series != s.low && r.Series != s.high {
			continue
		}
		if r.railFor >= leastRail {
			x := fault{record: r, how: "short", n: r.rail.n}
			if r.rail.most < 0 {
				x.how = "open"
			}
			if low, high := episode.SensorRails(r.Point); s.holdsRail(r.Series, low, high) {
				return x.causes(j.p), r.Series
			}
		}
		for _, h := range r.holds {
			if v, _ := r.weigh(j.p, h); v == isStuck && h.To.After(s.since) {
				return []analyse.Cause{{Cause: "stuck-sensor", Support: 0.95, Because: fmt.Sprintf("%s gave exactly %.4g °C for %s", r.Series, h.Value, analyse.Span(h.Duration())),
					Settle: "warm the sensor by hand and watch whether it follows"}}, r.Series
			}
		}
	}
	return nil, decode.Series{}
}

// holdsRail tells whether the sensor read the end of its range in most of the hours.
func (s shape) holdsRail(x decode.Series, low, high float64) bool {
	return x == s.high && s.level >= high-1 || x == s.low && s.level-math.Abs(s.load) <= low+1
}

// weights are the supports of an offset, of poor contact and of a probe off its pipe.
func (j *judgement) weights(s shape) (offset, contact, off float64) {
	lowBus := isBus(j.p, s.low.Source)
	off = 0.1
	switch {
	case s.rested && s.rest*s.load > 0 && math.Abs(s.rest) >= restOffset*math.Abs(s.load):
		offset, contact = 0.85, 0.15
	case s.rested && math.Abs(s.rest) <= restContact*math.Abs(s.load):
		offset, contact = 0.15, 0.75
	case s.line.says == offsetSaid:
		offset, contact = 0.8, 0.15
	case s.line.says == contactSaid:
		offset, contact = 0.2, 0.7
	case s.rested || s.line.says == bothSaid:
		offset, contact = 0.45, 0.5
	case s.share >= contactPoor && !lowBus:
		offset, contact = 0.45, 0.5 // a clip sits badly oftener than a thermometer is off, but nothing here tells
	default:
		offset, contact = 0.55, 0.35
	}
	if s.share >= contactOff && offset < 0.8 {
		off, contact = max(0.8, contact+0.05), contact*0.6
	} else if s.share >= contactOff/2 && s.sudden && offset < 0.8 {
		off = contact + 0.05 // it held once
	}
	if lowBus { // an appliance's own sensor seldom sits badly
		contact, off = contact*0.6, off*0.6
		offset = max(offset, 0.5)
	}
	return offset, contact, off
}

// drifts tells whether the difference grew little by little.
func (s shape) drifts() bool {
	grown := s.late - s.early
	return !s.sudden && grown*s.late > 0 && math.Abs(grown) >= driftsBy && math.Abs(grown) >= driftShare*math.Abs(s.late)
}

func (s shape) words() string {
	if s.rested {
		return fmt.Sprintf("%.1f K apart at %.0f °C and %.1f K at rest", math.Abs(s.load), s.level, s.rest*sign(s.load))
	}
	out := fmt.Sprintf("%.1f K apart at %.0f °C, and never seen at rest", math.Abs(s.load), s.level)
	if s.line.n > 0 {
		out += "; " + s.line.words()
	}
	return out
}

// missing says what share of the excess over the room the lower sensor misses, where it misses any.
func (s shape) missing() string {
	switch {
	case s.share < contactPoor/2:
		return ""
	case s.share >= contactOff:
		return fmt.Sprintf("; %s misses %.0f %% of the excess over the room, more than any contact", s.low, 100*s.share)
	}
	return fmt.Sprintf("; %s misses %.0f %% of the excess over the room", s.low, 100*s.share)
}

func sign(v float64) float64 {
	if v < 0 {
		return -1
	}
	return 1
}

// odd says which of the two is the wrong one, if a third sensor of the same water, or the others at rest, tell.
func (j *judgement) odd(x apart, s shape) (wrong decode.Series, words string) {
	levels := map[decode.Series]float64{}
	for _, y := range pairs(j.p) {
		a, _, ok := y.resting(s.since, j.p.Facts.To, j.room)
		if !ok {
			continue
		}
		at := median(restHours(y), func(h hour) float64 { return float64(h.A) })
		levels[y.first()], levels[y.second()] = at, at-a
	}
	one, two := x.first(), x.second()
	if len(levels) < 3 {
		return wrong, ""
	}
	var others []float64
	for k, v := range levels {
		if k != one && k != two {
			others = append(others, v)
		}
	}
	slices.Sort(others)
	mid := others[len(others)/2]
	near, far := math.Abs(levels[one]-mid), math.Abs(levels[two]-mid)
	odd := one
	if far > near {
		near, far, odd = far, near, two
	}
	if near-far < leastApart/2 {
		return wrong, ""
	}
	return odd, fmt.Sprintf("; at rest %s is %.1f K from the others, so that it is the wrong one", odd, near)
}

func restHours(x *pair) (list []hour) {
	for _, r := range x.rest {
		list = append(list, hour{PairHour: r})
	}
	return list
}

func settleOffset(p *analyse.Pass, s shape) string {
	if isBus(p, s.low.Source) || isBus(p, s.high.Source) {
		return "measure the pipe with a third thermometer while the burner runs; of the appliance's sensor measure the resistance at that temperature against the maker's table; work inside a gas appliance's casing is for registered people"
	}
	return bath + "; " + exchange
}
