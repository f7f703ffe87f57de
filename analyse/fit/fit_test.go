package fit

import (
	"math"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/bus"
	"tundish/analyse/deltat"
	"tundish/analyse/episode"
	"tundish/analyse/lockout"
	"tundish/decode"
	"tundish/decode/unit"
)

var start = time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)

// plant is a made-up heating system that fires for 20 minutes of each hour: the burner warms the flow from 30 to
// 65 °C, the return follows 12 K below; then both cool. What the sensors make of it is given by the fields.
type plant struct {
	hours   int
	every   time.Duration // between readings; 0: 10 s
	noFlame bool
	noBus   bool
	tap     bool // the burner heats water at the tap: the pipes outside stay as they are
	// What each probe says of the true flow, the true return and the minute of the record.
	flow, ret func(flow, ret float64, minute int) float64
	// The appliance's own sensors; nil: right, in steps of 1 K.
	ownFlow, ownReturn func(flow, ret float64, minute int) float64
	input              Input // plant, sources and so on, as given
}

func trueFlow(flow, _ float64, _ int) float64 { return flow }
func trueRet(_, ret float64, _ int) float64   { return ret }

// run gives the summary and nothing else.
func (p plant) run(t *testing.T) *Summary {
	t.Helper()
	every := p.every
	if every == 0 {
		every = 10 * time.Second
	}
	if p.flow == nil {
		p.flow = trueFlow
	}
	if p.ret == nil {
		p.ret = trueRet
	}
	if p.ownFlow == nil {
		p.ownFlow = trueFlow
	}
	if p.ownReturn == nil {
		p.ownReturn = trueRet
	}
	end := start.Add(time.Duration(p.hours) * time.Hour)
	checks := []analyse.Check{deltat.Low(), lockout.Check(), bus.Silence(), {Kind: "oversized", Doc: "x", Run: func(p *analyse.Pass) { p.NotAssessable("too few days") }}}
	cfg := analyse.Config{Plant: p.input.Plant, Checks: checks, Runs: []episode.Run{{ID: 1, From: start, To: end, Sources: []string{"boiler", "probes"}}}}
	if !p.noBus {
		cfg.Buses = []string{"boiler"}
	}
	a := analyse.New(cfg)
	hot := p.input.Plant.HotWater
	w := NewWatch(WatchConfig{Buses: cfg.Buses, Taps: hot == analyse.InstantaneousHotWater || hot == analyse.HotWaterUnknown,
		HeatPump: p.input.Plant.Kind == "heat-pump"})
	tell := func(at time.Time, source string, point decode.Point, v float64) {
		r := decode.Reading{Time: at, Series: decode.Series{Source: source, Point: point}, Value: v, Quality: decode.Good}
		a.Record(source, 1, at, "")
		a.Reading(r)
		w.Reading(r)
	}
	flow, ret := 30.0, 28.0
	for at := start; at.Before(end); at = at.Add(every) {
		minute := int(at.Sub(start) / time.Minute)
		lit := minute%60 < 20
		step := every.Minutes()
		if lit && !p.tap {
			flow = min(65, flow+2.5*step)
			ret = max(ret, flow-12)
		} else {
			flow += (24 - flow) * min(1, 0.03*step)
			ret += (24 - ret) * min(1, 0.03*step)
		}
		if !p.noBus {
			if !p.noFlame {
				tell(at, "boiler", decode.Flame, map[bool]float64{true: 1}[lit])
				tell(at, "boiler", decode.Fault, 0)
			}
			own := flow
			if p.tap && lit {
				own = 60
			}
			tell(at, "boiler", decode.Flow, math.Round(p.ownFlow(own, ret, minute)))
			tell(at, "boiler", decode.Return, math.Round(p.ownReturn(own, ret, minute)))
		}
		tell(at, "probes", decode.Flow, math.Round(p.flow(flow, ret, minute)*16)/16)
		tell(at, "probes", decode.Return, math.Round(p.ret(flow, ret, minute)*16)/16)
	}
	in := p.input
	in.Result, in.Checks, in.Watch = a.Result(), checks, w
	return Judge(in)
}

// says finds an item by what it is about and words of it.
func says(s *Summary, about, words string) *Item {
	for i := range s.Items {
		if s.Items[i].About == about && strings.Contains(s.Items[i].What, words) {
			return &s.Items[i]
		}
	}
	return nil
}

