package pressure

import (
	"math"

	"tundish/analyse/water"
)

// gone is how the vessel's gas became less, by the slope of pressure on temperature.
type gone struct {
	grown, error float64 // of the slope over the record, with what pressure makes of it taken off; ± at 95 %
	gas          float64 // what it would be were all the fall the gas's
	known        bool
}

// goneGas parts gas that leaves the vessel from water that leaves the system. By Boyle's law pressure rises per kelvin by
// (p + 1 bar)² · expansion · content / gas, with the gas's amount in bar · l: where only water goes or comes, slope by
// (p + 1 bar)² and expansion stays the same; where gas goes, it grows as the amount shrinks.
func goneGas(s series, f trend) (g gone) {
	days := slopes(s)
	var w, t, y float64
	type point struct{ w, t, y float64 }
	var points []point
	for _, d := range days {
		abs := d.bar + airBar
		if d.slope <= d.error || abs <= 0 || d.error <= 0 {
			continue
		}
		sd := d.error / 2 / d.slope
		x := point{1 / (sd * sd), (d.from + d.to) / 2, math.Log(d.slope / water.ExpansionE4PerK(d.water) / (abs * abs))}
		points = append(points, x)
		w, t, y = w+x.w, t+x.w*x.t, y+x.w*x.y
	}
	const least = 4 // days
	if len(points) < least {
		return g
	}
	t, y = t/w, y/w
	var tt, ty, rest float64
	for _, x := range points {
		tt += x.w * (x.t - t) * (x.t - t)
		ty += x.w * (x.t - t) * (x.y - y)
	}
	if tt <= 0 {
		return g
	}
	perDay := ty / tt
	for _, x := range points {
		e := x.y - y - perDay*(x.t-t)
		rest += x.w * e * e
	}
	n := float64(len(points))
	scatter := rest / (n - 2) // 1: as the days' own errors say
	if len(points) < manyDays {
		scatter = max(1, scatter) // a few days may lie on a line by chance
	}
	sd := math.Sqrt(max(0.1, scatter) / tt)
	mean := 0.0
	for _, c := range s.cells {
		mean += c.bar / float64(len(s.cells))
	}
	half := f.perDay * s.span / 2
	if mean+airBar+half <= 0 || mean+airBar-half <= 0 {
		return g
	}
	g.grown, g.error = perDay*s.span, student(len(points)-2)*sd*s.span
	g.gas = math.Log((mean + airBar - half) / (mean + airBar + half))
	g.known = g.gas > 0
	return g
}
