package main

import (
	"fmt"
	"math"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/analyse/pairing"
	"tundish/decode/unit"
)

// pairPage gathers both probes' values, and shows the comparison as it goes.
type pairPage struct {
	two     [2]pairProbe
	began   time.Time
	lasts   time.Duration
	to      *streams
	last    [2]*probeValue
	tried   [2]int // answers, good or not
	samples []pairing.Sample
	steps   [2]unit.Kelvin
	sweeps  int
	told    time.Duration
	within  time.Duration // how far apart in time two values may be to be one sample
	// everyTurn: both are asked at the same pace, so that each turn should bring a pair.
	everyTurn bool
	changed   [2]smallest
}

// smallest is the smallest change between two values that a sensor gave one after the other.
type smallest struct {
	last, change float64
	any          bool
}

// unknownStepK stands for the step of a sensor whose value never changed, K. Own choice: no thermometer in the trade
// shows less than whole degrees.
const unknownStepK = 1

// take gives the step of a sensor that does not tell it, K.
func (s *smallest) take(c float64) float64 {
	if d := math.Abs(c - s.last); s.any && d > 1e-6 && (s.change == 0 || d < s.change) {
		s.change = d
	}
	s.last, s.any = c, true
	if s.change == 0 {
		return unknownStepK
	}
	return s.change
}

// togetherWithin is how far apart in time two values of different buses may be to be one sample. Own choice: water in a
// jug changes by a hundredth of a kelvin at most in it.
const togetherWithin = 1500 * time.Millisecond

// slowTogether is the same where a sensor speaks at its own pace. Own choice: what the water does in it is in the
// uncertainty, which takes one sensor for that much slower than the other.
const slowTogether = pairing.LagS * time.Second

func (p *pairPage) take(v probeValue) error {
	i := 0
	if p.two[1].gave(v) {
		i = 1
	} else if !p.two[0].gave(v) {
		return nil
	}
	if v.note != "" && !strings.HasPrefix(v.note, "probe: ") {
		fmt.Fprintf(p.to.live(), "%s: %s\n", v.probe, v.note)
	}
	if v.note != "" {
		return nil
	}
	p.tried[i]++
	p.sweeps = max(p.tried[0], p.tried[1])
	if !p.everyTurn {
		p.sweeps = len(p.samples)
	}
	if v.err != nil {
		return nil
	}
	p.last[i] = &v
	switch {
	case v.step == 0 && v.sweep > 0: // a 1-Wire chip at its finest (DS18B20 datasheet)
		v.step = 0.0625
	case v.step == 0:
		v.step = p.changed[i].take(v.c)
	}
	p.steps[i] = unit.Kelvin(v.step)
	a, b := p.last[0], p.last[1]
	if a == nil || b == nil || (a.at-b.at).Abs() > p.within {
		return nil
	}
	p.last = [2]*probeValue{}
	p.samples = append(p.samples, pairing.Sample{At: max(a.at, b.at), First: unit.Celsius(a.c).Add(p.two[0].Offset), Second: unit.Celsius(b.c)})
	p.show()
	return nil
}

// show draws the page on a terminal; elsewhere a line a minute.
func (p *pairPage) show() {
	gone := time.Since(p.began)
	now := p.samples[len(p.samples)-1]
	line := fmt.Sprintf("%s: %.2f and %.2f °C, difference %+.2f K", analyse.Span(gone.Round(time.Second)), now.First, now.Second, now.First.Sub(now.Second))
	if !p.to.screen.terminal() {
		if gone-p.told >= time.Minute {
			p.told = gone
			fmt.Fprintln(p.to.out, line)
		}
		return
	}
	page := []string{line, fmt.Sprintf("%d readings, %s to go. Ctrl-C stops, and writes nothing.", len(p.samples), analyse.Span(max(0, p.lasts-gone).Round(time.Second)))}
	switch r, err := pairing.Judge(p.samples, p.steps, p.sweeps); {
	case r.Readings < pairing.LeastReadings:
	case err != nil:
		page = append(page, "as it is: "+err.Error())
	default:
		page = append(page, fmt.Sprintf("mean %+.2f K, known to ± %.2f K", r.Offset, r.Expanded))
	}
	p.to.screen.show(page)
}

func (p *pairPage) leave() {
	if p.to.screen.terminal() && len(p.samples) > 0 {
		p.to.screen.leave()
	}
}
