package episode_test

import (
	"testing"
	"time"

	"tundish/analyse/episode"
	"tundish/decode"
)

// days tells a builder of one day and a bit of a source's flow, by seconds, and gives the facts of flow by day.
func sensorDays(v func(s int) float64, every, until int) []episode.SensorDay {
	from := time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)
	b := episode.NewBuilder(episode.Config{Zone: time.UTC, Runs: []episode.Run{{ID: 1, From: from, To: from.Add(48 * time.Hour), Sources: []string{"boiler"}}}})
	of := decode.Series{Source: "boiler", Point: decode.Flow}
	other := decode.Series{Source: "boiler", Point: decode.Return}
	for s := 0; s < until; s += every {
		at := from.Add(time.Duration(s) * time.Second)
		b.Record("boiler", 1, at, "")
		b.Reading(decode.Reading{Time: at, Series: of, Value: v(s), Quality: decode.Good})
		b.Reading(decode.Reading{Time: at, Series: other, Value: 30 + float64(s%3600)/300, Quality: decode.Good})
	}
	var out []episode.SensorDay
	for _, d := range b.Finish(from, from.Add(time.Duration(until)*time.Second)).Days {
		for _, s := range d.Sensors {
			if s.Series == of {
				out = append(out, s)
			}
		}
	}
	return out
}

// Facts stay small: of a hundred jumps a few are kept, and all are counted.
func TestSensorDayCounts(t *testing.T) {
	days := sensorDays(func(s int) float64 {
		if s%600 == 300 && s < 60000 {
			return 70
		}
		return 40 + float64(s%7)/10
	}, 5, 80000)
	if len(days) != 1 || days[0].Jumps.N != 100 || len(days[0].Jumps.First) != 4 || days[0].Jumps.Most < 29 || days[0].Jumps.Most > 30 {
		t.Errorf("%+v", days)
	}
	if d := days[0]; d.N != 16000 || d.Low != 40 || d.High != 70 || d.Rail.N != 0 || d.PowerOn.N != 0 {
		t.Errorf("%+v", d)
	}
}

// A step that stays is no jump, however fast, and neither is one over a gap.
func TestSensorDaySteps(t *testing.T) {
	days := sensorDays(func(s int) float64 { return 30 + float64(s/7200%2)*25 }, 5, 80000)
	if len(days) != 1 || days[0].Jumps.N != 0 || days[0].Excused != 0 {
		t.Errorf("%+v", days)
	}
}

// One value over midnight is in both days, the other pipe's range with it. The return is a saw-tooth of 12 K an hour; by a
// time constant of 5 min it lags by 1 K at its top, which is 41.0 °C, and after the drop it turns when 12·e^(−t/300 s) is 1,
// at t = 746 s, where it is 29 + 746/300 + 1 = 32.5 °C: 8.5 K.
func TestSensorDayHold(t *testing.T) {
	days := sensorDays(func(s int) float64 {
		if s > 20*3600 && s < 30*3600 {
			return 44.5
		}
		return 40 + float64(s%1000)/500
	}, 10, 34*3600)
	if len(days) != 2 {
		t.Fatalf("%+v", days)
	}
	for i, want := range []time.Duration{4 * time.Hour, 6 * time.Hour} {
		x := days[i].Hold
		if d := x.Duration() - want; d < -time.Minute || d > time.Minute || x.Value != 44.5 || x.Pair < 8.4 || x.Pair > 8.6 || !x.Others || x.Single {
			t.Errorf("day %d: %+v for %v", i, x, x.Duration())
		}
	}
}
