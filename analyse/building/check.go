package building

import (
	"fmt"
	"math"
)

// mostParts bounds the rooms, spaces, constructions, elements and layers of each, so that a file that is no house does
// not run for ever. Own choice.
const mostParts = 2000

// Check finds what is wrong or doubtful, in the order of the house.
func (h *House) Check() []Problem {
	c := &checker{house: h}
	top := at{c: c}
	outside := top.need("outside_c", h.OutsideC, outsideBound, "the design outside temperature, °C")
	top.check("annual_mean_c", h.AnnualMeanC, meanBound)
	top.check("built", h.Built, yearBound)
	top.check("bridge_surcharge_w_m2k", h.BridgeSurchargeWM2K, surchargeBound)
	top.check("air_wh_m3k", h.AirWhM3K, airBound)
	c.reheat(top)
	c.names(top)
	if len(h.Rooms) == 0 {
		top.fail("room", "is missing: a house has at least one [[room]]")
	}
	if len(h.Rooms) > mostParts || len(h.Unheated) > mostParts || len(h.Constructions) > mostParts {
		top.fail("", "more than %d rooms, unheated spaces or constructions", mostParts)
		return c.all
	}
	for i, k := range h.Constructions {
		p := top.in(fmt.Sprintf("construction[%d]", i), "construction "+k.Name)
		if _, common := inLibrary(k.Name); common {
			p.warn("name", "%q stands in for the one of the library", k.Name)
		}
		p.build(k.Build, false)
	}
	for i := range h.Unheated {
		c.spaceOf(top, i)
	}
	c.circles(top)
	for i := range h.Rooms {
		c.roomOf(top, i, outside)
	}
	return c.all
}

func (c *checker) reheat(top at) {
	r := c.house.Reheat
	if r == nil {
		return
	}
	a := top.in("reheat", "reheat")
	if r.WM2 != nil {
		a.check("w_m2", r.WM2, wm2Bound)
		return
	}
	if r.perM2() == 0 || r.Hours != math.Trunc(r.Hours) || r.DropK != math.Trunc(r.DropK) {
		a.fail("", "hours is 1, 2, 3 or 4 and drop_k 1, 2 or 3 (EN 12831:2003 annex D.6); else give w_m2")
	}
}

// names must tell rooms, spaces and constructions apart.
func (c *checker) names(top at) {
	first := map[string]string{}
	see := func(kind string, i int, name string) {
		a := top.in(fmt.Sprintf("%s[%d]", kind, i), "")
		a.name = kind + " " + name
		if name == "" {
			a.name = fmt.Sprintf("%s %d", kind, i+1)
			a.fail("name", "is missing")
			return
		}
		class := "place"
		if kind == "construction" {
			class = kind
		}
		if other, twice := first[class+name]; twice {
			a.fail("name", "%q is the name of %s already; each has its own", name, other)
			return
		}
		first[class+name] = map[string]string{"construction": "a construction", "unheated": "an unheated space", "room": "a room"}[kind]
	}
	for i, k := range c.house.Constructions {
		see("construction", i, k.Name)
	}
	for i := range c.house.Unheated {
		see("unheated", i, c.house.Unheated[i].Name)
	}
	for i := range c.house.Rooms {
		see("room", i, c.house.Rooms[i].Name)
	}
}

func (c *checker) roomOf(top at, i int, outside bool) {
	r := &c.house.Rooms[i]
	a := top.in(fmt.Sprintf("room[%d]", i), "room "+nameOr(r.Name, i))
	if _, known := uses[r.Use]; r.Use != "" && !known {
		a.unknown("use", "use of a room", r.Use, Uses())
	}
	inside := a.check("inside_c", r.InsideC, insideBound)
	if r.InsideC == nil && r.Use == "" {
		a.fail("inside_c", "is missing; give it, or use = \"living\" or the like for a usual one")
		inside = false
	}
	if ti := r.insideC(); inside && outside && ti <= value(c.house.OutsideC, 0) {
		a.warn("inside_c", "%v °C is not above outside_c, %v °C: the room gains heat", ti, *c.house.OutsideC)
	}
	c.air(a, r)
	if c.house.Reheat != nil && r.floorM2() == 0 {
		a.fail("floor_area_m2", "is missing: reheat is told by the floor; give it, or length_m and width_m")
	}
	a.check("floor_area_m2", r.FloorAreaM2, areaBound)
	if len(r.Elements) == 0 {
		a.warn("element", "the room has no elements: only its air loses heat")
	}
	for j := range r.Elements {
		c.element(a.in(fmt.Sprintf("element[%d]", j), numbered("element", r.Elements[j].Name, j)), &r.Elements[j], ofRoom, r.Name)
	}
	a.twice(r.Elements)
	if len(r.Elements) > mostParts {
		a.fail("element", "more than %d", mostParts)
	}
}

// air checks what a room's ventilation follows from.
func (c *checker) air(a at, r *Room) {
	a.check("volume_m3", r.VolumeM3, volumeBound)
	a.check("length_m", r.LengthM, sizeBound)
	a.check("width_m", r.WidthM, sizeBound)
	a.check("height_m", r.HeightM, heightBound)
	a.check("air_changes_per_h", r.AirChangesPerH, changesBound)
	a.check("flow_m3_h", r.FlowM3H, flowBound)
	a.check("infiltration_per_h", r.InfiltrationPerH, leakBound)
	a.check("minimum_per_h", r.MinimumPerH, leakBound)
	sized := r.LengthM != nil && r.WidthM != nil && r.HeightM != nil
	some := r.LengthM != nil || r.WidthM != nil || r.HeightM != nil
	switch {
	case r.VolumeM3 == nil && some && !sized:
		a.fail("volume_m3", "is missing; give it, or all three of length_m, width_m, height_m")
	case r.VolumeM3 == nil && !sized && r.FlowM3H == nil:
		a.fail("volume_m3", "is missing; give it, or length_m, width_m and height_m")
	case r.VolumeM3 != nil && sized:
		const apart = 0.02 // own proposal: what rounding to a decimal makes of a small room
		if v := *r.LengthM * *r.WidthM * *r.HeightM; math.Abs(v-*r.VolumeM3) > apart*math.Abs(v) {
			a.fail("volume_m3", "%v m³, but length × width × height is %.1f m³; give one of them", *r.VolumeM3, v)
		}
	}
	switch {
	case r.AirChangesPerH != nil && r.FlowM3H != nil:
		a.fail("flow_m3_h", "give either air_changes_per_h or flow_m3_h, not both")
	case r.AirChangesPerH == nil && r.FlowM3H == nil && r.Use == "":
		a.fail("air_changes_per_h", "is missing; give it, or flow_m3_h, or use = \"living\" or the like for a usual one")
	}
	if r.FlowM3H != nil && (r.InfiltrationPerH != nil || r.MinimumPerH != nil) {
		a.fail("flow_m3_h", "counts in full; infiltration_per_h and minimum_per_h are of rooms with air_changes_per_h")
	}
}

func nameOr(name string, i int) string {
	if name == "" {
		return fmt.Sprint(i + 1)
	}
	return name
}

// numbered is a name, or "element 3" of what has none.
func numbered(kind, name string, i int) string {
	if name == "" {
		return fmt.Sprintf("%s %d", kind, i+1)
	}
	return name
}
