package circulation

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"tundish/analyse"
)

// Weights of the causes. Own proposals: pumps fail and stick most, air comes with work on the water, valves shut by
// themselves or by hand.
const (
	pumpBase, airBase, valvesBase, leakBase = 0.45, 0.4, 0.35, 0.15
	// saidOff is what a pump's own word that it is off while the burner runs adds to the pump.
	saidOff = 0.4
	// comesBack is what a circulation that comes and goes adds to the pump, and takes from air: a pump that sticks
	// runs again when tapped or warm; air does not go by itself. One recovery alone says little: somebody may have
	// vented.
	comesBack, cameBackOnce = 0.25, 0.1
	// afterWork is what water let in the day before adds to air.
	afterWork = 0.3
	// hotWaterMoves is what hot-water firings with water moving, between those without, add to valves and take from
	// the pump, which serves both, and half of it from air. At an instantaneous appliance they go round inside it and say
	// nothing of the pipes outside: the pump alone is the less likely for them.
	hotWaterMoves = 0.4
	// hotWaterStands is what hot-water firings without water take from the heating's valves.
	hotWaterStands = 0.2
	// warmRooms is what hours of sound running before, in the same demand, add to valves: thermostatic valves shut
	// when rooms are warm.
	warmRooms = 0.15
	// atOnce is what a stop from one firing to the next, after a long sound burn, adds to the pump: valves that shut
	// one by one shorten the burns and spread flow and return first. Not where hot water finds water moving.
	atOnce = 0.1
	// dry and filled are the supports of a leak with a pressure below the least, and above it.
	dry, filled = 0.85, 0.05

	// workWithin is how long before the first such firing work on the water counts.
	workWithin = 24 * time.Hour
	// warmWithin is how shortly before it water must have moved for the rooms to be warm of it.
	warmWithin = 30 * time.Minute
	// recovers is how long the burner must run with water moving, after a stretch without, for the circulation to have
	// come back. Own proposal: the time in which a heating's water goes round.
	recovers = 5 * time.Minute
	// reheatMost is for how long a reheat of a cylinder burns at the most: 200 l by 45 K take 10.5 kWh, with 5 kW two hours
	// (worked out from V·ρ·c).
	reheatMost = 2 * time.Hour
	// roomsCool is how long without water rooms have cooled for thermostatic valves to open again: what lasts longer is
	// not theirs. Own proposal: some tenths of a kelvin an hour in a heated house, against a valve's band of 1 to 2 K.
	roomsCool = 4 * time.Hour
	// emptyBar is the pressure below which a circuit is short of water where no least one is stated, bar (common
	// practice, no source).
	emptyBar = 0.5
)

// comesAndGoes tells whether the circulation came and went.
func (s signs) comesAndGoes() bool { return s.spells > 1 && !s.guessed }

func (s signs) causes(p *analyse.Pass) []analyse.Cause {
	all := []analyse.Cause{s.pump(), s.air(), s.valves(), s.leak(p)}
	slices.SortStableFunc(all, func(x, y analyse.Cause) int { return cmp.Compare(y.Support, x.Support) })
	return all
}

func (s signs) pump() analyse.Cause {
	c := analyse.Cause{Cause: "pump", Support: pumpBase, Because: "the burner lit as told, and nothing carried its heat away",
		Settle: "listen and feel whether the pump turns, and measure whether it gets its mains; a qualified person frees or replaces it"}
	switch {
	case s.off > 0:
		c.Support += saidOff
		c.Because = fmt.Sprintf("the pump was said to be off in %s", analyse.Count(s.off, "firing"))
	case s.on > 0 && s.off == 0:
		c.Because = "the pump was said to run: if it is the pump, it is stuck or its wheel is worn"
	}
	switch {
	case s.comesAndGoes():
		c.Support += comesBack
		c.Because += fmt.Sprintf("; it came and went in %d stretches, as with a pump that sticks", s.spells)
	case s.healed && !s.guessed:
		c.Support += cameBackOnce
		c.Because += "; the water moved again later"
	}
	if s.sudden > 0 && s.reheats == 0 && !s.guessed {
		c.Support += atOnce
		c.Because += fmt.Sprintf("; it stopped from one firing to the next, after a sound burn of %s", analyse.Span(s.sudden))
	}
	if s.reheats > 0 {
		c.Support -= hotWaterMoves
		c.Because += fmt.Sprintf("; but amid them %s found water moving", s.reheatWords())
	}
	return clamped(c)
}

func (s signs) air() analyse.Cause {
	c := analyse.Cause{Cause: "air-lock", Support: airBase, Because: "air at a high point stops the water as a shut valve does",
		Settle: "vent the radiators, the pump and the high points, top up as the maker says, and watch one firing"}
	if s.refilled {
		c.Support += afterWork
		c.Because += "; water was let in within the day before"
	}
	switch {
	case s.comesAndGoes():
		c.Support -= comesBack
		c.Because += "; but it came and went, which air seldom does"
	case s.healed && !s.guessed:
		c.Because += "; the water moved again later: somebody may have vented it"
	case s.soundBefore && !s.guessed:
		c.Because += "; water moved before, and never after"
	}
	if s.reheats > 0 && !s.plate {
		c.Support -= hotWaterMoves / 2
		c.Because += "; the way through the cylinder was free of it"
	}
	return clamped(c)
}

func (s signs) valves() analyse.Cause {
	c := analyse.Cause{Cause: "closed-valves", Support: valvesBase, Because: "a motor valve that stays shut, or radiators all shut, leave no way round",
		Settle: "look at the heating's motor valve by its lever, and open every radiator valve; then watch one firing"}
	if s.deadReheats > 0 && s.reheats == 0 {
		c.Support -= hotWaterStands
		c.Because += fmt.Sprintf("; but %s for hot water found no water moving either", analyse.Count(s.deadReheats, "firing"))
	}
	if s.reheats > 0 {
		c.Because += fmt.Sprintf("; %s amid them found water moving: only the heating's way is shut", s.reheatWords())
		if !s.plate {
			c.Support += hotWaterMoves
		}
	}
	switch {
	case s.warm && s.lasts >= roomsCool:
		c.Because += fmt.Sprintf("; but it went on for %s, in which rooms cool and thermostatic valves open again", analyse.Span(s.lasts))
	case s.warm:
		c.Support += warmRooms
		c.Because += "; it began after water had moved in the same hours, when rooms are warm and thermostatic valves shut"
	}
	return clamped(c)
}

func (s signs) leak(p *analyse.Pass) analyse.Cause {
	c := analyse.Cause{Cause: "leak", Support: leakBase, Because: "the water pressure is not known: a circuit short of water does not circulate",
		Settle: "read the pressure gauge before anything else; if it is low, find where the water went"}
	low := emptyBar
	if p.Plant.MinimumPressure.Known {
		low = float64(p.Plant.MinimumPressure.Value)
	}
	switch {
	case s.pressureKnown && s.pressure < low:
		c.Support, c.Because = dry, fmt.Sprintf("the water pressure was %.1f bar", s.pressure)
	case s.pressureKnown:
		c.Support, c.Because = filled, fmt.Sprintf("the water pressure was %.1f bar, which is enough", s.pressure)
	}
	return clamped(c)
}

func (s signs) reheatWords() string {
	if s.guessed {
		return analyse.Count(s.reheats, "run") + " of firings, perhaps for the cylinder,"
	}
	return analyse.Count(s.reheats, "hot-water firing")
}

func clamped(c analyse.Cause) analyse.Cause {
	c.Support = min(1, max(0.02, c.Support))
	return c
}
