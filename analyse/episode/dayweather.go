package episode

import (
	"math"
	"slices"
	"strings"
	"time"
)

// WeatherDay is how long it was how cold outside over a day, and how warm the water was that went to the heating then.
// Only what was seen is in it.
type WeatherDay struct {
	Outside []OutsideFor // in order of temperature
	Flow    []FlowBy     // of burning for heating, by each source that gives the flow, in order of name
}

// OutsideFor is the time for which it was C outside.
type OutsideFor struct {
	C       int // °C: from C − 0.5 up to C + 0.5
	Seconds float32
}

// FlowBy is the flow temperature by one source, while the burner was lit for heating.
type FlowBy struct {
	Source string
	Bins   []FlowFor // in order of temperature
}

// FlowFor is burning for heating with the flow known while it was C outside. Firings of which nobody says what they were
// for are not in it.
type FlowFor struct {
	C       int // °C outside: from C − 0.5 up to C + 0.5
	Seconds float32
	FlowS   float64 // °C·s: the flow temperature summed up over Seconds
}

// Mean is the mean flow temperature, °C; 0 where there was none.
func (f FlowFor) Mean() float64 {
	if f.Seconds <= 0 {
		return 0
	}
	return f.FlowS / float64(f.Seconds)
}

// outsideBin is the whole degree that a temperature belongs to.
func outsideBin(c float64) int { return int(math.Floor(c + 0.5)) }

// weather makes the day's sums by the minute: the minutes of which the outside temperature is known, and the burning in
// them.
func (c *returnCells) weather(from, to time.Time, firings []Firing) (d WeatherDay) {
	if c.outside.cells == nil {
		return d
	}
	for i := range c.outside.cells {
		te, ok := c.outside.at(i)
		if !ok || !from.Add(time.Duration(i)*time.Minute).Before(to) {
			continue
		}
		bin := outsideBin(te)
		k, found := slices.BinarySearchFunc(d.Outside, bin, func(x OutsideFor, c int) int { return x.C - c })
		if !found {
			d.Outside = slices.Insert(d.Outside, k, OutsideFor{C: bin})
		}
		d.Outside[k].Seconds += 60
	}
	for _, x := range c.water {
		if x.flow.cells == nil {
			continue
		}
		by := FlowBy{Source: x.source}
		for i := range firings {
			if !firings[i].From.Before(to) {
				break
			}
			c.delivered(&by, x, from, to, &firings[i])
		}
		if len(by.Bins) > 0 {
			d.Flow = append(d.Flow, by)
		}
	}
	slices.SortFunc(d.Flow, func(a, b FlowBy) int { return strings.Compare(a.Source, b.Source) })
	return d
}

// delivered adds a firing's minutes of heating, see [returnCells.add].
func (c *returnCells) delivered(by *FlowBy, x *waterDay, from, to time.Time, f *Firing) {
	span := Span{From: later(f.From, from), To: earlier(f.To, to)}
	for i := int(span.From.Sub(c.from) / time.Minute); ; i++ {
		cell := Span{From: c.from.Add(time.Duration(i) * time.Minute), To: c.from.Add(time.Duration(i+1) * time.Minute)}
		if !cell.From.Before(span.To) {
			return
		}
		heating := f.UseKnown && f.Use == Heating
		if hot, ok := c.hot.at(i); ok && f.UseKnown {
			heating = hot == 0
		}
		flow, ok1 := x.flow.at(i)
		te, ok2 := c.outside.at(i)
		sec := cell.Overlap(span).Seconds()
		if !heating || !ok1 || !ok2 || sec <= 0 {
			continue
		}
		bin := outsideBin(te)
		k, found := slices.BinarySearchFunc(by.Bins, bin, func(b FlowFor, c int) int { return b.C - c })
		if !found {
			by.Bins = slices.Insert(by.Bins, k, FlowFor{C: bin})
		}
		by.Bins[k].Seconds += float32(sec)
		by.Bins[k].FlowS += sec * flow
	}
}
