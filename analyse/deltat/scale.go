package deltat

import (
	"math"
	"time"

	"tundish/analyse"
	"tundish/analyse/emitter"
)

// basis is what told the heat that went with a difference.
type basis uint8

const (
	notScaled basis = iota
	ofEmitters
	byOutput
)

const (
	panelExponent, floorExponent = emitter.PanelExponent, emitter.FloorExponent
	usualRoom                    = 20.0 // °C, where the design's inside temperature is not known
	// leastLoad is the least share of the design load at which the emitters' law is asked: below, room and sensors' errors
	// weigh too much. Own proposal.
	leastLoad = 0.15
	// longFiring is the length from which a firing's least modulation shows the bottom of the burner's range.
	longFiring = time.Minute
	// nearLeast is how near to least ÷ greatest output the lowest modulation must stay to be a share of rated output. Own
	// proposal.
	nearLeast = 0.7
)

// scale tells of every part what the same water flow would give at the design output.
func (m *measured) scale(p *analyse.Pass) {
	output := outputs(p)
	for i := range m.parts {
		x := &m.parts[i]
		x.kw = output(*x)
		x.atDesign, x.scaled = scaled(p.Plant, *x)
	}
	if m.follows = followsOutput(m.parts); m.follows {
		for i := range m.parts {
			m.parts[i].atDesign = m.parts[i].k
		}
	}
	counts := map[basis]time.Duration{}
	for _, x := range m.parts {
		counts[x.scaled] += x.counts
	}
	var of []part
	for _, b := range []basis{byOutput, ofEmitters} {
		if 2*counts[b] < m.total {
			continue
		}
		m.scaled = b
		for _, x := range m.parts {
			if x.scaled == b {
				of = append(of, x)
			}
		}
		m.atDesign = median(of, func(x part) float64 { return x.atDesign })
		break
	}
	down := m.error * m.atDesign / max(m.median, m.error)
	up := down
	if m.scaled == ofEmitters {
		down, up = math.Hypot(down, emittersAbove*m.atDesign), math.Hypot(up, emittersBelow*m.atDesign)
	}
	m.lowest, m.highest = m.atDesign-down, m.atDesign+up
	var mod, kw []part
	for _, x := range m.parts {
		if x.modSeen {
			mod = append(mod, x)
		}
		if x.kw > 0 {
			kw = append(kw, x)
		}
	}
	m.mod, m.modSeen = median(mod, func(x part) float64 { return x.mod }), len(mod) > 0
	m.kw = median(kw, func(x part) float64 { return x.kw })
}

// scaled is one difference at the design output.
func scaled(pl analyse.Plant, x part) (float64, basis) {
	if x.kw > 0 && pl.DesignHeatLoss.Known && pl.DesignHeatLoss.Value > 0 {
		return x.k * float64(pl.DesignHeatLoss.Value) / x.kw, byOutput
	}
	if load, ok := emitterLoad(pl, x); ok && x.settled {
		return x.k / load, ofEmitters
	}
	return 0, notScaled
}

// emitterLoad is the share of the design load that emitters of the design give at a part's water temperatures.
func emitterLoad(pl analyse.Plant, x part) (float64, bool) {
	if !pl.DesignFlow.Known || !pl.DesignReturn.Known {
		return 0, false
	}
	room := roomOf(pl)
	n := panelExponent
	if pl.Emitters == "underfloor" {
		n = floorExponent
	}
	design := (float64(pl.DesignFlow.Value)+float64(pl.DesignReturn.Value))/2 - room
	excess := x.flow - x.k/2 - room
	if design <= 1 || excess <= 1 {
		return 0, false
	}
	load := math.Pow(excess/design, n)
	return load, load >= leastLoad
}

// roomOf is the rooms' temperature, °C.
func roomOf(pl analyse.Plant) float64 {
	if pl.InsideDesign.Known {
		return float64(pl.InsideDesign.Value)
	}
	return usualRoom
}

// outputs gives what tells a part's output in kW, 0 where nothing does.
func outputs(p *analyse.Pass) func(part) float64 {
	pl := p.Plant
	if !pl.OutputMax.Known || !pl.OutputMin.Known {
		return func(part) float64 { return 0 }
	}
	least, most := float64(pl.OutputMin.Value), float64(pl.OutputMax.Value)
	if least >= most*0.98 { // one output
		return func(part) float64 { return most }
	}
	ofRated := shareOfRated(p)
	return func(x part) float64 {
		switch {
		case !x.modSeen:
			return 0
		case ofRated:
			return max(least, x.mod/100*most)
		}
		return least + x.mod/100*(most-least)
	}
}

// shareOfRated tells whether this appliance sends modulation as a share of its rated output, as some do, and not
// from 0 at its lowest, as the OpenTherm Protocol Specification v2.2 (5.3.4, data id 17) defines it: then it never
// falls much below least ÷ greatest output while the burner is lit.
func shareOfRated(p *analyse.Pass) bool {
	lowest, seen := 100.0, false
	for _, f := range p.Facts.Firings {
		if f.ModulationSeen && f.Duration() >= longFiring {
			lowest, seen = min(lowest, f.MinModulation), true
		}
	}
	least := 100 * float64(p.Plant.OutputMin.Value) / float64(p.Plant.OutputMax.Value)
	return seen && lowest >= nearLeast*least
}

const (
	// outputsApart is how far the greater outputs must lie above the smaller ones, as a ratio, before the difference tells
	// whether the pump follows them, and sameDelta how much it may change if it does. Own proposals.
	outputsApart, sameDelta = 1.4, 0.1
)

// followsOutput tells whether the difference is the same at great outputs and at small ones: the pump's speed is
// controlled by it, and what is said of one output holds of all.
func followsOutput(parts []part) bool {
	var of []part
	for _, x := range parts {
		if x.kw > 0 && x.settled {
			of = append(of, x)
		}
	}
	kw := func(x part) float64 { return x.kw }
	low, high := quantile(of, 1.0/3, kw), quantile(of, 2.0/3, kw)
	var small, great []part
	for _, x := range of {
		if x.kw <= low {
			small = append(small, x)
		}
		if x.kw >= high {
			great = append(great, x)
		}
	}
	if counted(small) < leastSettled || counted(great) < leastSettled || median(great, kw) < outputsApart*median(small, kw) {
		return false
	}
	k := func(x part) float64 { return x.k }
	return math.Abs(median(great, k)-median(small, k)) <= sameDelta*median(small, k)
}
