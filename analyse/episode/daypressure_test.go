package episode_test

import (
	"testing"
	"time"

	"tundish/analyse/episode"
	"tundish/decode"
)

// system is what a boiler tells of itself at a moment.
type system struct {
	flame, pump       bool
	flow, back, press float64
}

// pressureDays tells a builder what the system does, by minutes, every so many seconds, and gives the facts by day.
func pressureDays(v func(minute float64) system, every, hours int) []episode.PressureDay {
	from := time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)
	to := from.Add(time.Duration(hours) * time.Hour)
	b := episode.NewBuilder(episode.Config{Zone: time.UTC, Runs: []episode.Run{{ID: 1, From: from, To: to, Sources: []string{"boiler"}}}})
	bit := map[bool]float64{true: 1}
	for at := from; at.Before(to); at = at.Add(time.Duration(every) * time.Second) {
		s := v(at.Sub(from).Minutes())
		b.Record("boiler", 1, at, "")
		for _, x := range []struct {
			point decode.Point
			value float64
		}{{decode.Flame, bit[s.flame]}, {decode.Pump, bit[s.pump]}, {decode.Flow, s.flow}, {decode.Return, s.back}, {decode.Pressure, s.press}} {
			b.Reading(decode.Reading{Time: at, Series: decode.Series{Source: "boiler", Point: x.point}, Value: x.value, Quality: decode.Good})
		}
	}
	var out []episode.PressureDay
	for _, d := range b.Finish(from, to).Days {
		out = append(out, d.Pressure)
	}
	return out
}

// warmUp is a system of 30 °C that is warmed to 60 °C from 6:00 on within half an hour and runs on until 18:00, at so
// many bar a kelvin of the water's true mean; flow and return show the mean so many minutes late.
func warmUp(perK, late float64) func(minute float64) system {
	water := func(minute float64) float64 { return 30 + 30*min(max((minute-360)/30, 0), 1) }
	return func(minute float64) system {
		on := minute >= 360 && minute < 1080
		s := system{flame: on, pump: on, press: 1.2 + perK*(water(minute)-30)}
		c, spread := water(minute-late), 0.0
		if on {
			spread = 6
		}
		s.flow, s.back = c+spread, c-spread
		return s
	}
}

// Water that is warmed is no water let in, however steep the vessel: 0.013 bar/K is a sound one's, 0.1 bar/K and more a
// failed one's (Boyle's law).
func TestPressureWarmUpIsNoStep(t *testing.T) {
	for _, perK := range []float64{0.013, 0.04, 0.1, 0.2} {
		for _, late := range []float64{0, 5} {
			for _, every := range []int{5, 60, 130} {
				for _, d := range pressureDays(warmUp(perK, late), every, 24) {
					if len(d.Steps) != 0 {
						t.Errorf("%.3f bar/K, %.0f min late, every %d s: %+v", perK, late, every, d.Steps)
					}
				}
			}
		}
	}
}

// Water let in shows within minutes at water that is not being warmed, by night and by day.
func TestPressureSteps(t *testing.T) {
	for _, c := range []struct {
		name      string
		at, lasts float64 // minutes
		by        float64 // bar
		steps     int
	}{
		{"at night", 200, 1e9, 0.3, 1},
		{"while the heating runs steadily", 600, 1e9, 0.3, 1},
		{"let out while it runs", 600, 1e9, -0.3, 1},
		{"one reading alone is noise", 600, 0.4, 0.3, 0},
		{"too little", 600, 1e9, 0.08, 0},
		{"while the water warms it is left to the next cold water", 375, 1e9, 0.3, 0},
	} {
		sound := warmUp(0.013, 0)
		days := pressureDays(func(minute float64) system {
			s := sound(minute)
			if minute >= c.at && minute < c.at+c.lasts {
				s.press += c.by
			}
			return s
		}, 30, 24)
		if len(days) != 1 {
			t.Fatalf("%s: %d days", c.name, len(days))
		}
		d := days[0]
		if len(d.Steps) != c.steps {
			t.Errorf("%s: %d steps, want %d: %+v", c.name, len(d.Steps), c.steps, d.Steps)
			continue
		}
		if c.steps == 1 && (d.Steps[0].Up() != (c.by > 0) || absolute(d.Steps[0].To-d.Steps[0].From-c.by) > 0.02) {
			t.Errorf("%s: %+v", c.name, d.Steps[0])
		}
	}
}

func absolute(x float64) float64 { return max(x, -x) }

// The day's halves are apart, so that mornings can be held against mornings.
func TestPressureHalves(t *testing.T) {
	days := pressureDays(warmUp(0.013, 0), 30, 48)
	if len(days) != 2 {
		t.Fatalf("%d days", len(days))
	}
	const noon = 43200
	for _, d := range days {
		for _, s := range d.Spans {
			early, late := 0, 0
			for _, cells := range [][]episode.PressureCell{s.Moving, s.Rest} {
				for _, c := range cells {
					if c.At < noon {
						early++
					} else {
						late++
					}
				}
			}
			if early > 0 && late > 0 {
				t.Errorf("a span on both sides of noon: %+v", s)
			}
		}
	}
}
