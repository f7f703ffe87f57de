package sensors

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/decode"
)

const (
	// contactPoor and contactOff are shares of the water's excess over the room that a probe misses.
	contactPoor, contactOff = 0.08, 0.35
	// restOffset and restContact are shares of the difference at load that are there at rest as well.
	restOffset, restContact = 0.6, 0.35
	// crossNear is how near crosswise sensors must agree, as a share of flow less return, for probes to be swapped.
	crossNear = 0.35
	// crossLeast is the least flow less return that this is told by, K.
	crossLeast = 4.0
	// driftsBy is the least growth of the difference from the first to the last quarter of the hours, K, and as a share of
	// the latter, that is a drift or a step. Own proposal.
	driftsBy, driftShare = 2.0, 0.5
)

// shape is how a difference behaves.
type shape struct {
	load, level  float64 // K, °C: medians of the hours that are over
	rest, restAt float64 // at rest
	rested       bool
	share        float64 // of the excess over the room, the part at rest taken off
	early, late  float64 // medians of the first and the last quarter of all hours, K
	sudden       bool
	since        time.Time
	line         fit
	low          decode.Series // the one that reads lower
	high         decode.Series
}

func (j *judgement) shapeOf(x apart) shape {
	var s shape
	s.load, s.level = median(x.hours, diff), median(x.hours, level)
	s.low, s.high = x.second(), x.first()
	if s.load < 0 {
		s.low, s.high = s.high, s.low
	}
	s.since = x.hours[0].At
	s.rest, s.restAt, s.rested = x.resting(s.since, j.p.Facts.To, j.room)
	excess := max(1, s.level-j.room)
	s.share = math.Abs(s.load) / excess
	if s.rested {
		s.share = math.Abs(s.load-s.rest) / max(1, s.level-s.restAt)
	}
	n := max(1, len(x.pair.hours)/4)
	s.early, s.late = median(x.pair.hours[:n], diff), median(x.pair.hours[len(x.pair.hours)-n:], diff)
	s.line = fitOf(x.within(), s.load, j.room)
	s.sudden = jumpedAt(x.pair.hours, s.since)
	return s
}

// jumpedAt tells whether the hours before the first one that is over were all far from it.
func jumpedAt(all []hour, since time.Time) bool {
	i := slices.IndexFunc(all, func(h hour) bool { return h.At.Equal(since) })
	if i < 2 || i+1 >= len(all) {
		return false
	}
	before, after := all[i-1], all[min(i+1, len(all)-1)]
	return math.Abs(diff(after)-diff(before)) >= driftShare*math.Abs(diff(after))
}

func (j *judgement) finding() analyse.Finding {
	p := j.p
	f := analyse.Finding{Severity: analyse.Note}
	var said []string
	slices.SortStableFunc(j.found, func(x, y apart) int { return cmp.Compare(x.point, y.point) })
	crossed := j.crossed()
	for _, x := range j.found {
		s := j.shapeOf(x)
		said = append(said, fmt.Sprintf("%s reads %.1f K lower than %s at %.0f °C", called(p, s.low), math.Abs(s.load), called(p, s.high), s.level))
		f.Numbers = append(f.Numbers,
			analyse.Number{Name: x.point.String() + "_apart_k", Value: round(math.Abs(s.load)), Label: "apart at load, " + x.point.String(), Unit: "K"},
			analyse.Number{Name: x.point.String() + "_apart_k_allowed", Value: round(median(x.hours, func(h hour) float64 { return h.allowed })), Label: "allowed, " + x.point.String(), Unit: "K"})
		if s.rested {
			f.Numbers = append(f.Numbers, analyse.Number{Name: x.point.String() + "_apart_k_at_rest", Value: round(math.Abs(s.rest)), Label: "apart at rest, " + x.point.String(), Unit: "K"})
			p.Measured(x.name()+" at rest", "%+.1f K at %.0f °C", s.rest, s.restAt)
		} else if isWater(x.point) {
			p.LeftOpen(x.name()+" at rest", "no night in which nothing was fired for three hours and the pipes came to the room's temperature: that would part an offset from poor contact")
		}
		if s.line.n > 0 && isWater(x.point) {
			p.Measured(x.name()+" as a line", "%s", s.line.words())
		}
		j.evidence(&f, x, s)
		causes := j.causes(x, s, crossed)
		f.Causes = append(f.Causes, causes...)
		for _, d := range j.doubts(x, s, crossed, causes) {
			if !slices.Contains(f.Doubts, d) && float64(len(x.hours)) >= doubtShare*float64(len(x.pair.hours)) {
				f.Doubts = append(f.Doubts, d)
			}
		}
		if isBus(p, x.a) || isBus(p, x.b) {
			f.Severity = analyse.Advise // the appliance may act on the wrong value
		}
	}
	p.LeftOpen("another place", "two sensors on either side of a mixing valve, a low-loss header or a buffer see different water: look where each sits")
	f.Causes = ranked(f.Causes)
	f.Summary = "Two sensors of the same water disagree: " + strings.Join(said, "; ") + "."
	return f
}

