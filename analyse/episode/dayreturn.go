package episode

import (
	"math"
	"slices"
	"time"

	"tundish/decode"
)

// ReturnDay is at which return temperature the heat of a day was made, by each source that gives the return.
type ReturnDay struct {
	Sources []ReturnBy // in order of name
}

// ReturnBy is that by one source's return.
type ReturnBy struct {
	Source    string
	Heating   ReturnHeat // of firings for heating
	Undivided ReturnHeat // of firings of which nobody says what they were for
	HotWater  ReturnHeat
}

// ReturnHeat is burning by return temperature.
type ReturnHeat struct {
	// For are the seconds of burning by return temperature; see [ReturnBinLow] and [ReturnBins]. Nil: none.
	For []float32
	// Weight is the heat of each in units that only compare within one record: by By.
	Weight []float32
	By     HeatBy
	Unseen float32 // s of burning in which the return was not known
	ReturnS,
	SpreadS float32 // °C·s of return and K·s of flow − return
	SpreadFor float32 // s in which flow − return was known
}

// HeatBy is what tells how much heat was made in a stretch of burning.
type HeatBy string

const (
	HeatUnknown      HeatBy = ""              // burning time alone: Weight is nil
	HeatByPower      HeatBy = "heat power"    // Weight in kWh
	HeatByModulation HeatBy = "modulation"    // Weight is the mean modulation times the time, 0…1 times s
	HeatBySpread     HeatBy = "flow − return" // Weight in K·s: the heat where the flow rate stays the same
)

const (
	// ReturnBinLow is the least temperature of the second bin, °C; the first holds what is cooler, the last what is at
	// ReturnBinLow + ReturnBins − 2 or above. A bin is 1 K wide. They lie about the dew points of flue gases.
	ReturnBinLow = 42.0
	ReturnBins   = 22
)

// Seconds is the burning time in which the return was known, s.
func (r *ReturnHeat) Seconds() float64 { return sumOf(r.For) }

// Above is the share of what the values sum up that lies above °C, 0…1; within a bin it is taken as spread evenly.
// Values are For or Weight; false: they sum up to nothing.
func Above(values []float32, c float64) (float64, bool) {
	total := sumOf(values)
	if total <= 0 {
		return 0, false
	}
	above := 0.0
	for i, v := range values {
		low := ReturnBinLow + float64(i-1)
		switch {
		case i == 0: // cooler than any that is asked for
		case i == len(values)-1:
			above += float64(v)
		default:
			above += float64(v) * min(1, max(0, low+1-c))
		}
	}
	return above / total, true
}

func sumOf(values []float32) (total float64) {
	for _, v := range values {
		total += float64(v)
	}
	return total
}

const (
	// returnStands is how far apart two readings of flow or return may be for the time between them to be known. Own
	// proposal: a bus may give them every few minutes, and a burn changes them within minutes.
	returnStands = 10 * time.Minute
	// weightKnown is the share of the burning in which modulation or power must be known for it to weigh the heat. Own
	// proposal.
	weightKnown = 0.9
)

// waterDay is one source's flow and return of a day.
type waterDay struct {
	source    string
	flow, ret minutes
}

// returnWatch keeps a day's water by minutes, because what the burner did may show only at the record's end.
type returnWatch struct {
	day   returnCells
	ended []returnCells
	owner string // of the heat power
}

type returnCells struct {
	from       time.Time
	water      []*waterDay
	mod, power minutes
	hot        minutes // 1 while hot water was made, by the appliance's own word
	outside    minutes
}

func (w *returnWatch) take(b *Builder, p decode.Point, src *sourceValues, v float64) {
	d, day, t := &w.day, b.days.begins, b.at
	switch p {
	case decode.Flow, decode.Return:
		if src.water == 0 {
			d.water = append(d.water, &waterDay{source: src.name})
			src.water = len(d.water)
		}
		m := &d.water[src.water-1].flow
		if p == decode.Return {
			m = &d.water[src.water-1].ret
			if len(b.hotWater.spans) > 0 && !b.hotWater.stale(b.now) {
				on := 0.0
				if b.hotWater.on {
					on = 1
				}
				d.hot.take(day, t, on, returnStands, true)
			}
		}
		m.take(day, t, v, returnStands, false)
	case decode.Modulation:
		if b.modulation.owner == src.name {
			d.mod.take(day, t, v, burnerStands, true)
		}
	case decode.HeatPower:
		if w.owner == "" {
			w.owner = src.name
		}
		if w.owner == src.name {
			d.power.take(day, t, v, burnerStands, true)
		}
	case decode.Outside:
		if b.days.heat.outside.owner == src.name {
			d.outside.take(day, t, v, outsideStands, false)
		}
	}
}

func (w *returnWatch) cut() {
	w.day.mod.last.seen, w.day.power.last.seen, w.day.hot.last.seen, w.day.outside.last.seen = false, false, false, false
	for _, x := range w.day.water {
		x.flow.last.seen, x.ret.last.seen = false, false
	}
}

