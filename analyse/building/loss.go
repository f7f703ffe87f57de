package building

import (
	"fmt"
	"math"
	"slices"
)

// Compute gives a house's design heat loss. A house with anything wrong is not computed: the error is [Problems], and
// what is only doubtful stands in the result's warnings.
func Compute(h *House) (*Result, error) {
	var wrong Problems
	r := &Result{House: h.Name}
	for _, p := range h.Check() {
		if p.Warning {
			r.Warnings = append(r.Warnings, p)
		} else {
			wrong = append(wrong, p)
		}
	}
	if len(wrong) > 0 {
		return nil, wrong
	}
	c := &computing{h: h, r: r, te: *h.OutsideC, air: value(h.AirWhM3K, defaultAir)}
	r.OutsideC = c.te
	c.balance()
	for i := range h.Rooms {
		c.room(i)
	}
	c.whole()
	c.assume()
	c.oneSided()
	return r, nil
}

type computing struct {
	h      *House
	r      *Result
	te     float64
	air    float64
	spaces []SpaceState
}

// beyond says what lies on the other side of an element.
func (c *computing) beyond(e *Element) Beyond {
	switch {
	case e.BU != nil, e.Neighbour != "" && c.h.space(e.Neighbour) >= 0:
		return ToUnheated
	case e.Neighbour != "":
		return ToRoom
	case e.OtherSideC != nil && *e.OtherSideC != c.te:
		return ToTemperature
	case c.h.build(*e).Ground != nil:
		return ToGround
	}
	return ToOutside
}

// other gives the temperature on the other side of an element of a room at ti, °C.
func (c *computing) other(e *Element, to Beyond, ti float64) float64 {
	switch to {
	case ToUnheated:
		b := value(e.BU, 0)
		if e.BU == nil {
			s := c.spaces[c.h.space(e.Neighbour)]
			if s.Balanced {
				return s.TempC
			}
			b = s.BU
		}
		return ti - b*(ti-c.te)
	case ToRoom:
		return c.h.room(e.Neighbour).insideC()
	case ToTemperature:
		return *e.OtherSideC
	case ToGround:
		if m := c.h.AnnualMeanC; m != nil {
			return ti - groundFactor*(ti-*m)
		}
	}
	return c.te
}

func (c *computing) room(i int) {
	m := &c.h.Rooms[i]
	ti := m.insideC()
	out := RoomLoss{Name: m.Name, InsideC: ti, VolumeM3: m.volumeM3(), FloorM2: m.floorM2(), AirM3H: m.airM3H()}
	for j := range m.Elements {
		e := &m.Elements[j]
		to := c.beyond(e)
		other := c.other(e, to, ti)
		out.Elements = append(out.Elements, c.lose(e, e, to, ti, other))
		for k := range e.Openings {
			o := c.lose(&e.Openings[k], e, to, ti, other)
			o.In = e.Name
			out.Elements = append(out.Elements, o)
		}
	}
	for _, e := range out.Elements {
		out.FabricW += e.LossW
		out.BridgesW += e.BridgesW
		out.WPerK += e.outwardWK
		out.UncertaintyW += e.UncertaintyW
	}
	airWK := c.air * out.AirM3H
	out.VentilationW = airWK * (ti - c.te)
	out.WPerK += airWK
	out.TotalW = out.FabricW + out.VentilationW
	if c.h.Reheat != nil {
		out.ReheatW = c.h.Reheat.perM2() * out.FloorM2
	}
	r := c.r
	r.Rooms = append(r.Rooms, out)
	r.FabricW += out.FabricW
	r.VentilationW += out.VentilationW
	r.TotalW += out.TotalW
	r.BridgesW += out.BridgesW
	r.WPerK += out.WPerK
	r.ReheatW += out.ReheatW
	r.UncertaintyW += out.UncertaintyW
}

