package opentherm

import (
	"slices"

	"tundish/decode"
)

// Asked is how often one data id was asked for, and how often the slave gave what was asked.
type Asked struct {
	ID              uint8
	Name            string
	Asked, Answered uint64
	Points          []decode.Point // what it gives readings of
}

// Asked tells of each data id that the master asked for and that gives readings, in the order of the ids.
func (d *Decoder) Asked() []Asked {
	var out []Asked
	for id, n := range d.asked {
		r := &d.rules[id]
		if n == 0 || r.n == 0 && id != 0 {
			continue
		}
		a := Asked{ID: uint8(id), Name: Lookup(uint8(id)).Name, Asked: n, Answered: d.given[id]}
		if id == 0 {
			a.Points = []decode.Point{decode.Flame, decode.Fault, decode.HeatActive, decode.HotWaterActive}
		}
		for _, m := range r.rules[:r.n] {
			if !slices.Contains(a.Points, m.point) {
				a.Points = append(a.Points, m.point)
			}
		}
		out = append(out, a)
	}
	return out
}
