package episode

import (
	"math"
	"testing"
	"time"
)

// ended is a firing by shape of 20 min that ended with flow and return so far apart, K.
func ended(n int, flow, delta float64) Firing {
	from := time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC).Add(time.Duration(n) * time.Hour)
	return Firing{Span: Span{From: from, To: from.Add(20 * time.Minute)}, Basis: ByShape, Use: Heating,
		FlowEnd: flow, FlowSeen: true, DeltaEnd: delta, DeltaSeen: true}
}

// radiators is the difference that radiators laid out for 70/50 °C make at a flow temperature, K: by EN 442 it goes
// with the 1.3th power of the mean water's excess over 20 °C, 20 K at 40 K. Solved by halving.
func radiators(flow float64) float64 {
	low, high := 0.0, 40.0
	for range 60 {
		d := (low + high) / 2
		if want := 20 * math.Pow((flow-d/2-20)/40, 1.3); want > d {
			low = d
		} else {
			high = d
		}
	}
	return low
}

func TestReheatsByShape(t *testing.T) {
	heating := func(flows ...float64) (out []Firing) {
		for i, f := range flows {
			out = append(out, ended(i, f, radiators(f)))
		}
		return out
	}
	mixed := append(heating(42, 48, 55, 61, 66), ended(10, 74, 6), ended(11, 73, 6.5), ended(12, 74, 7))
	for _, c := range []struct {
		name    string
		firings []Firing
		draws   DrawKind
		want    string // for each firing: h heating, w hot water, ? not known
	}{
		{"heating by the weather, reheats at 74 °C", mixed, Reheat, "hhhhhwww"},
		{"no cylinder at this plant", mixed, Tap, "????????"},
		{"heating alone", heating(42, 48, 55, 61, 66, 70), Reheat, "??????"},
		{"one reheat is not enough", append(heating(42, 48, 55), ended(10, 74, 6)), Reheat, "????"},
		{"a bypass that shrinks all differences", []Firing{ended(0, 50, 4), ended(1, 60, 5), ended(2, 70, 6), ended(3, 74, 6), ended(4, 74, 7)}, Reheat, "?????"},
		{"little difference, but cool: no store is heated with that", append(heating(60, 65, 70), ended(10, 36, 0.5), ended(11, 37, 0.5)), Reheat, "?????"},
		{"in between: no two groups", append(heating(50, 60), ended(10, 74, 6), ended(11, 74, 8), ended(12, 74, 11), ended(13, 74, 15)), Reheat, "??????"},
	} {
		b := NewBuilder(Config{Draws: c.draws})
		b.firings = append([]Firing(nil), c.firings...)
		b.useByWater()
		got := ""
		for _, f := range b.firings {
			switch {
			case !f.UseKnown:
				got += "?"
			case f.Use == HotWater:
				got += "w"
			default:
				got += "h"
			}
		}
		if got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}
