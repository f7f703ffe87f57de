package episode

import "math"

// span is the stretch under way.
func (w *pressureWatch) span(source string, flowOnly, unsure bool, p float64) *PressureSpan {
	n := len(w.day.Spans)
	if n > 0 && !w.fresh {
		if s := &w.day.Spans[n-1]; s.Source == source && s.FlowOnly == flowOnly && s.Unsure == unsure {
			return s
		}
	}
	if n >= mostSpans { // a day of steps: what follows is left out of none, but put together
		w.fresh = false
		return &w.day.Spans[n-1]
	}
	w.day.Spans = append(w.day.Spans, PressureSpan{Source: source, FlowOnly: flowOnly, Unsure: unsure, Base: p, AfterCut: w.afterCut})
	w.fresh, w.afterCut = false, false
	return &w.day.Spans[n]
}

func put(cells []PressureCell, base, water, p, weight, at float64) []PressureCell {
	bin, level := int(math.Floor(water/5)), int(math.Floor((p-base)*4+1e-6))
	i := 0
	for i < len(cells) && (cells[i].Bin < bin || cells[i].Bin == bin && cells[i].Level < level) {
		i++
	}
	if i == len(cells) || cells[i].Bin != bin || cells[i].Level != level {
		cells = append(cells, PressureCell{})
		copy(cells[i+1:], cells[i:])
		cells[i] = PressureCell{Bin: bin, Level: level}
	}
	c := &cells[i]
	c.For += weight
	share := weight / c.For
	c.Water += share * (water - c.Water)
	c.Pressure += share * (p - c.Pressure)
	c.At += share * (at - c.At)
	return cells
}
