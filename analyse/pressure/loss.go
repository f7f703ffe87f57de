package pressure

import (
	"fmt"
	"math"

	"tundish/analyse"
)

// The criteria. No standard limits how fast a sealed system may lose pressure; a sound one is topped up once or twice
// a year (common practice, no source).
const (
	fallsBy    = 0.10 // bar a week at equal temperature
	surelyBy   = 0.03 // bar a week that the fall must pass even by its interval's near end
	fellBy     = 0.05 // bar over the record, at least
	unseenK    = 4.0  // K that the water as a whole may be off flow and return from day to day
	fastWeek   = 0.7  // bar a week from which the system is empty within days
	leastDays  = 3    // with pressure and temperature, for a fall that is told
	leastSpan  = 1.8  // days between the first and the last of them
	clearDays  = 2    // days that may show that nothing falls
	clearSpan  = 1.0  // days between the first and the last of them
	shortSpan  = 4.0  // days, under which a fall counts by the record, not by the week
	lastsBy    = 0.5  // share of a step of water let in or out that is still there at the next like temperature
	jumpK      = 3.0  // K that two days' levels may be off by what flow and return do not show
	mostDaily  = 4.0  // steps a day: more is no person's doing
	jumpBar    = 0.12 // bar between two days beyond the straight line: something else than a slow fall
	emptiedBar = 1.0  // bar: fallen below this it acts
	topUps     = 2    // days with water let in from which a leak is likelier
)

// Loss is the check of a pressure that falls over days.
func Loss() analyse.Check {
	return analyse.Check{
		Kind:  "pressure-loss",
		Doc:   "system pressure falls over days at equal temperature of the water",
		Needs: needs,
		Criteria: []analyse.Criterion{
			{Name: "pressure at equal water temperature falls by", Value: fallsBy, Unit: "bar/week", Source: "own proposal: 0.35 l a week of a vessel of 8 l (Boyle's law); a sound system loses a tenth of it (common practice, no source)"},
			{Name: "and, by the near end of its 95 % interval, by", Value: surelyBy, Unit: "bar/week", Source: "own proposal"},
			{Name: "and over the record by at least", Value: fellBy, Unit: "bar", Source: "own proposal: half a step of the coarsest common sensors"},
			{Name: "and by more than the water's cooling unseen by flow and return makes, of", Value: unseenK, Unit: "K", Source: "own proposal, times the slope"},
			{Name: "days with pressure and temperature needed", Value: leastDays, Unit: "days", Source: "own proposal: two for a line, one to know how good it is"},
			{Name: "days that may show that nothing falls", Value: clearDays, Unit: "days", Source: "own proposal: mornings compare with mornings, evenings with evenings"},
			{Name: "from the first to the last of those", Value: clearSpan, Unit: "days", Source: "own proposal"},
			{Name: "a record too short for a fall by the week is under", Value: shortSpan, Unit: "days", Source: "own proposal: there a fall must pass what counts over the record"},
			{Name: "water let in or out leaves of its step at least", Value: lastsBy, Source: "own proposal: at the next like temperature of the water"},
			{Name: "and no more steps a day than", Value: mostDaily, Unit: "1/day", Source: "own proposal: a person lets water in once or twice a day at most"},
			{Name: "a step between two days is beyond what is not seen of the water's temperature", Value: jumpK, Unit: "K", Source: "own proposal, times the slope"},
			{Name: "from the first to the last of them", Value: leastSpan, Unit: "days", Source: "own proposal"},
			{Name: "a step between two days that is no slow fall", Value: jumpBar, Unit: "bar", Source: "own proposal"},
			{Name: "needs action from a fall of", Value: fastWeek, Unit: "bar/week", Source: "own proposal: from 1.3 bar to the least of 0.5 bar within about a week"},
			{Name: "or where pressure at the end is under", Value: emptiedBar, Unit: "bar", Source: "common practice, no source: sealed systems are filled to 1.0 to 1.5 bar cold"},
			{Name: "days with water let in that point to a leak", Value: topUps, Unit: "days", Source: "own proposal"},
			{Name: "a safety valve weeps from", Value: nearRelief, Unit: "bar", Source: "common practice, no source; it lifts at 3 bar (installation manuals that cite BS 7074-1)"},
		},
		Run: loss,
	}
}

