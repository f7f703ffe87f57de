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
	// coldestHour is when the daily wave is lowest, h after midnight: a little before sunrise in January; riseHours
	// later it is highest. Own assumptions.
	coldestHour, riseHours = 6.5, 8.0
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
	rng        *rand.Rand
	slow, gust float64 // K
	cloud      float64 // share of the sun that gets through today
	day        int
	at         time.Duration // of next
	prev, next float64       // °C at both ends of the grid interval
}

func newWeather(spec WeatherSpec, seed uint64) *weather {
	w := &weather{spec: spec, rng: rand.New(rand.NewPCG(seed, streamWeather)), day: -1}
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
	}
	w.slow = wander(w.rng, w.slow, w.spec.SynopticK, synopticTau)
	w.gust = wander(w.rng, w.gust, gustK, gustTau)
	hours := t.Hours()
	c := w.spec.MeanC + w.slow + w.gust - w.spec.DailyK*wave(hours)
	for _, s := range w.spec.Snaps {
		low := float64(24*s.Day) + coldestHour
		pull := math.Exp(-math.Pow((hours-low)/snapHours, 2))
		c += pull * (s.LowC + w.gust - c)
	}
	return c
}

// wave is the daily wave, 1 at the coldest hour, −1 at the warmest: two half cosines, the rise shorter than the fall.
func wave(hours float64) float64 {
	h := math.Mod(hours-coldestHour+24, 24)
	if h < riseHours {
		return math.Cos(math.Pi * h / riseHours)
	}
	return -math.Cos(math.Pi * (h - riseHours) / (24 - riseHours))
}

// wander is one step of a process with memory tau (h) and standard deviation sd (Ornstein–Uhlenbeck).
func wander(rng *rand.Rand, x, sd, tau float64) float64 {
	keep := math.Exp(-weatherStep.Hours() / tau)
	return keep*x + sd*math.Sqrt(1-keep*keep)*rng.NormFloat64()
}

// sun is the gain through the windows at t, W: a half sine from 8 to 16 h, the day's cloud taken off.
func (w *weather) sun(t time.Duration, clearW float64) float64 {
	h := (t % day).Hours()
	if h < 8 || h > 16 {
		return 0
	}
	return clearW * w.cloud * math.Sin(math.Pi*(h-8)/8)
}