func stretch(f *analyse.Finding, from, to time.Time) {
	if f.From.IsZero() || from.Before(f.From) {
		f.From = from
	}
	if to.After(f.To) {
		f.To = to
	}
}

// evidence shows the hours in which they were furthest apart.
func (j *judgement) evidence(f *analyse.Finding, x apart, s shape) {
	worst := slices.Clone(x.hours)
	slices.SortStableFunc(worst, func(a, b hour) int { return cmp.Compare(math.Abs(diff(b)), math.Abs(diff(a))) })
	worst = worst[:min(len(worst), evidenceKept)]
	slices.SortFunc(worst, func(a, b hour) int { return a.At.Compare(b.At) })
	for _, h := range worst {
		f.Evidence = append(f.Evidence, analyse.Evidence{From: h.At, To: h.At.Add(time.Hour),
			Note: fmt.Sprintf("%s %.1f °C, %s %.1f °C in %s of settled water", x.first(), h.A, x.second(), h.B, analyse.Span(h.For))})
	}
	stretch(f, x.hours[0].At, x.hours[len(x.hours)-1].At.Add(time.Hour))
}

// crossed tells which two sources agree crosswise: the flow of one with the return of the other.
func (j *judgement) crossed() map[[2]string]string {
	out := map[[2]string]string{}
	for _, f := range j.found {
		if f.point != decode.Flow {
			continue
		}
		i := slices.IndexFunc(j.found, func(r apart) bool { return r.point == decode.Return && r.a == f.a && r.b == f.b })
		if i < 0 {
			continue
		}
		var af, bf, ar, br, n float64
		for _, h := range f.hours {
			for _, g := range j.found[i].hours {
				if g.At.Equal(h.At) {
					af, bf, ar, br, n = af+float64(h.A), bf+float64(h.B), ar+float64(g.A), br+float64(g.B), n+1
				}
			}
		}
		if n == 0 {
			continue
		}
		af, bf, ar, br = af/n, bf/n, ar/n, br/n
		delta := math.Max(math.Abs(af-ar), math.Abs(bf-br))
		if (af-ar)*(bf-br) < 0 && delta >= crossLeast && math.Abs(af-br) <= crossNear*delta+leastApart/2 && math.Abs(ar-bf) <= crossNear*delta+leastApart/2 {
			odd := f.a // the one whose flow is colder than its return while heat is made
			if bf < br {
				odd = f.b
			}
			out[[2]string{f.a, f.b}] = odd
			j.p.Measured("crosswise", "%s flow %.1f and return %.1f °C, %s flow %.1f and return %.1f °C", f.a, af, ar, f.b, bf, br)
		}
	}
	return out
}

func round(v float64) float64 { return math.Round(v*10) / 10 }
