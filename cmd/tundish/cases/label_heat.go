package cases

import (
	"slices"
	"time"

	"tundish/analyse/episode"
	"tundish/cmd/tundish/house"
)

const (
	shortBurn     = 5 * time.Minute // trade training article on cycle time
	shortAnHour   = 3               // this project's proposal
	leastSettledS = 600             // s of settled burning that a mean needs; own definition
	briefest      = 20 * time.Second
	leastHeatKWh  = 5 // that a share needs; own definition
)

// heating are the firings for heating that were asked for: frost protection apart.
func (j judged) heating() (list []house.Firing) {
	for _, f := range j.t.Firings {
		if f.Use == episode.Heating && slices.ContainsFunc(j.t.Demands, func(d house.Span) bool {
			return f.From >= d.From && f.From <= d.To
		}) {
			list = append(list, f)
		}
	}
	return list
}

func (j judged) shortCycling(rows []Criterion) Label {
	firings := j.heating()
	perDay := map[int]float64{}
	var when []Evidence
	for i := 0; i < len(firings); {
		end := firings[i].From + time.Hour
		n, short, k := 0, 0, i
		for ; k < len(firings) && firings[k].From < end; k++ {
			n++
			if f := firings[k]; f.Duration() < shortBurn && f.End != episode.EndHotWater && !f.Open {
				short++
			}
		}
		if short >= shortAnHour && 3*short >= 2*n {
			perDay[int(firings[i].From/day)]++
			when = append(when, Evidence{From: firings[i].From, To: end})
			i = k
		} else {
			i++
		}
	}
	worst := 0.0
	for _, n := range perDay {
		worst = max(worst, n)
	}
	l := by(rows[0], worst, "%.0f such hours on the worst day, %d in all, of %d heating firings in %.0f days", worst, len(when), len(firings), j.t.Ended.Hours()/24)
	l.Evidence = when
	return l
}

// spread is the settled flow − return by design: scaled to the design load, and as it was.
func (j judged) spread() (scaled, raw, k, kw float64, ok bool) {
	s := j.m.Settled
	if s.Seconds < leastSettledS {
		s = j.m.Soon
	}
	design := j.s.DesignFlowC - j.s.DesignReturnC
	if s.Seconds < leastSettledS || design <= 0 {
		return 0, 0, 0, 0, false
	}
	k, kw = s.Mean()
	return k / kw * loadKW(j.s) / design, k / design, k, kw, true
}

const (
	rawLow, rawHigh, rawFar = 0.75, 1.25, 1.5 // see the criteria of ΔT
	notSettled              = "no firing burned long enough to settle"
)

func (j judged) lowDeltaT(rows []Criterion) Label {
	scaled, raw, k, kw, ok := j.spread()
	if !ok {
		return arguable(notSettled)
	}
	l := by(rows[0], scaled, "%.1f K at a mean of %.1f kW: %.2f of design scaled to %.1f kW, %.2f as it was", k, kw, scaled, loadKW(j.s), raw)
	if raw > rawLow {
		l = l.doubt(Present, "not small as it was")
	}
	return l
}

func (j judged) highDeltaT(rows []Criterion) Label {
	scaled, raw, k, kw, ok := j.spread()
	if !ok {
		return arguable(notSettled)
	}
	l := by(rows[0], scaled, "%.1f K at a mean of %.1f kW: %.2f of design scaled to %.1f kW, %.2f as it was", k, kw, scaled, loadKW(j.s), raw)
	if raw < rawHigh {
		l = l.doubt(Present, "not large as it was")
	}
	if raw > rawFar {
		l = l.doubt(Absent, "large as it was")
	}
	return l
}

func (j judged) oversized(rows []Criterion) Label {
	load := loadKW(j.s)
	if j.s.HotWater.Kind == house.Instantaneous {
		return by(rows[1], j.s.Boiler.OutputMinKW/load, "least output %.1f kW on a design heat loss of %.1f kW", j.s.Boiler.OutputMinKW, load)
	}
	l := by(rows[0], j.s.Boiler.OutputMaxKW/load, "%.1f kW on a design heat loss of %.1f kW, set to %.1f kW for heating", j.s.Boiler.OutputMaxKW, load, j.s.Boiler.HeatingMaxKW)
	if j.s.Boiler.HeatingMaxKW < rows[0].Present*load {
		l = l.doubt(Present, "set down")
	}
	return l
}

func (j judged) circulation(rows []Criterion) Label {
	const none, little = 0.15, 0.30
	var when []Evidence
	faint := 0
	overheat := false
	for _, r := range j.m.Runs {
		if r.heatingS < int(briefest.Seconds()) {
			continue
		}
		share := r.Lpm / j.s.Circuit.FlowLpm
		if share >= none && share < little {
			faint++
		}
		if share >= none {
			continue
		}
		when = append(when, Evidence{From: r.From, To: r.To})
		for _, l := range j.t.Lockouts {
			overheat = overheat || l.Cause == "overheat" && (l.From-r.To).Abs() < 2*time.Minute
		}
	}
	l := by(rows[0], float64(len(when)), "%d heating firings with next to no flow, %d with little", len(when), faint)
	l.Evidence = when
	switch {
	case l.Verdict == Arguable && overheat:
		l.Verdict, l.Severity = Present, Severe
	case faint > 0:
		l = l.doubt(Absent, "little is not none")
	}
	return l
}

func (j judged) condensing(rows []Criterion) Label {
	if !isBoiler(j.s) {
		return absent("a heat pump has no flue gas")
	}
	if j.m.HeatKJ < leastHeatKWh*3600 {
		return arguable("only %.1f kWh were made for heating", j.m.HeatKJ/3600)
	}
	share := j.m.WarmKJ / j.m.HeatKJ
	return by(rows[0], share, "%.0f %% of %.0f kWh with the return above %.1f °C", 100*share, j.m.HeatKJ/3600, DewPointC(j.s.Boiler.Fuel, j.s.Boiler.AirRatio))
}

func (j judged) overshoot(rows []Criterion) Label {
	const fewest = 4
	var list []float64
	for _, r := range j.m.Runs {
		if r.heatingS >= int(briefest.Seconds()) {
			list = append(list, r.ExcessK)
		}
	}
	if len(list) == 0 {
		return absent("no heating firing")
	}
	slices.Sort(list)
	median := list[len(list)/2]
	l := by(rows[0], median, "median %.1f K above the set-point in %d heating firings", median, len(list))
	if len(list) < fewest {
		l = l.doubt(Present, "few firings")
	}
	return l
}

func (j judged) demand(rows []Criterion) Label {
	a := by(rows[0], j.m.UnfiredS/60, "%.0f min of demand with cold water and no firing", j.m.UnfiredS/60)
	a.Evidence = []Evidence{{From: j.m.Unfired.From, To: j.m.Unfired.To}}
	b := by(rows[1], j.m.ColdS/3600, "%.1f h of demand without nearing the set-point", j.m.ColdS/3600)
	b.Evidence = []Evidence{{From: j.m.Cold.From, To: j.m.Cold.To}}
	l := worse(a, b)
	if l.Verdict == Absent {
		l.Evidence = nil
		l.Because = a.Because + "; " + b.Because
	}
	return l
}
