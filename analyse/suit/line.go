package suit

import "math"

// line is the load by outside temperature: falling, and nothing from limitC on.
type line struct {
	// steady is the outside temperature at which the load is w, °C, and the coldest and warmest that it may be.
	steady func(w float64) Estimate
	limitC float64 // no heat is needed from here on
}

// computedLine is straight; its range is that of the loss per kelvin. Gains lower it as a whole.
func computedLine(c Computed, limitC float64) line {
	at := func(w, perK float64) float64 {
		if perK <= 0 {
			return math.Inf(-1)
		}
		return c.InsideC - (w+c.GainsW)/perK
	}
	return line{limitC: limitC, steady: func(w float64) Estimate {
		return Estimate{at(w, c.WPerK.Value), at(w, c.WPerK.Low), at(w, c.WPerK.High)}
	}}
}

// measuredLine is straight below the balance; its range is read off the interval's edges. Where an edge does not come so
// high on the cold side, there is no bound; where it is higher all along, it bounds at the warm end.
func measuredLine(m Measured, limitC float64) line {
	return line{limitC: limitC, steady: func(w float64) Estimate {
		e := Estimate{Value: math.Inf(1)}
		if w > m.BaseW && m.WPerK.Value > 0 {
			e.Value = m.BalanceC - (w-m.BaseW)/m.WPerK.Value
		}
		e.Low = crossing(m.Line, w, func(p LinePoint) float64 { return p.W.Low })
		e.High = crossing(m.Line, w, func(p LinePoint) float64 { return p.W.High })
		if math.IsInf(e.High, -1) && len(m.Line) > 0 { // it may be anywhere below what was looked at
			e.High = m.Line[0].OutsideC
		}
		e.Low, e.High = min(e.Low, e.Value), max(e.High, e.Value)
		return e
	}}
}

// crossing is the warmest outside temperature at which an edge is still at w or above.
func crossing(points []LinePoint, w float64, edge func(LinePoint) float64) float64 {
	for i := len(points) - 1; i >= 0; i-- {
		v := edge(points[i])
		if v < w {
			continue
		}
		if i == len(points)-1 {
			return math.Inf(1)
		}
		next := edge(points[i+1]) // below w
		return points[i].OutsideC + (points[i+1].OutsideC-points[i].OutsideC)*(v-w)/(v-next)
	}
	return math.Inf(-1)
}

// Steady is the outside temperature below which the load is at least the least output, so that the plant can run without
// stopping.
type Steady struct {
	Estimate // °C; −Inf: colder than anything that was looked at
	// Never: the load is above the least output in all weather that needs heat, so that the plant never has to stop.
	Never bool
}

func (l line) steadyBelow(leastW float64) Steady {
	s := Steady{Estimate: l.steady(leastW)}
	s.Never = s.Value >= l.limitC
	s.Low, s.Value, s.High = min(s.Low, l.limitC), min(s.Value, l.limitC), min(s.High, l.limitC)
	return s
}

// Hours parts hours by what the plant has to do in them.
type Hours struct {
	TotalH  float64
	NoHeatH float64 // at or above the temperature from which no heat is needed
	SteadyH float64 // it can run without stopping
	CycleH  float64 // the load is below the least output: it must stop and start
	// CycleLowH and CycleHighH are the least and the most that may be, by the range of the load.
	CycleLowH, CycleHighH float64
	// ShortH are those of SteadyH in which the load is above the greatest output; 0 where that is not known.
	ShortH float64
}

// hours parts a histogram; each of its hours counts as of the temperature it is listed at.
func (l line) hours(h Histogram, steady Steady, greatestW float64) Hours {
	short := math.Inf(-1)
	if greatestW > 0 {
		short = l.steady(greatestW).Value
	}
	var out Hours
	for _, b := range h.Bins {
		out.TotalH += b.H
		if b.OutsideC >= l.limitC {
			out.NoHeatH += b.H
			continue
		}
		if b.OutsideC > steady.Value {
			out.CycleH += b.H
		} else {
			out.SteadyH += b.H
			if b.OutsideC < short {
				out.ShortH += b.H
			}
		}
		if b.OutsideC > steady.High {
			out.CycleLowH += b.H
		}
		if b.OutsideC > steady.Low {
			out.CycleHighH += b.H
		}
	}
	return out
}
