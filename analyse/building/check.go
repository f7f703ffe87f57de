package building

import (
	"fmt"
	"math"
	"slices"
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
			a.fail("name", "%q is the name of a %s already; each has its own", name, other)
			return
		}
		first[class+name] = kind
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
		c.element(a.in(fmt.Sprintf("element[%d]", j), nameOr(r.Elements[j].Name, j)), &r.Elements[j], ofRoom, r.Name)
	}
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

// owner is whose element is checked.
type owner uint8

const (
	ofRoom owner = iota
	ofSpace
	ofElement // an opening
)

func (c *checker) element(a at, e *Element, of owner, owner string) {
	if e.Name == "" {
		a.fail("name", "is missing")
	}
	sound := a.need("area_m2", e.AreaM2, areaBound, "give it, or width_m and height_m")
	a.builtOf(e, of == ofElement)
	a.check("bridge_w_mk", e.BridgeWMK, psiBound)
	a.check("bridge_m", e.BridgeM, lengthBound)
	a.check("bridge_surcharge_w_m2k", e.BridgeSurchargeWM2K, surchargeBound)
	if (e.BridgeWMK == nil) != (e.BridgeM == nil) {
		a.fail("bridge_w_mk", "bridge_w_mk and bridge_m belong together: ψ × length")
	}
	if of == ofElement {
		if e.OtherSideC != nil || e.Neighbour != "" || e.BU != nil || len(e.Openings) > 0 {
			a.fail("", "an opening has the other side of its element, and no openings of its own")
		}
		return
	}
	c.otherSide(a, e, of, owner)
	if len(e.Openings) > 0 && c.house.build(*e).Ground != nil {
		a.fail("opening", "a floor on the ground has no openings")
	}
	if len(e.Openings) > mostParts {
		a.fail("opening", "more than %d", mostParts)
		return
	}
	for i := range e.Openings {
		o := &e.Openings[i]
		before := len(c.all)
		c.element(a.in(fmt.Sprintf("opening[%d]", i), nameOr(o.Name, i)), o, ofElement, "")
		sound = sound && !slices.ContainsFunc(c.all[before:], func(p Problem) bool { return !p.Warning })
	}
	if sound && len(e.Openings) > 0 && e.netM2() < 0 {
		a.fail("opening", "openings of %.2f m² are larger than the %v m² that they lie in", *e.AreaM2-e.netM2(), *e.AreaM2)
	}
}

// otherSide checks what lies beyond an element.
func (c *checker) otherSide(a at, e *Element, of owner, owner string) {
	a.check("other_side_c", e.OtherSideC, otherBound)
	a.check("b_u", e.BU, shareBound)
	told := 0
	for _, is := range []bool{e.OtherSideC != nil, e.Neighbour != "", e.BU != nil, c.house.build(*e).Ground != nil} {
		if is {
			told++
		}
	}
	if told > 1 {
		a.fail("", "has more than one other side: give one of other_side_c, neighbour, b_u, ground")
		return
	}
	if of == ofSpace && e.BU != nil {
		a.fail("b_u", "is of an element of a room; a space has its own")
	}
	if e.Neighbour == "" {
		return
	}
	space := c.house.space(e.Neighbour) >= 0
	switch other := c.house.room(e.Neighbour); {
	case e.Neighbour == owner:
		a.fail("neighbour", "%q is the neighbour of itself", owner)
	case other == nil && !space:
		a.unknown("neighbour", "room or unheated space of this house", e.Neighbour, c.places(owner))
	case of == ofSpace && other != nil:
		a.fail("neighbour", "%q is a room: what lies between a room and an unheated space is told at the room", e.Neighbour)
	case of == ofSpace && !c.house.Unheated[c.house.space(e.Neighbour)].balanced():
		a.fail("neighbour", "%q has a stated b_u, so that its temperature depends on the room beside it; give it elements, or give this space a b_u", e.Neighbour)
	}
}

func (c *checker) places(but string) []string {
	var out []string
	for i := range c.house.Rooms {
		out = append(out, c.house.Rooms[i].Name)
	}
	for i := range c.house.Unheated {
		out = append(out, c.house.Unheated[i].Name)
	}
	return slices.DeleteFunc(out, func(n string) bool { return n == but || n == "" })
}

// balanced: its temperature follows from its own balance.
func (s *Space) balanced() bool { return s.BU == nil && s.Kind == "" }

func (c *checker) spaceOf(top at, i int) {
	s := &c.house.Unheated[i]
	a := top.in(fmt.Sprintf("unheated[%d]", i), "unheated "+nameOr(s.Name, i))
	a.check("b_u", s.BU, shareBound)
	a.check("volume_m3", s.VolumeM3, volumeBound)
	a.check("air_changes_per_h", s.AirChangesPerH, changesBound)
	if _, known := spaceKinds[s.Kind]; s.Kind != "" && !known {
		a.unknown("kind", "kind of unheated space", s.Kind, SpaceKinds())
	}
	own := len(s.Elements) > 0 || s.VolumeM3 != nil || s.AirChangesPerH != nil
	switch {
	case s.BU != nil && s.Kind != "", own && !s.balanced():
		a.fail("", "give one of b_u, kind, or elements and air for its own balance")
	case !own && s.balanced():
		a.fail("", "how cold it gets is missing: b_u, or kind, or its elements to outside for its own balance")
	case own && (s.VolumeM3 == nil) != (s.AirChangesPerH == nil):
		a.fail("volume_m3", "volume_m3 and air_changes_per_h belong together")
	}
	if len(s.Elements) > mostParts {
		a.fail("element", "more than %d", mostParts)
		return
	}
	for j := range s.Elements {
		c.element(a.in(fmt.Sprintf("element[%d]", j), nameOr(s.Elements[j].Name, j)), &s.Elements[j], ofSpace, s.Name)
	}
}

// circles finds unheated spaces that are each other's neighbours in a circle: what lies between two is told once, so that
// they can always be told without one.
func (c *checker) circles(top at) {
	state := make([]uint8, len(c.house.Unheated)) // 1: on the way, 2: done
	var visit func(i int, way []string)
	visit = func(i int, way []string) {
		s := &c.house.Unheated[i]
		state[i] = 1
		way = append(way, s.Name)
		for j := range s.Elements {
			n := c.house.space(s.Elements[j].Neighbour)
			if n < 0 || n == i || s.Elements[j].Neighbour == "" {
				continue
			}
			if state[n] == 1 {
				from := slices.Index(way, c.house.Unheated[n].Name)
				a := top.in(fmt.Sprintf("unheated[%d].element[%d]", i, j), "unheated "+nameOr(s.Name, i)+", "+nameOr(s.Elements[j].Name, j))
				a.fail("neighbour", "a circle of neighbours: %s; tell what lies between two unheated spaces at one of them only", circle(way[max(from, 0):], c.house.Unheated[n].Name))
			} else if state[n] == 0 {
				visit(n, slices.Clone(way))
			}
		}
		state[i] = 2
	}
	for i := range c.house.Unheated {
		if state[i] == 0 {
			visit(i, nil)
		}
	}
}

func circle(way []string, back string) string {
	text := ""
	for _, n := range way {
		text += n + " → "
	}
	return text + back
}
