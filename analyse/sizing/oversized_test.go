package sizing

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/decode/unit"
)

// home is a house of 250 W/K that needs no heating above 17 °C: 5.0 kW at −3 °C in use, 5.75 kW from 20 °C with no
// gains. Invented.
const (
	homeWK, homeBalance = 0.25, 17.0
	homeInUse, homeLoss = 5.0, 5.75
)

// outsideOn is the mean temperature of a day: 13 K apart, warm and cold days mixed.
func outsideOn(day int) float64 { return float64((day*5)%14) - 1 }

func powerOn(day int) float64 {
	r := rand.New(rand.NewPCG(uint64(day), 9))
	return max(0, homeWK*(homeBalance-outsideOn(day))*(1+0.04*r.NormFloat64()))
}

// record writes days of a script, ten minutes a line; line gives the values for a mean power in a stretch of ten
// minutes that is number i of the record.
func record(days int, line func(day, i int, kw float64) string) string {
	var b strings.Builder
	for i := range days * 144 {
		fmt.Fprintf(&b, "%d:%02d outside %.1f flame 1 %s\n", i/6, i%6*10, outsideOn(i/144), line(i/144, i, powerOn(i/144)))
	}
	fmt.Fprintf(&b, "%d:00 outside 5\n", days*24)
	return b.String()
}

// counter is a record with a heat counter, kWh.
func counter(days int) string {
	sum := 1000.0
	return record(days, func(_, _ int, kw float64) string {
		line := fmt.Sprintf("heat-energy %.3f", sum)
		sum += kw / 6
		return line
	})
}

// gas is the same with a gas counter of natural gas of 39.5 MJ/m³ at an efficiency of 0.85.
func gas(days int) string {
	sum := 50.0
	return record(days, func(_, _ int, kw float64) string {
		line := fmt.Sprintf("gas-volume %.4f", sum)
		sum += kw / 6 / (39.5 / 3.6 * 0.85)
		return line
	})
}

// modulated is the same by a burner of 2 to 10 kW; rated: modulation is a share of 10 kW.
func modulated(days int, rated bool) string {
	debt := 0.0
	return record(days, func(_, _ int, kw float64) string {
		debt += kw
		out := min(10, max(2, kw))
		if debt < out/2 {
			return "flame 0 modulation 0"
		}
		debt -= out
		mod := (out - 2) / 8 * 100
		if rated {
			mod = out / 10 * 100
		}
		return fmt.Sprintf("modulation %.1f", mod)
	})
}

const brief = "0:00 flame 0 outside 5\n24:00 flame 0"

func plant(change func(*analyse.Plant)) analyse.Plant {
	p := analyse.Plant{Kind: "boiler", Fuel: "natural-gas", HotWater: analyse.NoHotWater,
		OutsideDesign: analyse.Some(unit.Celsius(-3)), InsideDesign: analyse.Some(unit.Celsius(20))}
	change(&p)
	return p
}

func outputs(p *analyse.Plant, most, least, load float64) {
	set := func(o *analyse.Opt[unit.KW], v float64) {
		if v > 0 {
			*o = analyse.Some(unit.KW(v))
		}
	}
	set(&p.OutputMax, most)
	set(&p.OutputMin, least)
	set(&p.DesignHeatLoss, load)
}

