package sizing

import (
	"fmt"
	"math"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
)

// way is one way of turning a day into its mean power, kW.
type way struct {
	basis   Basis
	error   float64
	assumed string
	power   func(episode.Day) (heating, undivided float64, ok bool)
	other   func(episode.Day) (heating, undivided float64, ok bool)
}

func ways(f *episode.Facts, plant analyse.Plant) []way {
	all := []way{
		{basis: ByCounter, error: meterError, power: func(d episode.Day) (float64, float64, bool) { return mean(d, d.Heat.Energy, 1) }},
		{basis: ByPower, error: meterError, power: func(d episode.Day) (float64, float64, bool) { return mean(d, d.Heat.Power, 1) }},
	}
	if plant.Kind == "heat-pump" {
		return all // its output goes with the weather, so that modulation tells no heat
	}
	if g, ok := gasWay(plant); ok {
		all = append(all, g)
	}
	o := OutputsOf(f, plant)
	if !o.Max.Known {
		return all
	}
	if o.Min.Known && o.Min.Value >= onOff*o.Max.Value {
		return append(all, way{basis: ByTime, error: outputError, power: func(d episode.Day) (float64, float64, bool) {
			return runningTime(f, d, o.Max.Value)
		}})
	}
	if o.Min.Known {
		all = append(all, modulationWay(f, o))
	}
	return all
}

func gasWay(plant analyse.Plant) (way, bool) {
	cv, spread := plant.CalorificValue.Value, valueError
	w := way{basis: ByGas, assumed: fmt.Sprintf("efficiency %.2f ± %.2f gross", efficiency, efficiencyError)}
	if !plant.CalorificValue.Known {
		if plant.Fuel != "natural-gas" {
			return way{}, false
		}
		cv, spread = naturalGas, naturalGasError
		w.assumed += fmt.Sprintf(", calorific value %.1f MJ/m³ for want of calorific_value_mj_m3 in the job sheet", naturalGas)
	}
	w.error = math.Hypot(math.Hypot(efficiencyError/efficiency, spread), volumeError)
	w.power = func(d episode.Day) (float64, float64, bool) { return mean(d, d.Heat.Gas, cv/3.6*efficiency) }
	return w, true
}

// mean turns a day's sum into mean powers.
func mean(d episode.Day, s episode.HeatSum, each float64) (float64, float64, bool) {
	if s.For.Seconds() < dayHeat*d.To.Sub(d.From).Seconds() {
		return 0, 0, false
	}
	return s.Heating * each / s.For.Hours(), s.Undivided * each / s.For.Hours(), true
}

// modulationWay takes the burner's output from its modulation: from 0 at the least output (OpenTherm Protocol
// Specification v2.2, 5.3.4, data id 17) or, as some appliances send it, as a share of the rated output.
func modulationWay(f *episode.Facts, o Outputs) way {
	relative := func(b episode.BurnTime) float64 {
		return o.Min.Value*b.ModFor.Seconds() + b.ModS/100*(o.Max.Value-o.Min.Value)
	}
	rated := func(b episode.BurnTime) float64 {
		return max(b.ModS/100*o.Max.Value, o.Min.Value*b.ModFor.Seconds())
	}
	by := func(output func(episode.BurnTime) float64) func(episode.Day) (float64, float64, bool) {
		return func(d episode.Day) (float64, float64, bool) {
			b := d.Heat.Burner
			if b.Watched.Seconds() < dayHeat*d.To.Sub(d.From).Seconds() {
				return 0, 0, false
			}
			kw := func(t episode.BurnTime) (float64, bool) {
				if t.Lit == 0 {
					return 0, true
				}
				if t.ModFor.Seconds() < modKnown*t.Lit.Seconds() {
					return 0, false
				}
				return output(t) * t.Lit.Seconds() / t.ModFor.Seconds() / b.Watched.Seconds(), true
			}
			heating, ok1 := kw(b.Heating)
			undivided, ok2 := kw(b.Undivided)
			return heating, undivided, ok1 && ok2
		}
	}
	w := way{basis: ByModulation, error: outputError, power: by(relative)}
	if neverBelow(f, 100*o.Min.Value/o.Max.Value) {
		w.other = by(rated)
		w.assumed = "modulation may be a share of the rated output or count from the least one: both were reckoned"
	}
	return w
}

const (
	// longFiring is the length from which a firing's least modulation shows the bottom of the burner's range.
	longFiring = time.Minute
	// nearLeast is how near to least ÷ greatest output the lowest modulation must stay to be a share of rated output.
	// Own proposal.
	nearLeast = 0.7
)

// neverBelow tells whether modulation never fell much below least ÷ greatest output, %, while the burner was lit: it
// may then be a share of the rated output.
func neverBelow(f *episode.Facts, least float64) bool {
	lowest, seen := 100.0, false
	for _, x := range f.Firings {
		if x.ModulationSeen && x.Duration() >= longFiring {
			lowest, seen = min(lowest, x.MinModulation), true
		}
	}
	return seen && lowest >= nearLeast*least
}

// runningTime is for burners of one output. Where the flame is not known, firings told by the shape of flow and return
// stand in, over what they could be told.
func runningTime(f *episode.Facts, d episode.Day, kw float64) (float64, float64, bool) {
	length := d.To.Sub(d.From).Seconds()
	if b := d.Heat.Burner; b.Watched.Seconds() >= dayHeat*length {
		w := b.Watched.Seconds()
		return kw * b.Heating.Lit.Seconds() / w, kw * b.Undivided.Lit.Seconds() / w, true
	}
	day := episode.Span{From: d.From, To: d.To}
	var told, heating, undivided time.Duration
	for _, s := range f.Sights {
		if s.Basis != "" {
			told += s.Overlap(day)
		}
	}
	if told.Seconds() < dayHeat*length {
		return 0, 0, false
	}
	first, _ := slices.BinarySearchFunc(f.Firings, d.From, func(x episode.Firing, t time.Time) int { return x.To.Compare(t) })
	for _, x := range f.Firings[first:] {
		switch {
		case x.From.After(d.To):
			return kw * heating.Seconds() / told.Seconds(), kw * undivided.Seconds() / told.Seconds(), true
		case !x.UseKnown:
			undivided += x.Overlap(day)
		case x.Use == episode.Heating:
			heating += x.Overlap(day)
		}
	}
	return kw * heating.Seconds() / told.Seconds(), kw * undivided.Seconds() / told.Seconds(), true
}
