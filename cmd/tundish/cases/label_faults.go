package cases

import (
	"fmt"
	"math"
	"slices"
	"time"

	"tundish/analyse/episode"
	"tundish/cmd/tundish/house"
)

func (j judged) lockout(rows []Criterion) Label {
	var when []Evidence
	count := map[string]int{}
	for _, l := range j.t.Lockouts {
		when = append(when, Evidence{From: l.From, To: l.To, Cause: l.Cause, Open: l.Open})
		count[l.Cause]++
	}
	dry := 0
	for _, b := range j.t.Blocks {
		if b.Cause != "low-pressure" {
			continue
		}
		if slices.ContainsFunc(j.t.Refills, func(at time.Duration) bool { return (at-b.To).Abs() < time.Minute && !b.Open }) {
			when = append(when, Evidence{From: b.From, To: b.To, Cause: b.Cause})
			count[b.Cause]++
		} else if b.Open {
			dry++
		}
	}
	slices.SortFunc(when, func(a, b Evidence) int { return int(a.From - b.From) })
	l := by(rows[0], float64(len(when)), "%d lockouts", len(when))
	l.Evidence = when
	for _, e := range when { // the commonest, the first of equals
		if l.Cause == "" || count[e.Cause] > count[l.Cause] {
			l.Cause = e.Cause
		}
	}
	if dry > 0 {
		l = l.doubt(Absent, "a block by low pressure nobody had ended when the record did")
	}
	return l
}

func (j judged) retries(rows []Criterion) Label {
	n := 0
	var when []Evidence
	for _, a := range j.t.Attempts {
		if a.Next == house.ThenLit {
			n++
			when = append(when, Evidence{From: a.At, To: a.At})
		}
	}
	l := by(rows[0], float64(n), "%d failed attempts before one that lit, of %d failed", n, len(j.t.Attempts))
	l.Evidence = when
	return l
}

func (j judged) silence(rows []Criterion) Label {
	if j.s.NoBus {
		return absent("no bus is fitted")
	}
	var when []Evidence
	longest := 0.0
	for _, s := range j.t.Silences {
		if s.Reason != episode.SilenceUnexplained && s.Reason != episode.SilenceAdapter {
			continue
		}
		for _, part := range j.heard(s.Span) {
			m := part.Duration().Minutes()
			longest = max(longest, m)
			if m >= rows[0].Present {
				when = append(when, Evidence{From: part.From, To: part.To, Open: part.Open})
			}
		}
	}
	l := by(rows[0], longest, "%.1f min at the longest, %d of ten minutes or more", longest, len(when))
	l.Evidence = when
	return l
}

// heard is what is left of a silence when the stretches without a logger are taken out: those are gaps.
func (j judged) heard(s house.Span) []house.Span {
	parts := []house.Span{s}
	for _, w := range j.s.Faults.LoggerOff {
		var next []house.Span
		for _, p := range parts {
			if w.To <= p.From || w.From >= p.To {
				next = append(next, p)
				continue
			}
			if w.From > p.From {
				next = append(next, house.Span{From: p.From, To: w.From})
			}
			if w.To < p.To {
				next = append(next, house.Span{From: w.To, To: p.To, Open: p.Open})
			}
		}
		parts = next
	}
	return parts
}

func (j judged) loss(rows []Criterion) Label {
	const leastDays, tight = 3, 0.05 // days; l
	if j.m.LostL < tight && len(j.s.Faults.Precharge) == 0 {
		return absent(fmt.Sprintf("%.2f l of water left the system and no gas the vessel", j.m.LostL))
	}
	var fall float64
	pairs := 0
	for d := 1; d < len(j.m.Days); d++ {
		a, b := &j.m.Days[d-1], &j.m.Days[d]
		if slices.ContainsFunc(j.t.Refills, func(at time.Duration) bool { return int(at/day) == d || int(at/day) == d-1 }) {
			continue
		}
		var sum, weight float64
		for i := range a.Bin {
			const least = 120 // s in both days
			if w := min(a.Bin[i][0], b.Bin[i][0]); w >= least {
				sum += w * (a.Bin[i][1]/a.Bin[i][0] - b.Bin[i][1]/b.Bin[i][0])
				weight += w
			}
		}
		if weight > 0 {
			fall += sum / weight
			pairs++
		}
	}
	if pairs < leastDays-1 {
		return arguable("only %d pairs of days to compare", pairs)
	}
	week := 7 * fall / float64(pairs)
	return by(rows[0], week, "%.3f bar a week at equal water temperature, by %d pairs of days", week, pairs)
}

