package pressure

import (
	"fmt"
	"math"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
)

// jumps is the change between two days, bar, that no slow fall and no unseen temperature makes.
func (f trend) jumps(step float64) float64 { return max(jumpBar, 2*step, jumpK*math.Abs(f.perK)) }

// lasting keeps the steps that the pressure at the next like temperature still shows. What a pump's head, noise or an
// unseen warming did is gone by then, and the stretches before and after it are one. Nor is one kept that a little of
// unseen warming would make: where the vessel is flat only a large step can be told.
func lasting(s series) series {
	if len(s.breaks) == 0 {
		return s
	}
	keep := make([]bool, len(s.breaks))
	few := float64(len(s.breaks)) <= mostDaily*float64(max(1, s.days))
	if x, ok := solve(s.cells); ok && few {
		for i, b := range s.breaks {
			before, after, known := x.around(s.cells, i)
			size, unseen := math.Abs(b.To-b.From), jumpK*math.Abs(x.perK)
			if size < unseen {
				continue
			}
			least := max(lastsBy*size, unseen)
			keep[i] = !known || (after-before)*(b.To-b.From) > 0 && math.Abs(after-before) >= least
		}
	} else if few {
		for i := range keep {
			keep[i] = true
		}
	}
	number := make([]int, len(s.breaks)+1)
	var kept []episode.PressureStep
	for i := range keep {
		number[i+1] = number[i]
		if keep[i] {
			number[i+1]++
			kept = append(kept, s.breaks[i])
		}
	}
	cells := make([]cell, len(s.cells))
	for i, c := range s.cells {
		c.epoch = number[c.epoch]
		cells[i] = c
	}
	s.cells = cells
	s.setSteps(kept)
	return s
}

// around gives the levels before and after step i, each the mean over the halves of days that have one.
func (l line) around(cells []cell, i int) (before, after float64, known bool) {
	var sums [2]float64
	var n [2]float64
	for _, late := range []bool{false, true} {
		a, okA := l.level[group{i, late}]
		b, okB := l.level[group{i + 1, late}]
		if okA && okB {
			sums[0], sums[1] = sums[0]+a, sums[1]+b
			n[0], n[1] = n[0]+1, n[1]+1
		}
	}
	if n[0] > 0 {
		return sums[0] / n[0], sums[1] / n[1], true
	}
	for _, c := range cells { // no half has both: what there is
		if e := c.epoch - i; e == 0 || e == 1 {
			sums[e] += c.weight * l.level[c.group()]
			n[e] += c.weight
		}
	}
	if n[0] == 0 || n[1] == 0 {
		return 0, 0, false
	}
	return sums[0] / n[0], sums[1] / n[1], true
}

// setSteps puts the steps in order of what they did.
func (s *series) setSteps(list []episode.PressureStep) {
	s.breaks, s.ups, s.downs, s.upDays = list, nil, nil, 0
	last := -1
	for _, b := range list {
		if !b.Up() {
			s.downs = append(s.downs, b)
			continue
		}
		s.ups = append(s.ups, b)
		if d := b.At.YearDay(); d != last {
			s.upDays, last = s.upDays+1, d
		}
	}
}

// refilled fits, and parts the record where pressure at equal temperature came back up between two days: water was let
// in while nobody looked, or while the water was being heated.
func refilled(s series) (series, trend) {
	f := fit(s.cells, s.step)
	const most = 6
	for range most {
		if !f.known || f.jump < f.jumps(s.step) {
			break
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
		if !g.known || math.IsInf(g.error, 0) || g.error > 1.5*f.error {
			break
		}
		s.cells, f = parted, g
		s.unseen++
	}
	return s, f
}

// coldEnds are the pressures of the coldest water that the first and the last days have in common, as read.
func coldEnds(p *analyse.Pass, s series) []analyse.Evidence {
	cells := s.cells
	if !s.rest {
		if r := gather(p, true); len(r.cells) > 0 && r.flowOnly == s.flowOnly && r.span > 0.8*s.span {
			cells = r.cells
		}
	}
	if len(cells) == 0 {
		return nil
	}
	first, last := cells[0].day, cells[len(cells)-1].day
	const like = 3.0 // K
	var a, b cell
	found := false
	for _, x := range cells {
		for _, y := range cells {
			if x.day != first || y.day != last || math.Abs(x.water-y.water) > like {
				continue
			}
			if !found || x.water+y.water < a.water+b.water {
				a, b, found = x, y, true
			}
		}
	}
	if !found || first == last {
		return nil
	}
	at := func(t float64) time.Time { return p.Facts.From.Add(time.Duration(t * 24 * float64(time.Hour))) }
	note := func(word string, c cell) analyse.Evidence {
		t := at(c.t)
		return analyse.Evidence{From: t, To: t, Note: fmt.Sprintf("%s cold pressure, %s: %.2f bar at %.0f °C", word, p.Site.Date(t), c.bar, c.water)}
	}
	return []analyse.Evidence{note("first", a), note("last", b)}
}