// end keeps the day's minutes until the firings are known; see [returnWatch.sum].
func (w *returnWatch) end(time.Time) ReturnDay {
	w.ended = append(w.ended, w.day)
	next := returnCells{mod: minutes{last: w.day.mod.last}, power: minutes{last: w.day.power.last}, hot: minutes{last: w.day.hot.last},
		outside: minutes{last: w.day.outside.last}}
	for _, x := range w.day.water {
		next.water = append(next.water, &waterDay{source: x.source, flow: minutes{last: x.flow.last}, ret: minutes{last: x.ret.last}})
	}
	w.day = next
	return ReturnDay{}
}

// sum makes the days' sums by what the burner did.
func (w *returnWatch) sum(days []Day, firings []Firing) {
	for i := range min(len(days), len(w.ended)) {
		for len(firings) > 0 && !firings[0].To.After(days[i].From) {
			firings = firings[1:]
		}
		days[i].Return = w.ended[i].sum(days[i].From, days[i].To, firings)
		days[i].Weather = w.ended[i].weather(days[i].From, days[i].To, firings)
	}
	w.ended = nil
}

func (c *returnCells) sum(from, to time.Time, firings []Firing) (d ReturnDay) {
	for _, x := range c.water {
		if x.ret.cells == nil {
			continue
		}
		by := ReturnBy{Source: x.source}
		var sums [madeCount]returnSum
		for i := range firings {
			f := &firings[i]
			if !f.From.Before(to) {
				break
			}
			use := forHeating
			switch {
			case !f.UseKnown:
				use = undivided
			case f.Use == HotWater:
				use = forHotWater
			}
			c.add(&sums, use, x, from, to, f.Span)
		}
		by.Heating, by.HotWater, by.Undivided = sums[forHeating].result(), sums[forHotWater].result(), sums[undivided].result()
		d.Sources = append(d.Sources, by)
	}
	slices.SortFunc(d.Sources, func(a, b ReturnBy) int {
		if a.Source < b.Source {
			return -1
		}
		return 1
	})
	return d
}

// returnSum gathers one use's burning.
type returnSum struct {
	ReturnHeat
	mod, power, spread []float32
	modFor, powerFor   float32
	seconds            float32
}

// add takes a firing. One that goes on while hot water takes over is parted by the minute.
func (c *returnCells) add(sums *[madeCount]returnSum, of made, x *waterDay, from, to time.Time, f Span) {
	start, end := later(f.From, from), earlier(f.To, to)
	for i := int(start.Sub(c.from) / time.Minute); ; i++ {
		cell := Span{From: c.from.Add(time.Duration(i) * time.Minute), To: c.from.Add(time.Duration(i+1) * time.Minute)}
		if !cell.From.Before(end) {
			return
		}
		use := of
		if hot, ok := c.hot.at(i); ok && hot == 1 {
			use = forHotWater
		} else if ok && of == forHotWater {
			use = forHeating
		}
		s := &sums[use]
		sec := float32(cell.Overlap(Span{From: start, To: end}).Seconds())
		ret, ok := x.ret.at(i)
		if !ok {
			s.Unseen += sec
			continue
		}
		if s.For == nil {
			n := ReturnBins
			all := make([]float32, 4*n)
			s.For, s.mod, s.power, s.spread = all[:n:n], all[n:2*n:2*n], all[2*n:3*n:3*n], all[3*n:]
		}
		bin := min(max(int(math.Floor(ret-ReturnBinLow))+1, 0), ReturnBins-1)
		s.For[bin] += sec
		s.seconds += sec
		s.ReturnS += sec * float32(ret)
		if m, ok := c.mod.at(i); ok {
			s.mod[bin] += sec * float32(m) / 100
			s.modFor += sec
		}
		if kw, ok := c.power.at(i); ok && kw >= 0 {
			s.power[bin] += sec * float32(kw) / 3600
			s.powerFor += sec
		}
		if flow, ok := x.flow.at(i); ok {
			s.spread[bin] += sec * float32(max(0, flow-ret))
			s.SpreadS += sec * float32(flow-ret)
			s.SpreadFor += sec
		}
	}
}

func (s *returnSum) result() ReturnHeat {
	r := s.ReturnHeat
	if s.For == nil {
		return r
	}
	r.For = slices.Clone(s.For)
	switch {
	case s.powerFor >= weightKnown*s.seconds && sumOf(s.power) > 0:
		r.By, r.Weight = HeatByPower, slices.Clone(s.power)
	case s.modFor >= weightKnown*s.seconds:
		r.By, r.Weight = HeatByModulation, slices.Clone(s.mod)
	case s.SpreadFor >= weightKnown*s.seconds && sumOf(s.spread) > 0:
		r.By, r.Weight = HeatBySpread, slices.Clone(s.spread)
	}
	return r
}
