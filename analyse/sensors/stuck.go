package sensors

import (
	"fmt"
	"math"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

const (
	// stuckFor is the shortest stretch of one value that is stuck, stuckCoarse the same of a sensor that tells steps of
	// coarseStep or more, K; stuckMoved by how much the other water must have moved, K, and stuckLit how long the burner
	// must have run. Own proposals: a return in steps of 1 K may stand for hours under a floor.
	stuckFor, stuckCoarse = 2 * time.Hour, 4 * time.Hour
	coarseStep            = 0.3
	stuckMoved            = 15.0
	stuckLit              = 20 * time.Minute
	// pairMoved is by how much the other pipe must have moved, its quick swings smoothed out, K; followsBy by how much the
	// return must be expected to have moved with it, K, and two of its steps. Own proposals.
	pairMoved, followsBy = 8.0, 4.0
	// stuckDark is how long the burner must have rested while a flow stood at one value for that to be no control that holds
	// its set-point, and stuckBlind how long such a value must have stood where nobody tells of the burner. Own proposals:
	// without fire water cools by more than a step in that time, and no heating burns on for that long on end.
	stuckDark, stuckBlind = 20 * time.Minute, 12 * time.Hour
	// twinStands is how far another sensor of the same water may move while the water stands, K. Own proposal: the room's drift.
	twinStands = 2.0
	// stuckReadings is the least number of readings. Own proposal.
	stuckReadings = 20
	// standsBelow is the temperature up to which water that does not move may stand in a pipe, °C: about a warm room's.
	// Own proposal.
	standsBelow = 32.0
	// storeFor and storeHeated are the same of stored water: one value for so long, and heated for so long. Own proposal.
	storeFor    = 12 * time.Hour
	storeHeated = 15 * time.Minute
	// airFor and airMoved are the same of outside air, against another sensor of it. Own proposal.
	airFor, airMoved = 24 * time.Hour, 6.0
	// aloneFor is the same of outside air where no other sensor tells, of a sensor that has shown steps of aloneStep or
	// smaller, K, and has moved by aloneMoved of them: a night and a day, in which even fog moves by some tenths. Own proposal.
	aloneFor, aloneStep, aloneMoved = 30 * time.Hour, 0.3, 5
	// joins is how far apart two stretches of the same value may be over midnight. Own proposal.
	joins = 30 * time.Minute
)

// hold takes a day's longest stretch of one value; one that goes on over midnight becomes one.
func (r *record) hold(h episode.SensorHold) {
	if h.N == 0 {
		return
	}
	if n := len(r.holds) - 1; n >= 0 && r.holds[n].Value == h.Value && h.From.Sub(r.holds[n].To) <= joins {
		o := &r.holds[n]
		o.To, o.N = h.To, o.N+h.N
		o.Pair, o.PairTop, o.Twin = max(o.Pair, h.Pair), max(o.PairTop, h.PairTop), max(o.Twin, h.Twin)
		o.TwinSeen = o.TwinSeen && h.TwinSeen
		o.Others, o.Single = o.Others || h.Others, o.Single && h.Single
		o.Lit, o.Dark, o.HotWater = o.Lit+h.Lit, o.Dark+h.Dark, o.HotWater+h.HotWater
		return
	}
	r.holds = append(r.holds, h)
}

// stuck tells of a sensor that gave one value while the water moved; why is a remark where it is none.
func (r *record) stuck(p *analyse.Pass, name string) (f fault, ok bool, why string) {
	var found []episode.SensorHold
	total := time.Duration(0)
	for _, h := range r.holds {
		if low, high := episode.SensorRails(r.Point); h.Value <= low || h.Value >= high {
			continue
		}
		switch verdict, text := r.weigh(p, h); verdict {
		case isStuck:
			found = append(found, h)
			total += h.Duration()
		case unclear:
			p.LeftOpen("stuck "+r.String(), "%s", text)
			why = name + ": " + text
		case explained:
			p.RuledOut("stuck "+r.String(), "%s", text)
		}
	}
	if len(found) == 0 {
		return f, false, why
	}
	f = fault{record: r, how: "stuck", n: len(found), severity: r.gravity(p), stuckFor: total,
		what: fmt.Sprintf("%s gave exactly %.4g %s for %s%s", name, found[0].Value, r.Point.Unit(), analyse.Span(total), r.meanwhile())}
	for _, h := range found[:min(len(found), evidenceKept)] {
		f.evidence = append(f.evidence, analyse.Evidence{From: h.From, To: h.To,
			Note: fmt.Sprintf("exactly %.4g %s in %d readings%s", h.Value, r.Point.Unit(), h.N, moved(h))})
	}
	return f, true, ""
}

type weighed uint8

const (
	nothing weighed = iota
	isStuck
	unclear
	explained
)

// weigh tells what a stretch of one value means.
func (r *record) weigh(p *analyse.Pass, h episode.SensorHold) (weighed, string) {
	if h.N < stuckReadings {
		return nothing, ""
	}
	switch {
	case isWater(r.Point):
		return r.weighWater(p, h)
	case r.Point == decode.Cylinder && h.Duration() >= storeFor && h.HotWater >= storeHeated && !r.neverElse():
		return isStuck, ""
	case r.Point == decode.Outside && h.Duration() >= airFor && h.Twin >= airMoved:
		if r.neverElse() {
			return unclear, "one value in the whole record: a fixed value, not a sensor"
		}
		return isStuck, ""
	case r.Point == decode.Outside && h.Duration() >= aloneFor && r.step > 0:
		if r.step <= aloneStep && r.high-r.low >= aloneMoved*r.step {
			return isStuck, ""
		}
		return unclear, fmt.Sprintf("exactly %.4g °C for %s: in its steps of %.2g K fog may stand like that; compare it with a thermometer", h.Value, analyse.Span(h.Duration()), r.step)
	}
	return nothing, ""
}

func (r *record) weighWater(p *analyse.Pass, h episode.SensorHold) (weighed, string) {
	long := stuckFor
	if r.coarse() {
		long = stuckCoarse
	}
	if h.Duration() < long || h.Twin < stuckMoved && h.Pair < pairMoved {
		return nothing, ""
	}
	text := fmt.Sprintf("exactly %.4g °C for %s while other water moved by %.0f K", h.Value, analyse.Span(h.Duration()), max(h.Pair, h.Twin))
	switch {
	case h.Lit < stuckLit && p.Has(decode.Flame):
		return unclear, text + ", but the burner was hardly seen to run: what moved may be another circuit's water"
	case r.neverElse() && h.Value == math.Trunc(h.Value):
		return unclear, text + ", and nothing else in the whole record: a fixed value that stands for no sensor, as it seems"
	case !h.Others && !h.Single && h.Pair < pairMoved:
		return explained, text + ", but nothing else changed in that source either: it repeated itself"
	case h.TwinSeen && h.Twin <= twinStands:
		return explained, text + ", but another sensor of the same water stood as well: the water did"
	case r.evenedOut(p, h):
		return unclear, text + fmt.Sprintf(": emitters that cool water so far, or stand, keep a return as even as that (%.0f K of its movement were to be expected)", r.expected(p, h))
	case r.heldByControl(p, h):
		return unclear, text + ", but the burner was not seen to rest meanwhile: in such coarse steps a set-point that is held, over a return that climbs, reads like that too"
	case h.Value <= standsBelow && h.Twin < stuckMoved && r.coarse():
		return unclear, text + ": in such coarse steps water that does not move reads like that too; feel the pipe while the burner runs"
	}
	return isStuck, ""
}

// expected is by how much a return moves with the flow, K: at one flow rate its excess over the room keeps its share of the
// flow's.
func (r *record) expected(p *analyse.Pass, h episode.SensorHold) float64 {
	room := roomOf(p)
	if h.PairTop-room < 1 {
		return 0
	}
	return h.Pair * min(1, max(0, (h.Value-room)/(h.PairTop-room)))
}

// evenedOut tells whether a return that stood may just have been cooled so far that little of the flow's movement was
// left. In fine steps not for half a day: the room itself moves by more.
func (r *record) evenedOut(p *analyse.Pass, h episode.SensorHold) bool {
	if r.Point != decode.Return || h.Twin >= stuckMoved || r.expected(p, h) >= followsBy+2*r.step {
		return false
	}
	return r.coarse() || h.Duration() < stuckBlind
}

// coarse tells whether the sensor tells steps so large that water may stand in one of them for hours.
func (r *record) coarse() bool { return r.step >= coarseStep || r.step == 0 }

// heldByControl tells whether a flow in coarse steps may have stood at one value because a burner that turns down held its
// set-point: nothing but the return speaks against it, and the burner never rested for long. Only a
// coarse step hides how control hunts.
func (r *record) heldByControl(p *analyse.Pass, h episode.SensorHold) bool {
	if r.Point != decode.Flow || h.Twin >= stuckMoved || !r.coarse() {
		return false
	}
	if p.Has(decode.Flame) {
		return h.Dark < stuckDark
	}
	return h.Duration() < stuckBlind
}

// meanwhile says what makes one value odd.
func (r *record) meanwhile() string {
	if r.Point == decode.Outside {
		return fmt.Sprintf(", though it tells steps of %.2g K", r.step)
	}
	return " while the water moved"
}

func moved(h episode.SensorHold) (s string) {
	if h.Pair > 0 {
		s += fmt.Sprintf("; meanwhile the other pipe moved by %.0f K", h.Pair)
	}
	if h.Twin > 0 {
		s += fmt.Sprintf("; meanwhile another sensor of the same moved by %.0f K", h.Twin)
	}
	return s
}