func TestOversized(t *testing.T) {
	const store, taps, none, unsaid = analyse.CylinderHotWater, analyse.InstantaneousHotWater, analyse.NoHotWater, analyse.HotWaterUnknown
	long := counter(28)
	for _, c := range []struct {
		name              string
		script            string
		water             analyse.HotWaterKind
		most, least, load float64
		want              analyse.Outcome
		says              string
	}{
		// By the job sheet: twice the load, or four fifths of it at the least output, as the criteria have it.
		{"twice and a half", brief, store, 18, 4, 7.2, analyse.Found, "2.5 times"},
		{"a usual margin", brief, store, 10, 2.5, 7.2, analyse.Clear, "1.4 times"},
		{"one output, a usual margin", brief, store, 10, 10, 7.2, analyse.Clear, "must start and stop"},
		{"for taps, turns far down", brief, taps, 28, 3, 7.2, analyse.Clear, "for hot water"},
		{"for taps, least output too much", brief, taps, 28, 7, 5, analyse.Found, "1.4 times"},
		{"for taps, least output not known", brief, taps, 28, 0, 5, analyse.NotAssessable, "output_min_kw"},
		{"for taps, the greatest is little", brief, taps, 5, 0, 8, analyse.Clear, "0.62"},
		{"no load", brief, store, 18, 4, 0, analyse.NotAssessable, "design_heat_loss_kw"},
		{"no output", brief, store, 0, 0, 7, analyse.NotAssessable, "output_max_kw"},
		{"the appliance states its output", "0:00 flame 0 output-max 24 modulation-min 20\n24:00 flame 0", store, 0, 0, 7, analyse.Found, "24.0 kW"},
		{"the appliance states its least output", "0:00 flame 0 output-max 24 modulation-min 30\n24:00 flame 0", taps, 0, 0, 5, analyse.Found, "7.2 kW"},
		{"hot water not said, large", brief, unsaid, 24, 4, 7, analyse.NotAssessable, "hot_water"},
		{"hot water not said, large either way", brief, unsaid, 24, 8, 7, analyse.Found, "3.4 times"},
		{"hot water not said, small either way", brief, unsaid, 9, 3, 7, analyse.Clear, "1.3 times"},
		{"figures that cannot be", brief, store, 8, 12, 5, analyse.NotAssessable, "one of the two is wrong"},
		// By measurement: 5.0 to 5.75 kW at −3 °C.
		{"measured, large", long, store, 24, 0, 0, analyse.Found, "by measurement"},
		{"measured, a usual margin", long, store, 7.5, 0, 0, analyse.Clear, "by measurement"},
		{"measured, near the limit", long, store, 11.5, 0, 0, analyse.NotAssessable, "holds the limit"},
		{"measured, for taps, least too much", long, taps, 24, 7, 0, analyse.Found, "at least"},
		{"measured, for taps, turns down", long, taps, 24, 2, 0, analyse.Clear, "for hot water"},
		{"too few days", counter(16), store, 24, 0, 0, analyse.NotAssessable, "4 more heating days"},
		// Both.
		{"both large", long, store, 24, 4, 7, analyse.Found, "by measurement too"},
		{"large by the sheet, not quite by measurement", long, none, 8, 2, 3.9, analyse.NotAssessable, "contradict"},
		{"large by the sheet, far from it by measurement", long, store, 6, 2, 2.6, analyse.NotAssessable, "contradict"},
		{"small by the sheet, large by measurement", long, store, 16, 2, 12, analyse.NotAssessable, "contradict"},
		{"between by the sheet, large by measurement", long, store, 16, 2, 9, analyse.Found, "at least"},
	} {
		t.Run(c.name, func(t *testing.T) {
			res := analysetest.Run(t, analysetest.Case{Script: c.script, Step: 10 * time.Minute, Plant: plant(func(p *analyse.Plant) {
				p.HotWater = c.water
				outputs(p, c.most, c.least, c.load)
			})}, Oversized())
			got := analysetest.Outcome(t, res, "oversized")
			if got.Outcome != c.want || !strings.Contains(got.Because, c.says) {
				t.Fatalf("%v: %s\nwant %v with %q", got.Outcome, got.Because, c.want, c.says)
			}
			if f := analysetest.Finding(res, "oversized"); f != nil && (len(f.Evidence) == 0 || len(f.Causes) == 0 || len(f.Numbers) == 0) {
				t.Errorf("a finding with nothing to it: %+v", f)
			}
		})
	}
}