func (j judged) swing(rows []Criterion) Label {
	const leastRange = 12 // K
	worst, ranged, days := 0.0, 0.0, 0
	for i := range j.m.Days {
		d := &j.m.Days[i]
		if d.N < 600 || d.High-d.Low < leastRange {
			continue
		}
		days++
		if slope := (d.TP - d.T*d.P/d.N) / (d.TT - d.T*d.T/d.N); slope > worst {
			worst, ranged = slope, d.High-d.Low
		}
	}
	if days == 0 {
		return j.swingByLaw(rows)
	}
	return by(rows[0], worst, "%.4f bar/K over %.0f K on the steepest of %d days", worst, ranged, days)
}

// swingByLaw judges a home whose water hardly changes its temperature by the vessel's law between 25 and 45 °C.
func (j judged) swingByLaw(rows []Criterion) Label {
	const low, high = 25.0, 45.0
	cold := 15.0
	slope := (j.s.Vessel.Pressure(j.s.WaterL(), cold, high) - j.s.Vessel.Pressure(j.s.WaterL(), cold, low)) / (high - low)
	l := by(rows[0], slope, "%.4f bar/K from %.0f to %.0f °C by the vessel's law; the record has no day with so much range", slope, low, high)
	return l.doubt(Present, "the record does not exercise it")
}

func (j judged) disagreement(rows []Criterion) Label {
	if j.s.NoBus || j.s.NoProbes {
		return absent("no two sensors of the same water are fitted")
	}
	var list []float64
	for _, a := range j.m.Apart {
		if !math.IsNaN(a) {
			list = append(list, a)
		}
	}
	if len(list) < 2 {
		return arguable("%d hours of steady water", len(list))
	}
	slices.Sort(list)
	second := list[len(list)-2]
	return by(rows[0], second, "apart by %.1f K beyond the truth in the second worst of %d hours", second, len(list))
}

func (j judged) cylinder(rows []Criterion) Label {
	if j.s.HotWater.Kind != house.Cylinder {
		return absent("no stored hot water")
	}
	if len(j.m.Hottest) == 0 {
		return arguable("no day was measured")
	}
	const week = 7
	coolest := math.Inf(1)
	n := min(week, len(j.m.Hottest))
	for i := 0; i+n <= len(j.m.Hottest); i++ {
		coolest = min(coolest, slices.Max(j.m.Hottest[i:i+n]))
	}
	return by(rows[0], coolest, "hottest %.1f °C in the coolest %d days", coolest, n)
}

func (j judged) sensor(rows []Criterion) Label {
	const held, fewest = 10.0, 3.0 // K; times
	n := 0
	var when []Evidence
	doubt := ""
	note := func(w house.Window, sure bool, why string) {
		if w.From >= j.t.Ended {
			return
		}
		if !sure {
			doubt = why
			return
		}
		n++
		when = append(when, Evidence{From: w.From, To: min(w.To, j.t.Ended)})
	}
	for i, f := range j.s.Faults.OwnSensor {
		in := (min(f.To, j.t.Ended) - f.From).Seconds()
		switch f.Ails {
		case house.Jumping:
			note(f.Window, in >= fewest*f.EveryS && math.Abs(f.By) >= held, "few or small jumps")
		case house.StuckAt:
			note(f.Window, j.m.Moved[i][1]-j.m.Moved[i][0] >= held, "held while the water hardly moved")
		case house.OpenWire, house.ShortWire:
			note(f.Window, in > 0, "")
		}
	}
	for i, f := range j.s.Faults.Probe {
		m := j.m.Moved[len(j.s.Faults.OwnSensor)+i]
		in := (min(f.To, j.t.Ended) - f.From).Seconds() / max(1, j.s.Probes.Every.Seconds())
		switch f.Ails {
		case house.PowerOn:
			note(f.Window, !j.s.NoProbes && in*f.Share >= fewest, "few power-on values")
		case house.ProbeStuck:
			note(f.Window, !j.s.NoProbes && m[1]-m[0] >= held, "held while the water hardly moved")
		}
	}
	l := by(rows[0], float64(n), "%d sensors with values that water cannot have", n)
	l.Evidence = when
	if doubt != "" {
		l = l.doubt(Absent, doubt)
	}
	return l
}
