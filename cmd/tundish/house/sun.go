package house

import (
	"math"
	"time"
)

const (
	// latitude is where the houses stand, ° north. Own assumption: the south of England.
	latitude = 51.5
	// tilt is the angle of the earth's axis, °; Cooper's formula for the sun's declination (1969), from memory.
	tilt = 23.45
	// horizon is the sun's height at which it rises and sets, °: half its disc and the air's refraction. Convention of
	// almanacs, from memory.
	horizon = -0.833
)

// daylight is the time of sunrise and sunset on a day of the year (1 is the first of January), h of local solar time.
func daylight(yearDay int) (rise, set float64) {
	const rad = math.Pi / 180
	declination := tilt * rad * math.Sin(2*math.Pi*float64(284+yearDay)/365)
	c := (math.Sin(horizon*rad) - math.Sin(latitude*rad)*math.Sin(declination)) / (math.Cos(latitude*rad) * math.Cos(declination))
	half := math.Acos(min(max(c, -1), 1)) / rad / 15
	return 12 - half, 12 + half
}

// sun is the gain through the windows at t, W: a half sine from sunrise to sunset, the day's cloud taken off. Windows
// stand upright, so noon of a clear day gives about the same whatever the season. Own assumption.
func (w *weather) sun(t time.Duration, clearW float64) float64 {
	if d := int(t / day); d != w.sunDay {
		w.sunDay = d
		w.rise, w.set = daylight(w.start.Add(t).YearDay())
	}
	h := (t % day).Hours()
	if h < w.rise || h > w.set {
		return 0
	}
	return clearW * w.cloud * math.Sin(math.Pi*(h-w.rise)/(w.set-w.rise))
}
