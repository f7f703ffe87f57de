package building

import (
	"fmt"
	"math"
)

// assume tells every figure that nobody gave, and the rules that were followed.
func (c *computing) assume() {
	add := func(what string, v float64, unit, source string) {
		c.r.Assumptions = appendNew(c.r.Assumptions, Assumption{What: what, Value: v, Unit: unit, Source: source})
	}
	if c.h.AirWhM3K == nil {
		add("heat of air", defaultAir, "Wh/m³K", defaultAirSource)
	}
	for i := range c.h.Rooms {
		c.assumeRoom(&c.h.Rooms[i], add)
	}
	if c.h.BridgeSurchargeWM2K == nil && c.r.BridgesW == 0 {
		add("thermal bridges: none stated and none counted; a usual surcharge would be", bridgesUsual, "W/m²K", bridgesUsualSource)
	}
	c.assumeElements(add)
	for i, s := range c.h.Unheated {
		if s.Kind != "" {
			add(fmt.Sprintf("b_u of %s (%s)", s.Name, s.Kind), c.spaces[i].BU, "", spaceKindSource)
		}
	}
	w := c.r.Whole
	if w.InfiltrationW != 0 {
		add("share of the rooms' infiltration that the whole house takes", infiltrationShare, "", infiltrationSource)
	}
	if c.h.Reheat != nil && c.h.Reheat.WM2 == nil {
		add(fmt.Sprintf("reheat within %v h after a drop of %v K", c.h.Reheat.Hours, c.h.Reheat.DropK), c.h.Reheat.perM2(), "W/m²", reheatSource)
	}
}

func (c *computing) assumeRoom(m *Room, add func(string, float64, string, string)) {
	u, use := uses[m.Use], useWords(m.Use)
	if m.InsideC == nil {
		add("inside temperature of a "+use, u.insideC, "°C", u.insideSource)
	}
	if m.FlowM3H != nil {
		return
	}
	if m.AirChangesPerH == nil {
		add("air changes of a "+use, u.airChanges, "1/h", u.airSource)
	}
	if m.InfiltrationPerH == nil {
		add("share of the rooms' air changes that is infiltration, where infiltration_per_h is not told", 1, "", allInfiltration)
	}
	if m.MinimumPerH == nil {
		what, usual := "least air changes of a room", defaultMinimum
		if m.Use != "" {
			what, usual = "least air changes of a "+use, u.minimum
		}
		add(what+", for the whole house; at most those that it was given", usual, "1/h", minimumSource)
	}
}

func useWords(use string) string {
	switch use {
	case "living", "dining":
		return use + " room"
	case "wc":
		return "WC"
	}
	return use
}

func (c *computing) assumeElements(add func(string, float64, string, string)) {
	inside := 0.0
	for i, r := range c.r.Rooms {
		for _, e := range r.Elements {
			if e.inside && e.Beyond == ToTemperature {
				inside += e.LossW
			}
		}
		for j := range c.h.Rooms[i].Elements {
			e := &c.h.Rooms[i].Elements[j]
			c.assumeMade(e, beyondSurface(c.beyond(e)), false, add)
		}
	}
	for i := range c.h.Unheated {
		for j := range c.h.Unheated[i].Elements {
			e := &c.h.Unheated[i].Elements[j]
			c.assumeMade(e, beyondSurface(c.beyond(e)), true, add)
		}
	}
	if inside != 0 {
		add("what goes to a temperature that another room of the house has is taken as given within the house", inside, "W", "own proposal; name the room as neighbour, or give the true temperature of what lies there")
	}
	if c.r.UncertaintyW != 0 {
		add("how far the U of old and solid walls may be off, ±, where the file says nothing else", 100*oldShare, "%", oldSource)
	}
}

// assumeMade tells the defaults within one element: slab, library, conductivities.
func (c *computing) assumeMade(e *Element, beyond far, ofSpace bool, add func(string, float64, string, string)) {
	b := c.h.build(*e)
	if g := b.Ground; g != nil {
		if g.WallM == 0 {
			add("thickness of the walls round the slab", defaultWallM, "m", "common practice, no source")
		}
		if g.SoilWMK == 0 {
			add("conductivity of the soil", defaultSoilWMK, "W/mK", "EN ISO 13370 table 7, from memory: clay or silt")
		}
		if c.h.AnnualMeanC == nil {
			add("temperature that floors on the ground lose to: outside", c.te, "°C", fullDifferenceSource)
		} else if ofSpace {
			add("temperature that floors of unheated spaces on the ground lose to: yearly mean outside", *c.h.AnnualMeanC, "°C", spaceGroundSource)
		} else {
			add("factor of what floors on the ground lose", groundFactor, "", groundFactorSource)
		}
	}
	own := false
	for _, k := range c.h.Constructions {
		own = own || k.Name == e.Construction
	}
	if k, ok := inLibrary(e.Construction); ok && !own {
		add("U of "+k.Name+" ("+k.Text+")", round3(b.uValue(beyond, false).UWM2K), "W/m²K", k.Source)
	}
	for _, l := range b.Layers {
		if m, ok := materials[l.Material]; ok && l.ConductivityWMK == 0 && (own || e.Construction == "") {
			add("conductivity of "+m.Name, m.ConductivityWMK, "W/mK", m.Source)
		}
	}
	for i := range e.Openings {
		c.assumeMade(&e.Openings[i], beyond, ofSpace, add)
	}
}

func round3(v float64) float64 { return math.Round(v*1000) / 1000 }

// oneSided warns where a room loses to a neighbour that does not tell of the wall: its gain is not counted.
func (c *computing) oneSided() {
	for i := range c.h.Rooms {
		m := &c.h.Rooms[i]
		for j := range m.Elements {
			e := &m.Elements[j]
			other := c.h.room(e.Neighbour)
			if other == nil || e.Neighbour == "" || other.insideC() == m.insideC() || other.adjoins(m.Name) {
				continue
			}
			c.r.Warnings = append(c.r.Warnings, Problem{Path: fmt.Sprintf("room[%d].element[%d].neighbour", i, j),
				Place: "room " + m.Name + ", " + e.Name, Warning: true,
				Msg: fmt.Sprintf("%s does not tell of this wall, so that what passes through it stands in one of the two rooms only", other.Name)})
		}
	}
}

func (r *Room) adjoins(name string) bool {
	for i := range r.Elements {
		if r.Elements[i].Neighbour == name {
			return true
		}
	}
	return false
}