// Every basis must give the load that the record was made from, within its own interval; the middle within 6 %.
func TestMeasureByEachBasis(t *testing.T) {
	for _, c := range []struct {
		name   string
		script string
		basis  Basis
		change func(*analyse.Plant)
	}{
		{"heat counter", counter(28), ByCounter, func(*analyse.Plant) {}},
		{"gas", gas(28), ByGas, func(*analyse.Plant) {}},
		{"modulation from the least output", modulated(28, false), ByModulation, func(p *analyse.Plant) { outputs(p, 10, 2, 0) }},
		{"modulation as a share of the rated output", modulated(28, true), ByModulation, func(p *analyse.Plant) { outputs(p, 10, 2, 0) }},
	} {
		t.Run(c.name, func(t *testing.T) {
			pl := plant(c.change)
			res := analysetest.Run(t, analysetest.Case{Script: c.script, Step: 10 * time.Minute, Plant: pl})
			m := Measure(res.Facts, pl)
			if m.Basis != c.basis || m.Refused != "" {
				t.Fatalf("basis %q, refused %q", m.Basis, m.Refused)
			}
			l := m.At(-3, 20)
			if !(l.InUse.Low < homeInUse && homeInUse < l.InUse.High && l.Loss.Low < homeLoss && homeLoss < l.Loss.High) {
				t.Errorf("%+v does not hold %v and %v", l, homeInUse, homeLoss)
			}
			if m.other == nil && math.Abs(l.KW/homeInUse-1) > 0.06 {
				t.Errorf("%.2f kW, want %.2f", l.KW, homeInUse)
			}
			if c.name == "modulation as a share of the rated output" && m.other == nil {
				t.Error("it was not seen that modulation may mean the rated output")
			}
		})
	}
}

func TestMeasureRefuses(t *testing.T) {
	for _, c := range []struct {
		name, script, says string
		change             func(*analyse.Plant)
	}{
		{"no weather", strings.ReplaceAll(counter(25), "outside", "room"), "no outside temperature", func(*analyse.Plant) {}},
		{"nothing that tells heat", strings.ReplaceAll(counter(25), "heat-energy", "burner-hours"), "cannot be told|heating day", func(*analyse.Plant) {}},
		{"gas of unknown heat", gas(25), "20 more heating days|rated outputs", func(p *analyse.Plant) { p.Fuel = "lpg" }},
		{"heat pump by modulation", modulated(25, false), "heating day", func(p *analyse.Plant) { p.Kind = "heat-pump"; outputs(p, 10, 2, 0) }},
	} {
		pl := plant(c.change)
		res := analysetest.Run(t, analysetest.Case{Script: c.script, Step: 10 * time.Minute, Plant: pl})
		m := Measure(res.Facts, pl)
		ok := false
		for _, s := range strings.Split(c.says, "|") {
			ok = ok || strings.Contains(m.Refused, s)
		}
		if !ok {
			t.Errorf("%s: refused with %q, basis %q", c.name, m.Refused, m.Basis)
		}
	}
}

// A house of 295 W/K at 20 °C inside and −3 °C outside takes 6.78 kW; a least output of 6.0 kW runs without a stop
// below −0.4 °C and one of 2.4 kW below 11.9 °C: 20 − 6000/294.72 and 20 − 2400/294.72, gains ignored.
func TestSteadyBelow(t *testing.T) {
	for least, want := range map[float64]float64{6.0: -0.4, 2.4: 11.9} {
		res := analysetest.Run(t, analysetest.Case{Script: brief, Step: 10 * time.Minute, Plant: plant(func(p *analyse.Plant) {
			outputs(p, 24, least, 0.29472*23)
		})}, Oversized())
		f := analysetest.Finding(res, "oversized")
		if f == nil {
			t.Fatal("not found")
		}
		for _, n := range f.Numbers {
			if n.Name == "no_cycling_below_c" {
				near(t, n.Name, n.Value, want, 0.051)
			}
			if n.Name == "plant_size_ratio" {
				near(t, n.Name, n.Value, 3.54, 0.006)
			}
		}
	}
}
