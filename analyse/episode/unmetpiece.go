package episode

import "time"

// unmetFound is a stretch as one piece found it. Stretches may last for days: they are parted at a piece's borders, where
// their sums add up again.
type unmetFound struct {
	Unmet
	Joins, On bool // it goes on from before the piece, and after it
}

// least is the shortest stretch that is kept.
func (k UnmetKind) least() time.Duration {
	if k == UnmetCold {
		return unmetCold
	}
	return unmetIdle
}

func (u unmetFound) least() time.Duration { return u.Kind.least() }

// cross parts what is under way at a border of the piece: at its beginning what was before is forgotten, at its end what
// it found is filed. now is the first moment after the border at which anything was read; what is due for the time since
// the last look before is judged by the next look, and so belongs to the piece that begins.
func (w *unmetWatch) cross(at, now time.Time, begins bool) {
	if !w.prev.IsZero() && since(now, w.prev) > freshFor { // nobody looked
		w.stop(true)
	}
	if begins {
		w.found = nil
	}
	for _, c := range []*unmetClock{&w.idle, &w.cold, &w.other} {
		if !c.on {
			continue
		}
		if !begins {
			c.to = at
			w.file(c, true, true)
		}
		*c = unmetClock{kind: c.kind, on: true, from: at, to: at, ceiling: 100, source: c.source, own: c.own, blind: c.blind, joins: true}
	}
}

// unmet takes the stretches of a part.
func (j *joiner) unmet(b *Builder, p *Part) {
	before := len(b.unmet.found)
	for _, u := range p.Unmet {
		joined := false
		for i := before - 1; i >= 0 && u.Joins && !joined; i-- {
			g := &b.unmet.found[i]
			if joined = g.On && g.To.Equal(p.Piece.From) && g.Kind == u.Kind && g.Source == u.Source && g.Own == u.Own && g.Blind == u.Blind; joined {
				g.join(u)
			}
		}
		if !joined {
			b.unmet.found = append(b.unmet.found, u)
		}
	}
}

// join goes on with u.
func (g *unmetFound) join(u unmetFound) {
	weigh := func(x, y float64, dx, dy time.Duration) float64 {
		if dx+dy <= 0 {
			return y
		}
		return (x*dx.Seconds() + y*dy.Seconds()) / (dx + dy).Seconds()
	}
	either := func(x *float64, seen *bool, y float64, ySeen bool, dx, dy time.Duration) {
		switch {
		case *seen && ySeen:
			*x = weigh(*x, y, dx, dy)
		case ySeen:
			*x, *seen = y, true
		}
	}
	if g.Asked < time.Hour {
		g.FlowFirst = weigh(g.Flow, u.FlowFirst, g.Asked, min(u.Asked, time.Hour-g.Asked))
	}
	if u.Asked >= 30*time.Minute {
		g.FlowLast = u.FlowLast
	}
	g.Setpoint, g.Flow = weigh(g.Setpoint, u.Setpoint, g.Asked, u.Asked), weigh(g.Flow, u.Flow, g.Asked, u.Asked)
	either(&g.Outside, &g.OutSeen, u.Outside, u.OutSeen, g.Asked, u.Asked)
	either(&g.Delta, &g.DeltaSeen, u.Delta, u.DeltaSeen, g.Fired, u.Fired)
	either(&g.Modulation, &g.ModSeen, u.Modulation, u.ModSeen, g.Fired, u.Fired)
	if g.Apart == [2]float64{} {
		g.Apart = u.Apart
	} else if u.Apart != [2]float64{} {
		g.Apart = [2]float64{min(g.Apart[0], u.Apart[0]), max(g.Apart[1], u.Apart[1])}
	}
	g.Ceiling = min(g.Ceiling, u.Ceiling)
	g.Asked, g.Fired, g.Tries, g.PumpOff = g.Asked+u.Asked, g.Fired+u.Fired, g.Tries+u.Tries, g.PumpOff+u.PumpOff
	g.To, g.Open, g.On = u.To, u.Open, u.On
}
