package cylinder

import (
	"fmt"
	"math"
	"slices"

	"tundish/analyse"
	"tundish/decode"
)

// coil is what the end of the reheats tells of the coil, by the store's sensor: the median reheat.
type coil struct {
	seen bool
	ua   float64 // W/K
	// low is the conductance in W/K by the tenth of the reheats that need the least of it. While the store is not mixed yet
	// the water about the coil is cooler than at a sensor higher up, which makes the coil look better, and never worse.
	low float64
	// least is the conductance in W/K that would do if both sensors erred the convenient way and the store warmed on after
	// flow and return were read; +Inf: no coil would do.
	least float64
	back  float64 // K of the return above the store's sensor
	lpm   float64 // l/min of water through the coil, from output and flow − return
}

// usual tells whether a plain coil has such a conductance.
func (c coil) usual() bool { return c.seen && c.ua >= coilLeastUA && c.ua <= coilMostUA }

// hard tells whether hardly any coil would do by what was read, in the best mixed reheats too, and no plain one whatever
// the sensors' errors.
func (c coil) hard() bool { return c.seen && c.low > coilHardUA && c.least > coilMostUA }

// lookAtCoil reads the ends of the hotter reheats. Water that gives its heat to a store through a conductance UA comes back
// hotter than the store by (flow − store)·exp(−UA/(m·c)): at few litres a minute that is little, with any coil.
func (s *store) lookAtCoil(p *analyse.Pass, err float64) (c coil) {
	const wattsPerLpm = 69.0 // W/K that 1 l/min of hot water carries: 4.18 kJ/(kg K), 0.98 kg/l
	if p.Plant.Kind == "heat-pump" {
		return coil{}
	}
	both := math.Hypot(err, float64(p.SensorOf(decode.Series{Source: s.source, Point: decode.Return}).Error))
	ends := s.coolEnds()
	var uas, leasts, backs, lpms []float64
	for _, r := range s.reheats {
		if !r.EndSeen || float64(r.Last) < ends {
			continue
		}
		kw, spread := output(p, float64(r.Modulation.Value)), float64(r.Spread.Value)
		above := float64(r.FlowEnd) - float64(r.Last)
		back := above - spread
		if !r.Modulation.Known || kw <= 0 || spread < 2 || above <= 0 {
			continue
		}
		carried := 1000 * kw / spread
		backs, lpms = append(backs, back), append(lpms, carried/wattsPerLpm)
		spare := both
		if d := r.Duration(); d > 0 {
			spare += float64(r.Last-r.First) * min(1, lastPair.Seconds()/d.Seconds())
		}
		uas, leasts = append(uas, carried*transfer(above, back)), append(leasts, carried*transfer(above+spare, back+spare))
	}
	if len(uas) == 0 {
		return coil{}
	}
	slices.Sort(uas)
	return coil{seen: true, ua: median(uas), low: uas[(len(uas)-1)/10], least: median(leasts), back: median(backs), lpm: median(lpms)}
}

// transfer is UA/(m·c) of a coil whose water enters above K above the store and leaves it back K above: +Inf where it
// leaves no hotter than the store.
func transfer(above, back float64) float64 {
	if back <= 0 {
		return math.Inf(1)
	}
	return max(0, math.Log(above/back))
}

func (c coil) words() string {
	switch {
	case math.IsInf(c.least, 1):
		return "no coil is good enough for that"
	case math.IsInf(c.ua, 1):
		return fmt.Sprintf("a coil of at least %.0f W/K", c.least)
	}
	return fmt.Sprintf("a coil of %.0f W/K", c.ua)
}

// reached answers where the sensor came to the temperature. By a coil too good to be true it reads high.
func (s *store) reached(p *analyse.Pass, cool window, err float64) {
	const compare = "Compare it with a thermometer of known error at the water drawn from the store after a reheat"
	c := s.lookAtCoil(p, err)
	if c.seen {
		p.Measured("coil by its sensor", "at the end of the reheats the return is %.1f K above the store's sensor, at about %.0f l/min: %s", c.back, c.lpm, c.words())
	}
	switch {
	case c.hard():
		p.NotAssessable(fmt.Sprintf("the sensor reads up to %.1f °C, but the heating water comes back from the coil at %+.1f K against it, at about %.0f l/min: hardly any coil gives off its heat so closely (%s; plain ones have 400 to 700 W/K), so the sensor may read several kelvin too high. %s",
			cool.hottest, c.back, c.lpm, c.words(), compare))
		return
	case cool.hottest < hygieneC+err && !c.usual():
		p.NotAssessable(fmt.Sprintf("the sensor reads up to %.1f °C in the coolest %s: that is above %.0f °C by less than its own error of %.1f K, and the heat that the coil takes does not bear it out. %s",
			cool.hottest, cool.words(), hygieneC, err, compare))
		return
	case c.usual():
		p.RuledOut("a sensor that reads high by far", "the coil takes the heat as plain coils do (%.0f W/K by that sensor)", c.ua)
	case c.seen && c.ua > coilMostUA:
		p.LeftOpen("a sensor that reads high", "%s would be more than a plain one: a quick coil, an output that is not quite what it is taken for, or a sensor that reads several kelvin too high, which the record cannot tell. %s", c.words(), compare)
	default:
		p.LeftOpen("a sensor that reads high", "flow, return and output in a reheat do not tell: an error of several kelvin cannot be seen. %s, once", compare)
	}
	p.Clear(fmt.Sprintf("the store reached %.1f °C in the coolest %s by its sensor (±%.1f K), %.0f °C are wanted (HSE, HSG274; local rules come first)%s", cool.hottest, cool.words(), err, hygieneC, c.remark()))
}

// remark belongs to an answer that rests on the sensor alone.
func (c coil) remark() string {
	switch {
	case c.usual():
		return ""
	case c.seen && c.ua > coilMostUA:
		return "; by this sensor the heat passes more readily than through a plain coil, so it may read several kelvin too high: compare it once with a thermometer at the drawn water"
	}
	return "; that rests on the sensor alone: compare it once with a thermometer at the drawn water"
}

// pocket is how far the sensor may stay below the water besides its own error, K: nothing where the coil's heat bears
// the sensor out.
func (s *store) pocket(p *analyse.Pass, err float64) float64 {
	if c := s.lookAtCoil(p, err); c.usual() {
		p.RuledOut("a sensor that reads low", "the coil takes the heat as coils do (%.0f W/K by that sensor)", c.ua)
		return 0
	}
	p.LeftOpen("a sensor that reads low", "the heat that the coil takes does not bear it out")
	return pocketK
}

// below answers where the sensor stayed below the temperature.
func (s *store) below(p *analyse.Pass, cool window, err float64) {
	pocket := s.pocket(p, err)
	if cool.hottest <= hygieneC-err-pocket {
		describe(p, s, cool)
		return
	}
	p.NotAssessable(fmt.Sprintf("the sensor reads %.1f °C at the most in the coolest %s; %.0f °C are wanted, and it may read low by its own error of %.1f K and %.1f K of its pocket: measure with a thermometer of known error at the outlet of the store after a reheat",
		cool.hottest, cool.words(), hygieneC, err, pocket))
}