// lose computes one element or opening; side is the element whose other side it has.
func (c *computing) lose(e, side *Element, to Beyond, ti, other float64) ElementLoss {
	b := c.h.build(*e)
	u := b.uValue(beyondSurface(to), other > ti)
	out := ElementLoss{Name: e.Name, Beyond: to, U: u, UWM2K: u.UWM2K, AreaM2: e.netM2(), OtherC: other}
	outward := to.outward()
	bridges := c.bridgesWK(e, to)
	out.BridgesW = bridges * (ti - other)
	out.LossW = u.UWM2K*out.AreaM2*(ti-other) + out.BridgesW
	if outward && ti != c.te {
		out.outwardWK = out.LossW / (ti - c.te)
	}
	out.inside = to == ToRoom || to == ToTemperature && c.isRoomC(other, ti)
	if share := c.doubt(b, e, side, to); share > 0 {
		out.UncertaintyW = share * math.Abs(u.UWM2K*out.AreaM2*(ti-other))
		c.r.UncertainU = appendNew(c.r.UncertainU, fmt.Sprintf("%s: U %.2f ± %.0f %%", e.Name, u.UWM2K, share*100))
	}
	return out
}

// bridgesWK are the thermal bridges of an element or opening, W/K: ψ·l, and the surcharge on what loses outward.
func (c *computing) bridgesWK(e *Element, to Beyond) float64 {
	h := value(e.BridgeWMK, 0) * value(e.BridgeM, 0)
	if to.outward() {
		h += value(e.BridgeSurchargeWM2K, value(c.h.BridgeSurchargeWM2K, 0)) * e.netM2()
	}
	return h
}

// outward: what goes there leaves the house in the end.
func (b Beyond) outward() bool { return b == ToOutside || b == ToGround || b == ToUnheated }

func beyondSurface(to Beyond) far {
	if to == ToOutside || to == ToGround {
		return farOutside
	}
	return farInside
}

// doubt is the share by which an element's U may be off; 0: not told.
func (c *computing) doubt(b Build, e, side *Element, to Beyond) float64 {
	switch {
	case b.UncertaintyPercent != nil:
		return *b.UncertaintyPercent / 100
	case to == ToOutside && e == side && (b.SolidWall || b.Surface == Wall && value(c.h.Built, oldBefore) < oldBefore):
		return oldShare
	}
	return 0
}

// isRoomC tells whether a stated temperature is that of another room of the house, which then lies there.
func (c *computing) isRoomC(other, ti float64) bool {
	return slices.ContainsFunc(c.h.Rooms, func(r Room) bool { t := r.insideC(); return t == other && t != ti })
}

// airM3H is what the room's air is exchanged by, m³/h.
func (r *Room) airM3H() float64 {
	if r.FlowM3H != nil {
		return *r.FlowM3H
	}
	return max(r.changes(), value(r.InfiltrationPerH, 0), value(r.MinimumPerH, 0)) * r.volumeM3()
}

// changes are the air changes that are told, or usual, 1/h.
func (r *Room) changes() float64 { return value(r.AirChangesPerH, uses[r.Use].airChanges) }

// minimum is what hygiene needs, 1/h: told, or usual, but not more than the room was given.
func (r *Room) minimum() float64 {
	usual := defaultMinimum
	if u, ok := uses[r.Use]; ok {
		usual = u.minimum
	}
	return value(r.MinimumPerH, min(usual, r.changes()))
}

// whole sums the house as one.
func (c *computing) whole() {
	w := &c.r.Whole
	for i, out := range c.r.Rooms {
		for _, e := range out.Elements {
			if e.inside {
				w.InsideW += e.LossW
			} else {
				w.FabricW += e.LossW
			}
		}
		m := &c.h.Rooms[i]
		perM3 := c.air * (out.InsideC - c.te)
		if m.FlowM3H != nil {
			w.FlowW += perM3 * *m.FlowM3H
			continue
		}
		w.InfiltrationW += perM3 * out.VolumeM3 * value(m.InfiltrationPerH, m.changes())
		w.MinimumW += perM3 * out.VolumeM3 * m.minimum()
	}
	w.VentilationW = max(infiltrationShare*w.InfiltrationW, w.MinimumW) + w.FlowW
	w.TotalW = w.FabricW + w.VentilationW
}

func appendNew[T comparable](list []T, v T) []T {
	if slices.Contains(list, v) {
		return list
	}
	return append(list, v)
}
