package sensors_test

import (
	"cmp"
	"errors"
	"math"
	"slices"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/episode"
	"tundish/analyse/sensors"
	"tundish/decode"
)

// signal is one sensor as it is read: what it gives at second s, false for nothing.
type signal struct {
	of    string // "boiler/flow"
	every int    // s
	at    func(s int) (float64, bool)
}

// home is an invented home that is heated from 6:00 to 22:00, 20 minutes of each half hour: flow to 65 °C and return to
// 50 °C when settled, both cooling to a room of 20 °C in the night.
type home struct {
	days    int
	signals []signal
	plant   analyse.Plant
	refused []int // seconds at which probes/flow answers without having measured
}

const dayS = 24 * 3600

func heated(s int) bool { return s%dayS >= 6*3600 && s%dayS < 22*3600 }
func lit(s int) bool    { return heated(s) && s%1800 < 1200 }

func waterTo(s int, top, low float64) float64 {
	if !heated(s) {
		since := float64((s+2*3600)%dayS) / 3600 // h since 22:00
		return 20 + (low-20)*math.Exp(-since/0.7)
	}
	x := float64(s % 1800)
	if x < 1200 {
		return top - (top-low)*math.Exp(-x/120)
	}
	return low + (top-low)*math.Exp(-(x-1200)/150)
}

func flow(s int) float64 { return waterTo(s, 65, 45) }
func ret(s int) float64  { return waterTo(s, 50, 38) }

func always(f func(int) float64) func(int) (float64, bool) {
	return func(s int) (float64, bool) { return f(s), true }
}

func steps(k float64, f func(int) float64) func(int) float64 {
	return func(s int) float64 { return math.Round(f(s)/k) * k }
}

// strapped is a clip-on probe: it lags by tau, misses a share of the excess over a room of 20 °C, and tells 1/16 K.
func strapped(f func(int) float64, tau, share, off float64, days int) func(int) (float64, bool) {
	chip := make([]float64, days*dayS+1)
	chip[0] = f(0)
	for s := 1; s < len(chip); s++ {
		w := f(s) - share*(f(s)-20)
		chip[s] = chip[s-1] + (w-chip[s-1])/max(1, tau)
	}
	return func(s int) (float64, bool) { return math.Round((chip[s]+off)*16) / 16, true }
}

func onOff(f func(int) bool) func(int) (float64, bool) {
	return func(s int) (float64, bool) {
		if f(s) {
			return 1, true
		}
		return 0, true
	}
}

// bus is the appliance's own word: flame every 2 s, flow and return every 5 s in steps of 1/8 K.
func bus(flowAt, retAt func(int) float64) []signal {
	return []signal{{"boiler/flame", 2, onOff(lit)}, {"boiler/flow", 5, always(steps(0.125, flowAt))}, {"boiler/return", 5, always(steps(0.125, retAt))}}
}

// with changes what one signal gives between two seconds.
func with(f func(int) float64, from, to int, v func(s int, sound float64) float64) func(int) float64 {
	return func(s int) float64 {
		if x := f(s); s < from || s >= to {
			return x
		} else {
			return v(s, x)
		}
	}
}

func (h home) judge(t testing.TB) *analyse.Result {
	t.Helper()
	type reading struct {
		s  int
		i  int
		v  float64
		of decode.Series
	}
	var all []reading
	var sources []string
	for i, g := range h.signals {
		of, err := decode.ParseSeries(g.of)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Contains(sources, of.Source) {
			sources = append(sources, of.Source)
		}
		for s := 0; s < h.days*dayS; s += g.every {
			if v, ok := g.at(s); ok {
				all = append(all, reading{s, i, v, of})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b reading) int { return cmp.Or(cmp.Compare(a.s, b.s), cmp.Compare(a.i, b.i)) })
	end := analysetest.Start.Add(time.Duration(h.days) * 24 * time.Hour)
	a := analyse.New(analyse.Config{Site: analyse.Site{Job: "home", Zone: time.UTC}, Plant: h.plant, Buses: []string{"boiler"},
		Checks: []analyse.Check{sensors.Fault(), sensors.Disagreement()},
		Runs:   []episode.Run{{ID: 1, From: analysetest.Start, To: end, Sources: sources}}})
	next := 0
	for _, r := range all {
		at := analysetest.Start.Add(time.Duration(r.s) * time.Second)
		for ; next < len(h.refused) && h.refused[next] <= r.s; next++ {
			a.Refused(at, &decode.Error{Rule: "probe", Err: errors.New("power-on value"), Series: decode.Series{Source: "probes", Point: decode.Flow}})
		}
		a.Record(r.of.Source, 1, at, "")
		if !r.of.Point.Holds(r.v) { // as decoders refuse it
			e := &decode.Error{Rule: "cell", Series: r.of, Fault: decode.Impossible, Value: r.v}
			if math.IsNaN(r.v) {
				e.Fault, e.Value = decode.NoAnswer, 0
			}
			a.Refused(at, errors.Join(&decode.Error{Rule: "another value of the record"}, e)) // one record may hold many
			continue
		}
		a.Reading(decode.Reading{Time: at, Series: r.of, Value: r.v, Quality: decode.Good})
	}
	return a.Result()
}

// want holds an answer, and the cause that must come first where it is found.
func want(t *testing.T, r *analyse.Result, kind string, outcome analyse.Outcome, cause string) {
	t.Helper()
	got := analysetest.Outcome(t, r, kind)
	if got.Outcome != outcome {
		t.Fatalf("%s is %v: %s; want %v", kind, got.Outcome, got.Because, outcome)
	}
	if f := analysetest.Finding(r, kind); f != nil && cause != "" && (len(f.Causes) == 0 || f.Causes[0].Cause != cause) {
		t.Errorf("causes %+v, want %s first", f.Causes, cause)
	}
}
