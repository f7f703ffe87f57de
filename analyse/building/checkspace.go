package building

import (
	"fmt"
	"slices"
)

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
		c.element(a.in(fmt.Sprintf("element[%d]", j), numbered("element", s.Elements[j].Name, j)), &s.Elements[j], ofSpace, s.Name)
	}
	a.twice(s.Elements)
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
				a := top.in(fmt.Sprintf("unheated[%d].element[%d]", i, j), "unheated "+nameOr(s.Name, i)+", "+numbered("element", s.Elements[j].Name, j))
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
