package cycling_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/cycling"
	"tundish/decode/unit"
)

// loop is a burner's exchanger and the emitters, a lump each, with water going round between them. At design 70/50 °C
// and 20 °C inside the emitters give off loss.
type loop struct {
	least, most, loss float64       // kW
	litres            float64       // in the emitters
	above, below      float64       // K from the set-point of 60 °C at which the burner goes off and on
	antiCycle         time.Duration //
	shutAfter         time.Duration // then the valves leave a tenth of the emitters and 40 % of the water; 0: never
	rests             time.Duration // the burner is off so long at the end of every two hours (hot water); 0: never
	every             int           // s between readings
	probes            bool          // flow and return alone
}

// run steps both heat balances second by second and writes what bus or probes would say.
func (l loop) run(hours int) string {
	const c, set = 4.19, 60.0
	var b strings.Builder
	flow, ret, on, off := 50.0, 45.0, false, time.Duration(0)
	water, emitters := l.loss/(c*20), l.loss/40
	for s := range hours * 3600 {
		at := time.Duration(s) * time.Second
		q, ua := water, emitters
		if l.shutAfter > 0 && at > l.shutAfter {
			q, ua = 0.4*water, 0.1*emitters
		}
		resting := l.rests > 0 && at%(2*time.Hour) >= 2*time.Hour-l.rests
		kw := 0.0
		if on {
			kw = max(l.least, min(l.most, l.least+(set-flow)))
		}
		flow += (kw - q*c*(flow-ret)) / (25 + 4*c)
		ret += (q*c*(flow-ret) - ua*((flow+ret)/2-20)) / (l.litres * c)
		off += time.Second
		switch {
		case on && (flow >= set+l.above || resting):
			on, off = false, 0
		case !on && flow <= set-l.below && off >= l.antiCycle && !resting:
			on = true
		}
		if s%l.every > 0 {
			continue
		}
		fmt.Fprintf(&b, "%d:%02d:%02d flow %.3f return %.3f", s/3600, s/60%60, s%60, flow, ret)
		if !l.probes {
			flame, mod := 0, 0.0
			if on {
				flame = 1
				mod = 100 * (kw - l.least) / max(l.most-l.least, 1)
			}
			fmt.Fprintf(&b, " flame %d heat-demand 1 flow-setpoint %g modulation %.1f outside 5", flame, set, max(0, mod))
		}
		b.WriteString("\n")
	}
	return b.String()
}

func (l loop) plant(hot analyse.HotWaterKind) analyse.Plant {
	return analyse.Plant{
		OutputMax: analyse.Some(unit.KW(l.most)), OutputMin: analyse.Some(unit.KW(l.least)), DesignHeatLoss: analyse.Some(unit.KW(l.loss)),
		DesignFlow: analyse.Some[unit.Celsius](70), DesignReturn: analyse.Some[unit.Celsius](50),
		InsideDesign: analyse.Some[unit.Celsius](20), OutsideDesign: analyse.Some[unit.Celsius](-3), HotWater: hot,
	}
}

func TestCausesByHeatBalance(t *testing.T) {
	big := loop{least: 9, most: 28, loss: 5, litres: 50, above: 5, below: 5, antiCycle: time.Minute, every: 5}
	valves := loop{least: 2.8, most: 12, loss: 7, litres: 90, above: 5, below: 5, antiCycle: 3 * time.Minute, shutAfter: 4 * time.Hour, every: 5}
	open := valves
	open.shutAfter = 0
	narrow := loop{least: 6, most: 6, loss: 7, litres: 60, above: 1, below: 0.8, every: 5}
	slow := narrow
	slow.every = 10
	usual := narrow
	usual.above, usual.below, usual.antiCycle = 5, 5, 3*time.Minute
	cut := valves
	cut.shutAfter, cut.rests = time.Second, 65*time.Minute
	for name, c := range map[string]struct {
		loop  loop
		cause string // "": nothing is found
	}{
		"least output above what open emitters take":            {big, "oversized"},
		"valves shut on a burner that ran for hours":            {valves, "closed-valves"},
		"the same with open valves":                             {open, ""},
		"hardly any differential, least output above the load":  {narrow, "control"},
		"the same, read every 10 s":                             {slow, "control"},
		"the same plant with a usual differential":              {usual, ""},
		"short-cycling for 50 min at a time, hot water between": {cut, "closed-valves"},
	} {
		t.Run(name, func(t *testing.T) {
			r := analysetest.Run(t, analysetest.Case{Script: c.loop.run(10), Plant: c.loop.plant(analyse.NoHotWater), Step: time.Duration(c.loop.every) * time.Second}, cycling.Short())
			f := analysetest.Finding(r, "short-cycling")
			switch {
			case (f != nil) != (c.cause != ""):
				t.Fatalf("found is %v: %s", f != nil, analysetest.Outcome(t, r, "short-cycling").Because)
			case f != nil && f.Causes[0].Cause != c.cause:
				t.Errorf("causes are %+v, want %s first", f.Causes, c.cause)
			case f != nil && len(f.Causes) > 1 && f.Causes[1].Support > 0.8*f.Causes[0].Support:
				t.Errorf("causes are %+v, too near each other", f.Causes)
			}
		})
	}
}

// With probes alone, burns are told from flow and return: found and clear where they are read finely enough to show
// burns of a minute, and neither where not.
func TestProbesAlone(t *testing.T) {
	big := loop{least: 9, most: 9, loss: 5, litres: 50, above: 5, below: 5, antiCycle: time.Minute, every: 5, probes: true}
	sound := loop{least: 7, most: 7, loss: 7, litres: 200, above: 5, below: 15, antiCycle: 3 * time.Minute, every: 5, probes: true}
	rare := sound
	rare.every = 240
	taps := big
	taps.rests = time.Hour // bursts for an hour at a time may be anything
	for name, c := range map[string]struct {
		loop loop
		hot  analyse.HotWaterKind
		want analyse.Outcome
	}{
		"burns of a minute or two":                   {big, analyse.NoHotWater, analyse.Found},
		"so many that no store or tap asks for them": {big, analyse.CylinderHotWater, analyse.Found},
		"long burns": {sound, analyse.NoHotWater, analyse.Clear},
		"bursts for an hour at a time that may be for hot water": {taps, analyse.InstantaneousHotWater, analyse.NotAssessable},
		"long burns read every four minutes":                     {rare, analyse.NoHotWater, analyse.NotAssessable},
	} {
		t.Run(name, func(t *testing.T) {
			r := analysetest.Run(t, analysetest.Case{Script: c.loop.run(12), Plant: c.loop.plant(c.hot), Source: "probes", Step: time.Duration(c.loop.every) * time.Second}, cycling.Short())
			got := analysetest.Outcome(t, r, "short-cycling")
			if got.Outcome != c.want {
				t.Errorf("%v: %s; %d firings, sights %+v; want %v", got.Outcome, got.Because, len(r.Facts.Firings), r.Facts.Sights, c.want)
			}
			if f := analysetest.Finding(r, "short-cycling"); f != nil && strings.Contains(f.Causes[0].Because, "still asked for") {
				t.Errorf("nobody knows what was asked for: %s", f.Causes[0].Because)
			}
		})
	}
}
