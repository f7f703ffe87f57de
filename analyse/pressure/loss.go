package pressure

import (
	"fmt"
	"math"
	"time"

	"tundish/analyse"
)

// The criteria. No standard limits how fast a sealed system may lose pressure; a sound one is topped up once or twice
// a year (common practice, no source).
const (
	fallsBy    = 0.10 // bar a week at equal temperature
	surelyBy   = 0.03 // bar a week that the fall must pass even by its interval's near end
	fellBy     = 0.05 // bar over the record, at least
	unseenK    = 2.0  // K that the water as a whole may be off flow and return from day to day
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
		p.NotAssessable("pressure and water temperature were never known together while the heating's water moved for ten minutes or stood for three hours: read both from the bus, or clip probes on flow and return, and leave the logger on through heating")
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
	return fmt.Sprintf("a fall under %.2f bar a week cannot be told", bound)
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

func lossFinding(p *analyse.Pass, s series, f trend) analyse.Finding {
	week := -7 * f.perDay
	first, last := s.cells[0], s.cells[len(s.cells)-1]
	at := func(t float64) time.Time { return p.Facts.From.Add(time.Duration(t * 24 * float64(time.Hour))) }
	low := lowest(p)
	x := analyse.Finding{
		Severity: analyse.Advise, From: at(first.t), To: at(last.t),
		Summary: fmt.Sprintf("The heating loses pressure: %.2f bar a week at equal temperature of the water", week),
		Numbers: []analyse.Number{
			{Name: "fall_bar_week", Value: week, Label: "fall at equal temperature", Unit: "bar/week"},
			{Name: "fall_error_bar_week", Value: 7 * f.error, Label: "its error, ± at 95 %", Unit: "bar/week"},
			{Name: "record_days", Value: s.span, Label: "days compared", Unit: "days"},
			{Name: "lowest_bar", Value: low, Label: "lowest pressure", Unit: "bar"},
			{Name: "highest_bar", Value: s.high, Label: "highest pressure", Unit: "bar"},
			{Name: "topped_up", Value: float64(len(s.ups) + s.unseen), Label: "water let in", Unit: "times"},
		},
	}
	if len(s.ups) > 0 {
		x.Summary += fmt.Sprintf(", and water was let in %s", analyse.Times(len(s.ups)))
	}
	if s.unseen > 0 {
		x.Summary += fmt.Sprintf("; it came back up %s unseen, as when water is let in", analyse.Times(s.unseen))
	}
	least := emptiedBar
	if m := p.Plant.MinimumPressure; m.Known {
		least = max(float64(m.Value)+0.1, 0.6)
	}
	if week >= fastWeek || low < least {
		x.Severity = analyse.Act
	}
	x.Evidence = append(x.Evidence, coldEnds(p, s)...)
	const most = 8
	for i, d := range dayMeans(s, f) {
		if i == most {
			break
		}
		x.Evidence = append(x.Evidence, analyse.Evidence{From: at(d.from), To: at(d.to), Note: fmt.Sprintf("%.2f bar, reckoned to %.0f °C", d.bar, d.water)})
	}
	for i, u := range s.ups {
		if i == most {
			break
		}
		x.Evidence = append(x.Evidence, analyse.Evidence{From: u.At, To: u.At, Note: fmt.Sprintf("water let in: %.2f to %.2f bar", u.From, u.To)})
	}
	x.Causes = lossCauses(s, f)
	return x
}

type dayMean struct{ from, to, bar, water float64 }

// dayMeans are the days' pressures, reckoned to the mean temperature of all.
func dayMeans(s series, f trend) (out []dayMean) {
	w, mean := 0.0, 0.0
	for _, c := range s.cells {
		w += c.weight
		mean += c.weight * c.water
	}
	mean /= w
	weight, day := 0.0, -1
	for _, c := range s.cells {
		if c.day != day {
			out = append(out, dayMean{from: c.t, to: c.t, water: mean})
			weight, day = 0, c.day
		}
		d := &out[len(out)-1]
		d.from, d.to = min(d.from, c.t), max(d.to, c.t)
		weight += c.weight
		d.bar += c.weight / weight * (c.bar - f.perK*(c.water-mean) - d.bar)
	}
	return out
}

func lowest(p *analyse.Pass) float64 {
	low := math.Inf(1)
	for _, d := range p.Facts.Days {
		if d.Pressure.Readings > 1 {
			low = min(low, d.Pressure.Low)
		}
	}
	return low
}

func lossCauses(s series, f trend) []analyse.Cause {
	leak := analyse.Cause{Cause: "leak", Support: 0.6,
		Because: fmt.Sprintf("pressure falls steadily by %.2f bar a week at equal temperature", -7*f.perDay),
		Settle:  "look at radiator valves, joints, pump, the safety valve's tundish and the condensate; part the heating from the appliance overnight and see which half falls"}
	if s.upDays >= topUps {
		leak.Support = 0.75
		leak.Because += fmt.Sprintf("; water was let in on %d days", s.upDays)
	}
	vessel := analyse.Cause{Cause: "expansion-vessel", Support: 0.3,
		Because: fmt.Sprintf("pressure follows temperature by %.4f bar/K and reaches %.1f bar; gas that leaves the vessel lowers the pressure too", f.perK, s.high),
		Settle:  "by a heating engineer: let the water side down to nothing, then measure the vessel's pre-charge; water at its gas valve means a torn diaphragm"}
	if g := goneGas(s, f); g.known {
		vessel.Because += fmt.Sprintf("; by Boyle's law the slope per kelvin tells of gas: it grew by %.0f ± %.0f %% against water lost alone, gas alone would make %.0f %%", 100*g.grown, 100*g.error, 100*g.gas)
		switch {
		case g.grown > g.error && g.grown > g.gas/2:
			vessel.Support, leak.Support = 0.8, 0.35
		case g.grown+g.error < g.gas/2:
			vessel.Support = 0.15
		}
	}
	if f.perK >= swingLimit && s.high >= nearRelief {
		vessel.Support = 0.8
		vessel.Because += ": the safety valve lets water out when it is hot"
	}
	air := analyse.Cause{Cause: "air-after-filling", Support: 0.15,
		Because: "air in fresh water leaves by automatic vents for days after a filling, and pressure falls less each day",
		Settle:  "ask when the system was filled or drained; bleed, top up once, and see whether the fall goes on"}
	if len(s.ups) == 1 {
		air.Support = 0.25
	}
	causes := []analyse.Cause{leak, vessel, air}
	if vessel.Support > leak.Support {
		causes[0], causes[1] = vessel, leak
	}
	return causes
}