// lagged makes a probe that follows with a time constant, in readings of 10 s.
func lagged(of func(flow, ret float64, minute int) float64, tau time.Duration) func(flow, ret float64, minute int) float64 {
	last, begun := 0.0, false
	return func(flow, ret float64, minute int) float64 {
		v := of(flow, ret, minute)
		if !begun {
			last, begun = v, true
		}
		last += (v - last) * (1 - math.Exp(-10/tau.Seconds()))
		return last
	}
}

// inAir is a probe that takes a share of the pipe's excess over air of 20 °C.
func inAir(of func(flow, ret float64, minute int) float64, share float64) func(flow, ret float64, minute int) float64 {
	return func(flow, ret float64, minute int) float64 { return 20 + share*(of(flow, ret, minute)-20) }
}

var cylinder = Input{Plant: analyse.Plant{HotWater: analyse.CylinderHotWater}}

// What is wrongly fitted is said at once, by its name.
func TestWronglyFitted(t *testing.T) {
	stuck := func(of func(float64, float64, int) float64) func(float64, float64, int) float64 {
		return func(f, r float64, minute int) float64 {
			if minute > 90 {
				return 47.25
			}
			return of(f, r, minute)
		}
	}
	cases := []struct {
		name         string
		plant        plant
		about, words string
	}{
		{"swapped, with a bus", plant{hours: 4, flow: trueRet, ret: trueFlow, input: cylinder}, "probes", "each agrees with the appliance's other pipe"},
		{"swapped, by shape alone", plant{hours: 4, noBus: true, flow: trueRet, ret: trueFlow}, "probes", "look swapped"},
		{"swapped, bus without a flame", plant{hours: 4, noFlame: true, flow: trueRet, ret: trueFlow}, "probes", "look swapped"},
		{"flow probe off its pipe", plant{hours: 4, flow: inAir(trueFlow, 0.05), input: cylinder}, "probes/flow", "stays cold"},
		{"return probe off its pipe, no bus", plant{hours: 4, noBus: true, ret: inAir(trueRet, 0.05)}, "probes/return", "stays cold"},
		{"flow probe half off", plant{hours: 4, flow: inAir(trueFlow, 0.5), input: cylinder}, "probes/flow", ""},
		{"return probe half off", plant{hours: 4, ret: inAir(trueRet, 0.5), input: cylinder}, "probes/return", "reads low by 50 %"},
		{"flow probe stuck", plant{hours: 5, flow: stuck(trueFlow), input: cylinder}, "probes/flow", "gave 47.25 °C without any change"},
		// The return hardly moves; the appliance's own sensor of the same pipe gives it away.
		{"flow probe stuck while the flow swings by 12 K", plant{hours: 4, flow: func(_, _ float64, _ int) float64 { return 51.5 },
			ownFlow: func(_, _ float64, m int) float64 { return 55 + 6*math.Sin(float64(m)/9) }, ownReturn: func(_, _ float64, _ int) float64 { return 40 },
			ret: func(_, _ float64, m int) float64 { return 40 + 0.3*math.Sin(float64(m)/20) }, input: cylinder}, "probes/flow", "gave 51.5 °C"},
		{"appliance's own return stuck", plant{hours: 5, ownReturn: stuck(trueRet), input: cylinder}, "boiler/return", "gave 47 °C without any change"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := c.plant.run(t)
			if i := says(s, c.about, c.words); i == nil || i.Rank != Now || i.How == "" {
				t.Errorf("not said, or not as urgent: %+v", s.Items)
			}
			if s.Items[0].Rank != Now {
				t.Errorf("what is urgent does not come first: %+v", s.Items)
			}
		})
	}
}