func loss(p *analyse.Pass) {
	s := collect(p)
	if len(s.cells) == 0 {
		p.NotAssessable(s.nothing(true))
		return
	}
	if s.days < clearDays || s.span < clearSpan {
		p.NotAssessable(fmt.Sprintf("pressure and water temperature are known together on %s, %.1f days from first to last; %d days are needed to tell a fall from the sensor's steps: leave the logger on for a week",
			analyse.Count(s.days, "day"), s.span, leastDays))
		return
	}
	if s.step == 0 {
		p.NotAssessable("pressure never changed, not even with the water's temperature: the sensor is stuck, its steps are too coarse, or the system is not a sealed one. Read a gauge cold and hot and hold it against the sensor")
		return
	}
	s = lasting(s)
	if !s.rest && mayHeatStore(p) {
		s.cells = withoutStore(p, s)
	}
	s, f := refilled(s)
	if !f.known || math.IsInf(f.error, 0) {
		p.NotAssessable(fmt.Sprintf("water was let in or out so often (%s) that no stretch is long enough to see a fall in: leave the filling loop shut for three days and note the pressure", analyse.Times(len(s.ups)+len(s.downs))))
		return
	}
	week, error := -7*f.perDay, 7*f.error
	fell := -f.perDay * s.span
	p.Measured("fall at equal temperature of the water", "%.2f ± %.2f bar a week over %.1f days (%d of them with data)", week, error, s.span, f.days)
	p.Measured("pressure by temperature", "%.4f bar/K, taken out", f.perK)
	p.Measured("steps of the sensor", "%.2f bar, read every %s", s.step, analyse.Span(s.every))
	if len(s.ups)+len(s.downs) > 0 {
		p.Measured("water let in or out within minutes", "%s in, %s out; each begins a stretch of its own", analyse.Times(len(s.ups)), analyse.Times(len(s.downs)))
	}
	if s.unseen > 0 {
		p.Measured("pressure higher from one day to the next at equal temperature", "%s; each begins a stretch of its own", analyse.Times(s.unseen))
	}
	sure := week-error > surelyBy
	limit := excluded(s.span)
	switch {
	case week >= fallsBy && sure && fell >= max(fellBy, s.step/2, unseenK*f.perK) && s.days >= leastDays && s.span >= leastSpan:
		if once(p, s, f) {
			return
		}
		p.RuledOut("water that became cooler", "pressure is compared at equal temperature of the water")
		p.RuledOut("steps of the sensor", "it fell by %.2f bar over the record, the sensor's steps are %.2f bar", fell, s.step)
		p.LeftOpen("a sensor that drifts", "a pressure gauge on the system would tell: hold it against the sensor at the next visit")
		p.Found(lossFinding(p, s, f))
	case week+error < limit && (week < fallsBy || s.span >= shortSpan),
		week+error < 4*fallsBy && week <= 0 && s.step <= 0.1 && s.span >= shortSpan:
		p.Clear(fmt.Sprintf("at equal temperature of the water pressure changes by %+.2f ± %.2f bar a week: a fall of %.2f bar a week or more would have shown", -week, error, max(max(week, 0)+error, 0.02)))
	default:
		p.NotAssessable(fmt.Sprintf("at equal temperature of the water pressure falls by %.2f ± %.2f bar a week: with steps of %.2f bar over %.1f days %s. %s",
			week, error, s.step, s.span, untold(p, math.Abs(week)+error), longer(s, error)))
	}
}

// excluded is the fall, bar a week, that a clear answer must exclude. A fall of a few days counts from fellBy over the
// record, so that a short record need not show less.
func excluded(span float64) float64 {
	if span >= shortSpan {
		return 1.5 * fallsBy
	}
	return max(1.5*fallsBy, 1.5*fellBy*7/span)
}

// untold says which fall cannot be told; one that empties the system within the week is no figure to give.
func untold(p *analyse.Pass, bound float64) string {
	if low := lowest(p); bound > max(low, fastWeek) {
		return "no fall can be told from none, not even one that empties the system within a week"
	}
	return fmt.Sprintf("a fall of %.2f bar a week would have shown, a slower one cannot be told", bound)
}

// longer says how long a record would tell. The error of a slope over days falls with the length to the power of 1.5.
func longer(s series, error float64) string {
	need := math.Ceil(s.span * math.Pow(max(1.1, error/(fallsBy-surelyBy)), 2.0/3))
	need = min(max(need, s.span+2), max(28, s.span+7))
	return fmt.Sprintf("About %.0f days of record would do, or note the pressure cold, at the same hour, once a week", need)
}

// once answers where a single step makes the whole fall: bled or drained by a person, not seen happening.
func once(p *analyse.Pass, s series, f trend) bool {
	if f.jump > -f.jumps(s.step) {
		p.RuledOut("water let out once", "the largest step between two days is %.2f bar", f.jump)
		return false
	}
	parted := make([]cell, len(s.cells))
	for i, c := range s.cells {
		c.epoch *= 2
		if c.day >= f.jumpDay {
			c.epoch++
		}
		parted[i] = c
	}
	g := fit(parted, s.step)
	if g.known && -7*(g.perDay+g.error) > surelyBy && -7*g.perDay >= fallsBy {
		p.RuledOut("water let out once", "it also falls by %.2f bar a week apart from the step of %.2f bar", -7*g.perDay, f.jump)
		return false
	}
	p.NotAssessable(fmt.Sprintf("pressure fell by %.2f bar between two days and no further that could be told: water was let out once, or a leak opened and shut. Ask who bled or drained, and leave the logger on for another week", -f.jump))
	return true
}
