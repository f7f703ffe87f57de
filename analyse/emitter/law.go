package emitter

import "math"

// law is output by excess of whatever emitter: ratedW at an excess that each mean has its own of.
type law struct {
	ratedW, exponent  float64
	ratedArith, byLog float64 // K
	most              float64 // W that it may not pass
}

func (l law) output(c Condition, m Mean) float64 {
	m = m.of(c)
	rated := l.ratedArith
	if m == Logarithmic {
		rated = l.byLog
	}
	return min(l.most, l.ratedW*math.Pow(c.excess(m)/rated, l.exponent))
}

func (r Radiator) law() law {
	at, n := r.RatedAt, r.Exponent
	if at == (Condition{}) {
		at = EN442
	}
	if n == 0 {
		n = PanelExponent
	}
	return law{r.RatedW, n, at.excess(Arithmetic), at.excess(Logarithmic), math.Inf(1)}
}

func (u Underfloor) law() law {
	n, surface := u.Exponent, u.SurfaceExcessK
	if n == 0 {
		n = FloorExponent
	}
	if surface == 0 {
		surface = SurfaceExcessK
	}
	l := law{u.RatedW, n, u.RatedExcessK, u.RatedExcessK, u.AreaM2 * surfaceHeat(surface)}
	if u.KH != 0 {
		l.ratedW, l.ratedArith, l.byLog = u.KH*u.AreaM2, 1, 1
	}
	return l
}

// surfaceHeat is what a floor gives to a room that it is so many K warmer than, W/m²: the basic characteristic curve of EN
// 1264-2 (from memory), 100 W/m² at 9 K.
func surfaceHeat(k float64) float64 { return 8.92 * math.Pow(k, 1.1) }

// OutputW is the output at a condition, W.
func (r Radiator) OutputW(c Condition, m Mean) (float64, error) {
	if err := r.Check(); err != nil {
		return 0, err
	}
	if err := c.check(); err != nil {
		return 0, err
	}
	return r.law().output(c, m), nil
}

// OutputW is the output at a condition, W, no more than the surface's limit lets through.
func (u Underfloor) OutputW(c Condition, m Mean) (float64, error) {
	if err := u.Check(); err != nil {
		return 0, err
	}
	if err := c.check(); err != nil {
		return 0, err
	}
	return u.law().output(c, m), nil
}

// RatingForW is the EN 442 rating, W at 75/65/20, of a radiator that gives an output at a condition, by its exponent.
func RatingForW(outputW float64, c Condition, exponent float64, m Mean) (float64, error) {
	r := Radiator{RatedW: 1, Exponent: exponent}
	if !(outputW >= 0 && outputW <= mostW) {
		return 0, outOf("output", outputW, "W", 0, mostW)
	}
	each, err := r.OutputW(c, m)
	if err != nil {
		return 0, err
	}
	if each <= 0 {
		return 0, outOf("return temperature", c.ReturnC, "°C", c.RoomC, c.FlowC)
	}
	return outputW / each, nil
}

// laws are those of all emitters of a room.
func (r Room) laws() (out []law) {
	for _, x := range r.Radiators {
		out = append(out, x.law())
	}
	for _, x := range r.Underfloor {
		out = append(out, x.law())
	}
	return out
}

func outputOf(laws []law, c Condition, m Mean) (sum float64, limited bool) {
	for _, l := range laws {
		w := l.output(c, m)
		sum, limited = sum+w, limited || w == l.most
	}
	return sum, limited
}
