// Package pressure judges the pressure of a sealed system: whether it falls over days, and whether it follows the
// water's temperature too far.
//
// Both checks compare pressure with pressure at the same temperature of the water: the first between days, the second
// within each day. A sensor's constant offset therefore means nothing to either of them.
package pressure

import (
	"math"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

const (
	// topCell is the longest time that counts of one cell, s: a night at one temperature is no better known than half
	// an hour. Own proposal.
	topCell = 1800.0
	// leastCell is the shortest time of one cell, s. Own proposal.
	leastCell = 60.0
	// uniform is the standard deviation of a value that was rounded to steps of 1: 1/√12 (GUM, JCGM 100:2008, 4.3.7).
	uniform = 0.288675
	// reliefBar is where the safety valve of a domestic sealed system lifts, bar (installation manuals that cite
	// BS 7074-1); nearRelief is where it may weep already (common practice, no source).
	reliefBar, nearRelief = 3.0, 2.7
	// airBar is the standard atmosphere, bar (ISO 2533).
	airBar = 1.01325
)

var needs = []analyse.Need{
	{Points: []decode.Point{decode.Pressure}, Say: "no system pressure: read it from the boiler's bus where the boiler has a sensor, or fit a pressure sensor on a drain cock or the filling loop"},
	{Points: []decode.Point{decode.Flow}, Say: "no water temperature to hold the pressure against: read the flow from the bus, or clip probes on flow and return"},
}

// cell is pressure and temperature of one day at one temperature of water.
type cell struct {
	day, epoch int
	late       bool    // of the day's second half
	t          float64 // days since the record's begin
	water, bar float64
	weight     float64 // s
}

// group is what has a level of its own.
type group struct {
	epoch int
	late  bool
}

func (c cell) group() group { return group{c.epoch, c.late} }

// block numbers the days, or their halves.
func (c cell) block(halves bool) int {
	switch {
	case !halves:
		return c.day
	case c.late:
		return 2*c.day + 1
	}
	return 2 * c.day
}

// series is what the checks work with.
type series struct {
	cells    []cell
	days     int // with cells
	span     float64
	rest     bool // of standing water
	flowOnly bool
	unsure   bool
	step     float64 // the sensor's, bar
	every    time.Duration
	breaks   []episode.PressureStep // that part the epochs, one between each two
	ups      []episode.PressureStep
	downs    []episode.PressureStep
	upDays   int
	unseen   int // days before which pressure at equal temperature had come back up
	high     float64
	highAt   time.Time
	stood    time.Duration // water stood although it was to move
}

// collect takes the cells of the temperature source that was there for longest.
func collect(p *analyse.Pass) series {
	moving, rest := gather(p, false), gather(p, true)
	if rest.span > 1.4*moving.span+0.2 && moving.days < 4 {
		return rest
	}
	return moving
}

type by struct {
	source   string
	flowOnly bool
}

func gather(p *analyse.Pass, rest bool) series {
	total := map[by]float64{}
	for _, d := range p.Facts.Days {
		for _, s := range d.Pressure.Spans {
			for _, c := range pick(s, rest) {
				total[by{s.Source, s.FlowOnly}] += c.For
			}
		}
	}
	var best by
	for k, v := range total {
		if b := total[best]; v > b || v == b && (k.source < best.source || k.source == best.source && !k.flowOnly) {
			best = k
		}
	}
	s := series{rest: rest, flowOnly: best.flowOnly}
	var steps []float64
	var seldom []time.Duration
	var breaks []episode.PressureStep
	epoch := 0
	for i, d := range p.Facts.Days {
		x := d.Pressure
		if x.Step > 0 {
			steps = append(steps, x.Step)
		}
		if x.Readings > 0 {
			seldom = append(seldom, x.Seldom)
		}
		if x.High > s.high {
			s.high, s.highAt = x.High, x.HighAt
		}
		s.stood += x.Stood
		breaks = append(breaks, x.Steps...)
		next, had := 0, false
		for _, sp := range x.Spans {
			begins := d.From.Add(time.Duration(first(sp) * float64(time.Second)))
			for next < len(x.Steps) && !x.Steps[next].At.After(begins) {
				next++
				epoch++
			}
			if sp.Source != best.source || sp.FlowOnly != best.flowOnly {
				continue
			}
			s.unsure = s.unsure || sp.Unsure
			for _, c := range pick(sp, rest) {
				if c.For < leastCell {
					continue
				}
				had = true
				s.cells = append(s.cells, cell{day: i, epoch: epoch, late: c.At >= 43200, t: d.From.Sub(p.Facts.From).Hours()/24 + c.At/86400,
					water: c.Water, bar: c.Pressure, weight: min(c.For, topCell)})
			}
		}
		epoch += len(x.Steps) - next
		if had {
			s.days++
		}
	}
	s.setSteps(breaks)
	if n := len(s.cells); n > 0 {
		low, high := s.cells[0].t, s.cells[0].t
		for _, c := range s.cells {
			low, high = min(low, c.t), max(high, c.t)
		}
		s.span = high - low
	}
	if len(steps) > 0 {
		slices.Sort(steps)
		s.step = steps[len(steps)/2]
	}
	if len(seldom) > 0 {
		slices.Sort(seldom)
		s.every = seldom[len(seldom)/2]
	}
	return s
}

// nothing says why there is nothing to work with; of standing water, too.
func (s *series) nothing(standing bool) string {
	if s.stood >= toldStood {
		return "whenever the heating was on, flow stayed far above return for minutes with the burner off: the water stood, or the return is not read on its pipe, and the water's mean temperature is not known. See that water circulates and that the probes sit, and record again"
	}
	how := "moved for ten minutes"
	if standing {
		how += " or stood for three hours"
	}
	return "pressure and water temperature were never known together while the heating's water " + how + ": read both from the bus, or clip probes on flow and return, and leave the logger on through heating"
}

func pick(s episode.PressureSpan, rest bool) []episode.PressureCell {
	if rest {
		return s.Rest
	}
	return s.Moving
}

// first is the earliest of a span's moments that are kept, s after midnight.
func first(s episode.PressureSpan) float64 {
	at := math.Inf(1)
	for _, cells := range [][]episode.PressureCell{s.Moving, s.Rest} {
		for _, c := range cells {
			at = min(at, c.At)
		}
	}
	return at
}
