package house

import (
	"math"
	"testing"
	"time"
)

// Sunrise to sunset in London, from almanacs as remembered: 16 h 38 min at midsummer, 7 h 50 min at
// midwinter, 12 h 10 min at the equinox, where the formula's declination is some eight minutes of daylight late; 8 h 12 min on the thirteenth of January.
func TestDaylight(t *testing.T) {
	for _, c := range []struct {
		month       time.Month
		day         int
		hours, slip float64
	}{{time.June, 21, 16 + 38.0/60, 0.04}, {time.December, 21, 7 + 50.0/60, 0.04}, {time.March, 20, 12 + 10.0/60, 0.14}, {time.January, 13, 8.2, 0.06}} {
		rise, set := daylight(time.Date(2026, c.month, c.day, 0, 0, 0, 0, time.UTC).YearDay())
		near(t, c.month.String(), set-rise, c.hours, c.slip)
		near(t, "noon", (rise+set)/2, 12, 1e-9)
	}
}

// The sun shines by day only, most at noon; a day's sum is the half sine's 2/π of its length.
func TestSunThroughTheYear(t *testing.T) {
	for m := time.January; m <= time.December; m++ {
		w := newWeather(WeatherSpec{MeanC: 8}, time.Date(2026, m, 15, 0, 0, 0, 0, time.UTC), 1)
		rise, set := daylight(w.start.YearDay())
		sum, most, at := 0.0, 0.0, time.Duration(0)
		for now := time.Duration(0); now < day; now += time.Minute {
			w.outside(now)
			q := w.sun(now, 500)
			if hour := now.Hours(); q > 0 && (hour < rise || hour > set) {
				t.Fatalf("%v: sun at %v", m, now)
			}
			sum += q / 60
			if q > most {
				most, at = q, now
			}
		}
		near(t, "noon", at.Hours(), 12, 0.05)
		if most > 0.86*500 || most < 0.14*500 { // between the cloudiest and the clearest day
			t.Errorf("%v: %v W at noon", m, most)
		}
		near(t, "W·h", sum/most, 2/math.Pi*(set-rise), 0.02)
	}
}

// The daily wave is lowest at 6.5 h in winter and at sunrise in summer, and highest at 14.5 h always; the weeks keep
// mean and spread.
func TestWeatherThroughTheYear(t *testing.T) {
	for _, c := range []struct {
		month   time.Month
		coldest float64
	}{{time.January, 6.5}, {time.April, 5.1}, {time.June, 3.7}, {time.October, 6.4}} {
		const weeks = 8
		w := newWeather(WeatherSpec{MeanC: 9, DailyK: 4}, time.Date(2026, c.month, 15, 0, 0, 0, 0, time.UTC), 3)
		var byMinute [24 * 60]float64
		for d := range weeks * 7 {
			for m := range byMinute {
				byMinute[m] += w.outside(time.Duration(d)*day+time.Duration(m)*time.Minute) / (weeks * 7)
			}
			if d == 0 {
				near(t, "coldest hour of the first day", w.coldest, c.coldest, 0.25)
			}
		}
		low, high := 0, 0
		for m, v := range byMinute {
			if v < byMinute[low] {
				low = m
			}
			if v > byMinute[high] {
				high = m
			}
		}
		near(t, "warmest hour", float64(high)/60, 14.5, 1)
		near(t, "swing", byMinute[high]-byMinute[low], 8, 0.4)
		if hour := float64(low) / 60; hour > 7 {
			t.Errorf("%v: coldest at %v h", c.month, hour)
		}
	}
	// Slow wander: standard deviation and memory over half a year.
	w := newWeather(WeatherSpec{MeanC: 5, SynopticK: 3}, time.Date(2026, time.January, 1, 0, 0, 0, 0, time.UTC), 8)
	var n, sum, squares float64
	for now := time.Duration(0); now < 180*day; now += time.Hour {
		v := w.outside(now)
		n, sum, squares = n+1, sum+v, squares+v*v
	}
	near(t, "mean °C", sum/n, 5, 1.2)
	near(t, "standard deviation K", math.Sqrt(squares/n-sum*sum/n/n), 3, 0.7)
}
