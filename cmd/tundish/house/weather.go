package house

import (
	"math"
	"math/rand/v2"
	"time"
)

const (
	// weatherStep is the grid of the weather; in between it is interpolated.
	weatherStep = 10 * time.Minute
	// synopticTau is how long weather remembers itself, h. Own assumption.
	synopticTau = 36.0
	// coldestHour is when the daily wave is lowest, h after midnight, or at sunrise where that is earlier; warmestHour is
	// when it is highest. Own assumptions.
	coldestHour, warmestHour = 6.5, 14.5
	// snapHours is how far a cold snap reaches on either side of its coldest hour (Gaussian), h. Own assumption.
	snapHours = 5.0
	// gustK is the spread of the quick part of the temperature, K; gustTau its memory, h. Own assumptions.
	gustK, gustTau = 0.15, 0.7
)

// WeatherSpec is the weather outside.
type WeatherSpec struct {
	MeanC     float64 // the season's mean, °C
	SynopticK float64 // standard deviation of the slow wander, K
	DailyK    float64 // half of the usual difference between afternoon and sunrise, K
	Snaps     []ColdSnap
}

// ColdSnap is a cold night and morning: the temperature is drawn down to LowC around sunrise of Day.
type ColdSnap struct {
	Day  int     // day of the scenario, from 0
	LowC float64 // °C at the coldest
}

// weather makes the outside temperature as time goes, from its own random numbers.
type weather struct {
	spec       WeatherSpec
	start      time.Time
	rng        *rand.Rand
	slow, gust float64 // K
	cloud      float64 // share of the sun that gets through today
	coldest    float64 // hour of today
	day        int
	sunDay     int
	rise, set  float64       // of the sun on sunDay, h
	at         time.Duration // of next
	prev, next float64       // °C at both ends of the grid interval
}

func newWeather(spec WeatherSpec, start time.Time, seed uint64) *weather {
	w := &weather{spec: spec, start: start, rng: rand.New(rand.NewPCG(seed, streamWeather)), day: -1, sunDay: -1}
	w.slow = spec.SynopticK * w.rng.NormFloat64()
	w.prev = w.grid(0)
	w.next = w.prev
	return w
}

// outside is the temperature at t, °C. t never goes back.
func (w *weather) outside(t time.Duration) float64 {
	for t >= w.at {
		w.prev = w.next
		w.at += weatherStep
		w.next = w.grid(w.at)
	}
	f := 1 - (w.at-t).Seconds()/weatherStep.Seconds()
	return w.prev + (w.next-w.prev)*f
}

// grid makes the temperature of one grid point; it advances the wander.
func (w *weather) grid(t time.Duration) float64 {
	if d := int(t / day); d != w.day {
		w.day, w.cloud = d, 0.15+0.7*w.rng.Float64()
		rise, _ := daylight(w.start.Add(t).YearDay())
		w.coldest = min(coldestHour, rise)
	}
	w.slow = wander(w.rng, w.slow, w.spec.SynopticK, synopticTau)
	w.gust = wander(w.rng, w.gust, gustK, gustTau)
	hours := t.Hours()
	c := w.spec.MeanC + w.slow + w.gust - w.spec.DailyK*wave(hours, w.coldest)
	for _, s := range w.spec.Snaps {
		low := float64(24*s.Day) + w.coldest
		pull := math.Exp(-math.Pow((hours-low)/snapHours, 2))
		c += pull * (s.LowC + w.gust - c)
	}
	return c
}

// wave is the daily wave, 1 at the coldest hour, −1 at the warmest: two half cosines, the rise shorter than the fall.
func wave(hours, coldest float64) float64 {
	h, rise := math.Mod(hours-coldest+24, 24), warmestHour-coldest
	if h < rise {
		return math.Cos(math.Pi * h / rise)
	}
	return -math.Cos(math.Pi * (h - rise) / (24 - rise))
}

// wander is one step of a process with memory tau (h) and standard deviation sd (Ornstein–Uhlenbeck).
func wander(rng *rand.Rand, x, sd, tau float64) float64 {
	keep := math.Exp(-weatherStep.Hours() / tau)
	return keep*x + sd*math.Sqrt(1-keep*keep)*rng.NormFloat64()
}
