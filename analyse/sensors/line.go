package sensors

import (
	"fmt"
	"math"
	"slices"

	"tundish/analyse"
	"tundish/decode"
)

const (
	// fitHours is the least number of hours for a line, fitNoise the least scatter of one, K: steps, lag. Own proposal.
	fitHours, fitNoise = 6, 0.3
	// fitJoined is by how much a line's error grows because one hour is like the next. Own proposal: every other tells.
	fitJoined = math.Sqrt2
	// roomError is how far the air around a pipe may be from the room's temperature, K. Own proposal.
	roomError = 3.0
	// fitError is the error of the intercept, as a share of the difference, above which the line says nothing. Own proposal.
	fitError = 0.25
)

// said is what a line tells an offset from poor contact by.
type said uint8

const (
	nothingSaid said = iota
	offsetSaid
	contactSaid
	bothSaid
)

// fit is the line difference = a + b·(water − room), in the direction in which the difference is positive. An offset is
// a, poor contact is b.
type fit struct {
	n          int
	a, b, aErr float64 // K, K/K, K (one standard deviation)
	low, high  float64 // °C, of the water
	says       said
}

// within are the compared hours from the first to the last in which the pair was over.
func (x apart) within() []hour {
	from, to := x.hours[0].At, x.hours[len(x.hours)-1].At
	return slices.DeleteFunc(slices.Clone(x.pair.hours), func(h hour) bool { return h.At.Before(from) || h.At.After(to) })
}

// fitOf draws the line by least squares; n is 0 where there is none.
func fitOf(hours []hour, load, room float64) (f fit) {
	if len(hours) < fitHours || load == 0 {
		return f
	}
	n := float64(len(hours))
	var mu, my float64
	f.low, f.high = math.Inf(1), math.Inf(-1)
	for _, h := range hours {
		mu, my = mu+level(h)-room, my+diff(h)*sign(load)
		f.low, f.high = min(f.low, level(h)), max(f.high, level(h))
	}
	mu, my = mu/n, my/n
	var suu, suy, rest float64
	for _, h := range hours {
		du := level(h) - room - mu
		suu, suy = suu+du*du, suy+du*(diff(h)*sign(load)-my)
	}
	if suu < 1 {
		return f
	}
	f.n, f.b = len(hours), suy/suu
	f.a = my - f.b*mu
	for _, h := range hours {
		e := diff(h)*sign(load) - f.a - f.b*(level(h)-room)
		rest += e * e
	}
	noise := math.Max(fitNoise, math.Sqrt(rest/(n-2)))
	f.aErr = math.Hypot(fitJoined*noise*math.Sqrt(1/n+mu*mu/suu), f.b*roomError)
	k := math.Abs(load)
	switch {
	case f.aErr > fitError*k:
	case f.a >= restOffset*k:
		f.says = offsetSaid
	case f.a <= restContact*k:
		f.says = contactSaid
	default:
		f.says = bothSaid
	}
	return f
}

func (f fit) words() string {
	s := fmt.Sprintf("over water of %.0f to %.0f °C the difference is %.1f ± %.1f K and %.1f %% of the excess over the room", f.low, f.high, f.a, 2*f.aErr, 100*f.b)
	switch f.says {
	case offsetSaid:
		return s + ": it hardly goes with the water, as an offset does and poor contact does not"
	case contactSaid:
		return s + ": it goes with the water, as poor contact does"
	case bothSaid:
		return s + ": some of each"
	}
	return s + ": too near one temperature to tell an offset from poor contact"
}

// placeCauses explains two sensors of one store or of outside air: where they are comes into question as well.
func (j *judgement) placeCauses(x apart, s shape) []analyse.Cause {
	apart := fmt.Sprintf("%.1f K apart at %.0f °C", math.Abs(s.load), s.level)
	if x.point == decode.Outside {
		return []analyse.Cause{{Cause: "sensor-offset", Support: 0.5, Because: apart + " by night, when no sun is on any of them", Settle: "hold a thermometer of known error beside each after dark"},
			{Cause: "different-place", Support: 0.45, Because: "a wall that is warmed from within, a vent or a sheltered corner is warmer than the open air", Settle: "look where each hangs: north wall, clear of windows and vents"},
			{Cause: "repeated-value", Support: 0.2, Because: "a value from a weather service is of another place", Settle: "find out where the value comes from"}}
	}
	contact := 0.5
	if isBus(j.p, s.low.Source) {
		contact = 0.35 // in a pocket, as a rule
	}
	return []analyse.Cause{
		{Cause: "poor-contact", Support: contact, Because: apart + " in the warmest hours: a probe on a store's wall or loose in its pocket reads low", Settle: "push each down its pocket with paste, or strap it on bare metal under the insulation"},
		{Cause: "different-place", Support: 0.45, Because: "the upper of two sensors is hotter, most after a draw and least after a reheat, of which these hours are", Settle: "look at which height each sits"},
		{Cause: "sensor-offset", Support: 0.4, Because: apart, Settle: bath}}
}

// doubts are the series that cannot be relied on: both, where nothing tells which.
func (j *judgement) doubts(x apart, s shape, crossed map[[2]string]string, causes []analyse.Cause) []decode.Series {
	if source, ok := crossed[[2]string{x.a, x.b}]; ok {
		return []decode.Series{{Source: source, Point: x.point}}
	}
	if _, who := j.held(s); who.Source != "" {
		return []decode.Series{who}
	}
	if wrong, words := j.odd(x, s); words != "" {
		return []decode.Series{wrong}
	}
	top := ranked(slices.Clone(causes))
	if c := top[0].Cause; isWater(x.point) && !isBus(j.p, s.low.Source) && (c == "poor-contact" || c == "probe-off-pipe") && top[0].Support >= surely {
		return []decode.Series{s.low} // contact makes none read high
	}
	return []decode.Series{x.first(), x.second()}
}

// surely is the support from which the first cause says which of two sensors is wrong. Own proposal.
const surely = 0.7
