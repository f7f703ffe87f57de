// Package cylinder judges whether stored hot water becomes hot enough for hygiene.
package cylinder

import (
	"fmt"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

const kind = "cylinder-too-cool"

// The criteria.
const (
	hygieneC    = 60.0             // °C that stored water must reach
	everyDays   = 7                // days in which it must reach it once
	pocketK     = 1.5              // K by which a sensor in its pocket may stay below the water
	leastSeen   = 20 * time.Hour   // of the store's temperature, before anything may be found
	seenShare   = 0.8              // of the time that must be seen
	mayHide     = 3 * time.Hour    // a stretch that long unseen may hide a reheat
	pipeRise    = 8.0              // K/min that no store warms by
	standsK     = 1.0              // K: a sensor that moves by less over a day and reheats does not follow the water
	coilLeastUA = 500.0            // W/K of a coil by its sensor, from which the sensor is borne out …
	coilMostUA  = 850.0            // … and up to which: a fifth above plain ones
	coilHardUA  = 1275.0           // W/K in nine of ten reheats: half above the best plain one, from there the sensor is doubted
	lastPair    = 2 * time.Minute  // before the end of a reheat flow and return may have been read last
	growthC     = 50.0             // °C below which it is a matter to act on
	sameK       = 2.0              // K between reheats that end at the same temperature
	sameClock   = 10 * time.Minute // between reheats that end at the same time of day
	aboveStore  = 5.0              // K of flow above the store that a coil needs at its end
	littleK     = 5.0              // K of flow − return that is little
	slowRise    = 12.0             // K/h: slower is a poor recovery
	fewReheats  = 2                // reheats from which their ends are compared
)

// Check is the check.
func Check() analyse.Check {
	const own = "own proposal"
	const hse = "60 °C stored: HSE, L8 and HSG274 part 2 (Great Britain); national rules differ"
	c := func(name string, v float64, unit, source string) analyse.Criterion {
		return analyse.Criterion{Name: name, Value: v, Unit: unit, Source: source}
	}
	return analyse.Check{
		Kind: kind,
		Doc:  "stored hot water does not reach its hygiene temperature",
		Needs: []analyse.Need{
			{Points: []decode.Point{decode.Cylinder}, Say: "no temperature of the stored water: it needs the boiler's bus with a cylinder sensor (job sheet: hot_water = \"cylinder\"), or a probe under the cylinder's insulation in its upper third"},
		},
		Criteria: append([]analyse.Criterion{
			c("stored water must reach", hygieneC, "°C", hse),
			c("once in the record, or in any stretch of", everyDays, "days", "the kind's definition; a weekly heating-up is usual (common practice, no source)"),
			c("a sensor in its pocket may read low, besides its own error, by", pocketK, "K", "contact and lag in a pocket (common practice, no source)"),
			c("time for which the store must have been seen", leastSeen.Hours(), "h", own),
			c("share of the stretch that must have been seen", seenShare, "", own),
			c("a reheat may hide in a stretch unseen for", mayHide.Hours(), "h", own+": 150 l take 2.9 h from 10 to 60 °C by 3 kW"),
			c("no store warms by more than", pipeRise, "K/min", own+": 30 kW warm 60 l by 7 K/min"),
			c("a sensor stands still where it moves by less than", standsK, "K", own),
			c("conductance of a boiler's coil by the sensor, from which the sensor is borne out", coilLeastUA, "W/K", own+", as the next"),
			c("conductance of a boiler's coil by the sensor, up to which the sensor is borne out", coilMostUA, "W/K", own+": plain coils of domestic cylinders come to 400 to 700 W/K (from BS 1566 recovery, from memory)"),
			c("conductance of a boiler's coil by the sensor in nine of ten reheats, from which the sensor is doubted if a plain coil would not do with the errors of the sensors taken off", coilHardUA, "W/K", own+": half above the best plain coil, for outputs are not known better; quick coils of 1.5 to 3 m² come to 1000 to 1800 W/K at 600 to 700 W/(m² K) (from memory), and the record cannot tell one from a sensor that reads high"),
			c("flow and return may have been read, before the end of a reheat, by as much as", lastPair.Minutes(), "min", own+": the store warms by 1 to 2 K in that time"),
			c("a matter to act on below", growthC, "°C", own+": Legionella grows from 20 to 45 °C (HSE)"),
			c("reheats end at the same temperature within", sameK, "K", own),
			c("reheats end at the same time of day within", sameClock.Minutes(), "min", own),
			c("a coil needs a flow above the store of at least", aboveStore, "K", own),
			c("flow − return is little at the end of a reheat below", littleK, "K", "coil scaled or too small: flow at its limit and under 5 K (common practice, no source)"),
			c("a store recovers slowly below", slowRise, "K/h", own),
			c("reheats whose ends are compared, at least", fewReheats, "", own),
		}, weights()...),
		Spared: spared,
		Run:    run,
	}
}

func spared(p analyse.Plant) string {
	switch p.HotWater {
	case analyse.NoHotWater:
		return "there is no cylinder"
	case analyse.InstantaneousHotWater:
		return "there is no cylinder: hot water is made as it flows, nothing is stored"
	}
	return ""
}

func run(p *analyse.Pass) {
	s, second, why := gather(p)
	if why != "" {
		p.NotAssessable(fmt.Sprintf("the cylinder's sensor is not to be relied on (%s): see to it, or put a probe under the cylinder's insulation in its upper third", why))
		return
	}
	if len(s.days) == 0 {
		p.NotAssessable("the cylinder's sensor gave no temperature that water can have: have it looked at, or put a probe under the cylinder's insulation")
		return
	}
	cool := s.coolest()
	if second != nil {
		if s, cool = weighBoth(p, s, second); s == nil {
			return
		}
	}
	err := s.error(p)
	p.Measured("hottest stored water", "%.1f °C in the coolest %s, by %s (±%.1f K; in a pocket it may read lower than the water by another %.1f K)", cool.hottest, cool.words(), s.source, err, pocketK)
	p.Measured("reheats seen", "%d, the store known for %s", len(s.reheats), analyse.Span(s.seen))
	p.LeftOpen("where the sensor sits", "near the top it tells the hottest water, near the bottom the coolest: what lies elsewhere in the store is not known")
	switch {
	case s.fastest > pipeRise:
		p.NotAssessable(fmt.Sprintf("the sensor warms by up to %.0f K a minute, as no store can: it may sit on a pipe of the coil. Put it into the cylinder's pocket, or on its wall under the insulation in the upper third", s.fastest))
	case s.still() && s.heatedFor(p):
		p.NotAssessable(fmt.Sprintf("the sensor stands at %.1f °C while the store was heated: it does not follow the water. See whether it is seated and whole", s.hottest))
	case cool.hottest >= hygieneC:
		s.reached(p, cool, err)
	case s.seen < leastSeen:
		p.NotAssessable(fmt.Sprintf("the store reached %.1f °C, but its temperature was seen for %s only; %s are needed, a week is better: a weekly heating-up counts", cool.hottest, analyse.Span(s.seen), analyse.Span(leastSeen)))
	case cool.longest > mayHide || cool.seen.Seconds() < seenShare*cool.length.Seconds():
		p.NotAssessable(fmt.Sprintf("no reading above %.1f °C in the coolest %s, but the store was not seen for %s at a stretch (%.0f %% of the time was seen): a reheat may have come in between. Log without gaps for a week",
			cool.hottest, cool.words(), analyse.Span(cool.longest), 100*cool.seen.Seconds()/cool.length.Seconds()))
	default:
		s.below(p, cool, err)
	}
}

// coolEnds is the temperature from which a reheat's end is looked at, °C: the hotter half.
func (s *store) coolEnds() float64 {
	var last []float64
	for _, r := range s.reheats {
		last = append(last, float64(r.Last))
	}
	return median(last)
}

// output is what the appliance makes at a modulation, kW; 0: not known.
func output(p *analyse.Pass, mod float64) float64 {
	least, most := p.Plant.OutputMin, p.Plant.OutputMax
	if !most.Known {
		return 0
	}
	low := 0.25 * float64(most.Value)
	if least.Known {
		low = float64(least.Value)
	}
	return low + (float64(most.Value)-low)*mod/100
}

// heatedFor tells whether the appliance made hot water for the store for a good while.
func (s *store) heatedFor(p *analyse.Pass) bool {
	var total time.Duration
	for i := range p.Facts.Firings {
		if f := &p.Facts.Firings[i]; f.Use == episode.HotWater && f.UseKnown {
			total += f.Duration()
		}
	}
	return total >= time.Hour
}
