package building

import "math"

// balance finds how cold the unheated spaces get: by their stated or usual b_u, else so that as much heat comes in from
// the rooms and spaces beside them as goes on to outside.
func (c *computing) balance() {
	n := len(c.h.Unheated)
	c.spaces = make([]SpaceState, n)
	// heat[i] is Σ H·(t_other − t_i) = 0 as a row: H of the other spaces, of the space itself, and on the right of all
	// temperatures that are known.
	heat := make([][]float64, n)
	for i := range heat {
		heat[i] = make([]float64, n+1)
	}
	known := func(i int, h, t float64) {
		heat[i][i] += h
		heat[i][n] += h * t
	}
	for i := range c.h.Unheated {
		s := &c.h.Unheated[i]
		c.spaces[i] = SpaceState{Name: s.Name, BU: value(s.BU, spaceKinds[s.Kind]), Balanced: s.balanced(), TempC: c.te}
		known(i, c.air*value(s.VolumeM3, 0)*value(s.AirChangesPerH, 0), c.te)
		for j := range s.Elements {
			e := &s.Elements[j]
			h, to := c.conductance(e), c.h.space(e.Neighbour)
			if e.Neighbour == "" {
				known(i, h, c.beyondSpace(e))
				continue
			}
			heat[i][i] += h
			heat[i][to] -= h
			heat[to][to] += h
			heat[to][i] -= h
		}
	}
	for k := range c.h.Rooms {
		m := &c.h.Rooms[k]
		for j := range m.Elements {
			if i := c.h.space(m.Elements[j].Neighbour); i >= 0 && m.Elements[j].Neighbour != "" {
				known(i, c.conductance(&m.Elements[j]), m.insideC())
			}
		}
	}
	for i, t := range solve(heat) {
		if c.spaces[i].Balanced && !math.IsNaN(t) {
			c.spaces[i].TempC = t
		}
	}
	c.r.Spaces = c.spaces
}

// conductance of an element of or to a space with its openings and bridges, W/K: the same that [computing.lose] takes.
func (c *computing) conductance(e *Element) float64 {
	to := c.beyond(e)
	h := c.partWK(e, to)
	for i := range e.Openings {
		h += c.partWK(&e.Openings[i], to)
	}
	return max(0, h)
}

func (c *computing) partWK(e *Element, to Beyond) float64 {
	return c.h.build(*e).uValue(beyondSurface(to), false).UWM2K*e.netM2() + c.bridgesWK(e, to)
}

// beyondSpace is the temperature beyond a space's element, °C: stated, the yearly mean under it, or outside.
func (c *computing) beyondSpace(e *Element) float64 {
	if e.OtherSideC != nil {
		return *e.OtherSideC
	}
	if c.h.build(*e).Ground != nil {
		return value(c.h.AnnualMeanC, c.te)
	}
	return c.te
}

// solve finds x of A·x = b by elimination with pivots; rows are A with b behind. A row without anything gives NaN.
func solve(rows [][]float64) []float64 {
	n := len(rows)
	x := make([]float64, n)
	for k := range n {
		best := k
		for i := k + 1; i < n; i++ {
			if math.Abs(rows[i][k]) > math.Abs(rows[best][k]) {
				best = i
			}
		}
		rows[k], rows[best] = rows[best], rows[k]
		if math.Abs(rows[k][k]) < 1e-12 {
			continue
		}
		for i := k + 1; i < n; i++ {
			f := rows[i][k] / rows[k][k]
			for j := k; j <= n && f != 0; j++ {
				rows[i][j] -= f * rows[k][j]
			}
		}
	}
	for k := n - 1; k >= 0; k-- {
		if math.Abs(rows[k][k]) < 1e-12 {
			x[k] = math.NaN()
			continue
		}
		sum := rows[k][n]
		for j := k + 1; j < n; j++ {
			if rows[k][j] != 0 {
				sum -= rows[k][j] * x[j]
			}
		}
		x[k] = sum / rows[k][k]
	}
	return x
}
