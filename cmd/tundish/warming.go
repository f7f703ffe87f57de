package main

import (
	"fmt"
	"maps"
	"slices"
	"time"
)

// How a probe in the hand is told from the others. Own proposals: a probe at room temperature gains some kelvins within
// a minute in a hand, and hands are not warmer than 37 °C.
const (
	riseK     = 1.5              // K above its lowest within riseSpan
	aheadK    = 1.0              // K more than any other rose
	riseSpan  = 90 * time.Second // older values do not count
	handC     = 37.0             // °C
	riseTwice = 2                // readings in a row
)

// warming follows probes until one rises.
type warming struct {
	probes map[string]*warm
	done   map[string]bool // not followed any more
}

type warm struct {
	past []warmValue // within riseSpan
	last float64
	rows int // readings in a row that show a hand
}

type warmValue struct {
	at time.Duration
	c  float64
}

func newWarming() *warming { return &warming{probes: map[string]*warm{}, done: map[string]bool{}} }

// start forgets what was, and leaves some probes out.
func (w *warming) start(without map[string]bool) {
	w.done = maps.Clone(without)
	for _, p := range w.probes {
		p.past, p.rows = nil, 0
	}
}

func (p *warm) rise() float64 {
	if len(p.past) == 0 {
		return 0
	}
	low := p.last
	for _, v := range p.past {
		low = min(low, v.c)
	}
	return p.last - low
}

// take takes a value and tells whether this is the probe in the hand.
func (w *warming) take(probe string, at time.Duration, c float64) bool {
	p := w.probes[probe]
	if p == nil {
		p = &warm{}
		w.probes[probe] = p
	}
	p.last = c
	p.past = slices.DeleteFunc(append(p.past, warmValue{at, c}), func(v warmValue) bool { return at-v.at > riseSpan })
	if w.done[probe] || c > handC || p.rise() < riseK {
		p.rows = 0
		return false
	}
	for name, o := range w.probes {
		if name != probe && !w.done[name] && o.last <= handC && p.rise() < o.rise()+aheadK {
			p.rows = 0
			return false
		}
	}
	p.rows++
	return p.rows >= riseTwice
}

// page is a line a probe.
func (w *warming) page(named []identified) []string {
	var out []string
	for _, name := range slices.Sorted(maps.Keys(w.probes)) {
		line := fmt.Sprintf("%s %5.1f °C %+4.1f", name, w.probes[name].last, w.probes[name].rise())
		for _, n := range named {
			if n.probe == name {
				line += " " + n.point.String()
			}
		}
		out = append(out, line)
	}
	return out
}