// Sound set-ups that look alike: nothing urgent, and nothing of flow and return at all.
func TestSoundSetUps(t *testing.T) {
	cases := []struct {
		name  string
		plant plant
	}{
		{"as it should be", plant{hours: 4, input: cylinder}},
		{"without a bus", plant{hours: 4, noBus: true}},
		// 20 % is the worst of bare clips in air (common practice, no source); both probes alike.
		{"bare clips", plant{hours: 4, flow: inAir(trueFlow, 0.82), ret: inAir(trueRet, 0.82), input: cylinder}},
		{"slow probes", plant{hours: 4, flow: lagged(trueFlow, time.Minute), ret: lagged(trueRet, time.Minute), input: cylinder}},
		{"a small difference, and a poor flow contact", plant{hours: 4, noBus: true, flow: inAir(trueFlow, 0.9),
			ret: func(f, r float64, _ int) float64 { return f - 3 }}},
		{"own sensor 3 K high", plant{hours: 4, ownFlow: func(f, _ float64, _ int) float64 { return f + 3 }, input: cylinder}},
		// A tap's heat stays in the casing: the pipes outside stand, and cool.
		{"hot water at taps only", plant{hours: 4, tap: true, input: Input{Plant: analyse.Plant{HotWater: analyse.InstantaneousHotWater}}}},
		// On thermostatic valves the return stands within its step of 1 K while the flow moves by 10 K and more.
		{"a return that stands", plant{hours: 4, ownReturn: func(_, _ float64, _ int) float64 { return 38.2 },
			flow: func(_, _ float64, m int) float64 { return 55 + 6*math.Sin(float64(m)/9) }, ownFlow: func(_, _ float64, m int) float64 { return 55 + 6*math.Sin(float64(m)/9) },
			ret: func(_, _ float64, m int) float64 { return 38 + 0.3*math.Sin(float64(m)/20) }, input: cylinder}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := c.plant.run(t)
			for _, i := range s.Items {
				if i.Rank == Now || strings.Contains(i.About, "probes") || strings.Contains(i.About, "boiler") {
					t.Errorf("said of a sound set-up: %+v", i)
				}
			}
		})
	}
}

// Before a firing nothing is said of how the probes sit, neither good nor bad.
func TestTooEarly(t *testing.T) {
	for name, p := range map[string]plant{
		"no firing yet":  {hours: 3, tap: true, noBus: true, flow: trueRet, ret: trueFlow},
		"hardly a start": {hours: 0, input: cylinder},
	} {
		s := p.run(t)
		if i := says(s, "probes", ""); i != nil {
			t.Errorf("%s: %+v", name, i)
		}
		for _, g := range s.Good {
			if strings.Contains(g, "return no hotter") {
				t.Errorf("%s: called right: %s", name, g)
			}
		}
		if p.hours > 0 && !strings.Contains(strings.Join(s.Early, "\n"), "which pipe is flow") {
			t.Errorf("%s: early are %q", name, s.Early)
		}
	}
}

// Readings minutes apart cannot tell; that is said, and not that it is too early.
func TestTooSlow(t *testing.T) {
	s := plant{hours: 30, every: 5 * time.Minute, noBus: true, flow: trueRet, ret: trueFlow}.run(t)
	if says(s, "probes", "too seldom") == nil {
		t.Errorf("items are %+v", s.Items)
	}
}

func TestKinds(t *testing.T) {
	design := analyse.Plant{HotWater: analyse.CylinderHotWater, DesignFlow: analyse.Some[unit.Celsius](70), DesignReturn: analyse.Some[unit.Celsius](50)}
	state := func(s *Summary, kind string) Kind {
		for _, k := range s.Kinds {
			if k.Kind == kind {
				return k
			}
		}
		return Kind{}
	}
	s := plant{hours: 5, input: Input{Plant: design}}.run(t)
	for kind, want := range map[string]State{"lockout": CanTell, "bus-silence": CanTell, "oversized": NotMade} {
		if k := state(s, kind); k.State != want {
			t.Errorf("with a bus, %s is %+v, want %s", kind, k, want)
		}
	}
	s = plant{hours: 5, noBus: true, input: Input{Plant: design}}.run(t)
	if k := state(s, "lockout"); k.State != CannotDo || !strings.Contains(k.Because, "no fault signal") {
		t.Errorf("without a bus, lockout is %+v", k)
	}
	s = plant{hours: 5, input: cylinder}.run(t)
	if k := state(s, "low-delta-t"); k.State != TooEarly || !strings.Contains(k.Because, "design") {
		t.Errorf("without a design, low-delta-t is %+v", k)
	}
	// What the master asks for in vain is said where the point is missed.
	in := Input{Plant: design, Sources: []Source{{Name: "boiler", Bus: true, Records: 1, Asked: []Asked{{Name: "status", Points: []decode.Point{decode.Fault}, Asked: 50}}}}}
	s = plant{hours: 5, noBus: true, input: in}.run(t)
	if k := state(s, "lockout"); !strings.Contains(k.Because, `asked for on the bus "boiler"`) {
		t.Errorf("asked in vain, lockout is %+v", k)
	}
}
