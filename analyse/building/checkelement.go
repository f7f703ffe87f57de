package building

import (
	"fmt"
	"slices"
)

// slabApart is by how much of itself a floor may be larger than its slab, for inside and outside measures. Own proposal.
const slabApart = 0.05

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
	if g := c.house.build(*e).Ground; g != nil && e.AreaM2 != nil && g.AreaM2 > 0 && *e.AreaM2 > g.AreaM2*(1+slabApart) {
		a.warn("area_m2", "%v m² are more than the whole slab, %v m², that they are a part of", *e.AreaM2, g.AreaM2)
	}
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
		c.element(a.in(fmt.Sprintf("opening[%d]", i), numbered("opening", o.Name, i)), o, ofElement, "")
		sound = sound && !slices.ContainsFunc(c.all[before:], func(p Problem) bool { return !p.Warning })
	}
	if sound && len(e.Openings) > 0 && e.netM2() < 0 {
		a.fail("opening", "openings of %.2f m² are larger than the %.2f m² that they lie in", *e.AreaM2-e.netM2(), *e.AreaM2)
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

// twice warns of elements of one name in one place: one may have been told twice.
func (a at) twice(elements []Element) {
	first := map[string]int{}
	for j := range elements {
		name := elements[j].Name
		if i, is := first[name]; is && name != "" {
			a.in(fmt.Sprintf("element[%d]", j), name).warn("name", "element %d has this name too, and both count; is one told twice?", i+1)
			continue
		}
		first[name] = j
	}
}
