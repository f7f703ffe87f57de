package cases

import (
	"math/rand/v2"
	"strconv"
	"time"

	"tundish/cmd/tundish/house"
)

// way is one way to have a kind, or to look like it: what is done to a sound build.
type way struct {
	kind      string
	name, doc string
	lookAlike bool
	severity  Severity
	cause     string
	also      []string // further kinds that the same cause brings as a matter of course
	days      int
	on        []string // builds; one case each
	needs     func(*house.Scenario) bool
	change    func(*house.Scenario, *rand.Rand)
}

// cases are the way's cases: the first has its name, later ones a number.
func (w way) cases() (list []Case) {
	for i, b := range w.on {
		c := Case{Name: w.name, Doc: w.doc, Build: b, Days: w.days, change: w.change, needs: w.needs}
		if i > 0 {
			c.Name += "-" + strconv.Itoa(i+1)
		}
		if w.lookAlike {
			c.LookAlikeOf = w.kind
		} else {
			c.Intended, c.Severity, c.Cause = append([]string{w.kind}, w.also...), w.severity, w.cause
			c.Causes = map[string][]string{}
			w.causes(c.Causes)
		}
		list = append(list, c)
	}
	return list
}

// causes puts down the words that may stand first as the cause of what the way is meant to bring.
func (w way) causes(of map[string][]string) {
	words := wordsFor(w.name)
	if w.cause != "" {
		words = []string{w.cause}
	}
	if len(words) > 0 {
		of[w.kind] = words
	}
}

// ways lists all ways, kind by kind in the order in which they are told.
func ways() (list []way) {
	for _, l := range [][]way{
		shortCycling(), lowDeltaT(), highDeltaT(), oversized(), lockouts(), retries(), demandNotMet(), noCirculation(),
		notCondensing(), overshoot(), pressureLoss(), pressureSwing(), disagreement(), sensorFaults(), tooCool(), silences(),
	} {
		list = append(list, l...)
	}
	return list
}

// What a way needs of a build.
func hasBus(s *house.Scenario) bool      { return !s.NoBus }
func hasProbes(s *house.Scenario) bool   { return !s.NoProbes }
func hasBoth(s *house.Scenario) bool     { return hasBus(s) && hasProbes(s) }
func isBoiler(s *house.Scenario) bool    { return s.Boiler.Kind != house.HeatPump }
func isHeatPump(s *house.Scenario) bool  { return !isBoiler(s) }
func modulates(s *house.Scenario) bool   { return s.Boiler.Kind == house.ModulatingBoiler }
func hasCylinder(s *house.Scenario) bool { return s.HotWater.Kind == house.Cylinder }
func hasPlate(s *house.Scenario) bool    { return s.HotWater.Kind == house.Instantaneous }
func hasRadiators(s *house.Scenario) bool {
	return s.Circuit.Emitters == house.Radiators
}

// both joins needs.
func both(list ...func(*house.Scenario) bool) func(*house.Scenario) bool {
	return func(s *house.Scenario) bool {
		for _, f := range list {
			if !f(s) {
				return false
			}
		}
		return true
	}
}

// loadKW is the design heat loss.
func loadKW(s *house.Scenario) float64 { return s.Building.DesignLossW / 1000 }

// between is a number by chance.
func between(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

// clock is hh:mm on a day of the scenario, from 0.
func clock(d, hh, mm int) time.Duration {
	return time.Duration(24*d+hh)*time.Hour + time.Duration(mm)*time.Minute
}

// window is a stretch within one day.
func window(d, fromH, fromM, toH, toM int) house.Window {
	return house.Window{From: clock(d, fromH, fromM), To: clock(d, toH, toM)}
}

// always is the whole of any record.
func always() house.Window { return house.Window{To: 400 * 24 * time.Hour} }
