package condensing

import (
	"cmp"
	"fmt"
	"slices"

	"tundish/analyse"
)

// The weights of the causes, 0…1. All own proposals.
const (
	flatFrom     = 0.85 // weather-compensation-missing, the flow does not follow the weather
	flatNarrow   = 0.65 // the set-point stands still, the weather moved too little to tell; or it does, but the weather needs it
	flatNot      = 0.05
	flatOpen     = 0.45 // the outside temperature is not known
	highFrom     = 0.75 // set-point-too-high, against the design in that weather
	highSteep    = 0.8  // it follows the weather, but lies above
	highOpen     = 0.4
	highNot      = 0.1
	bypassFrom   = 0.85 // little flow − return, and with the design's the return would come below the dew point
	bypassSome   = 0.4  // little flow − return, but the return would still be hot
	bypassNot    = 0.1
	bypassOpen   = 0.25
	emittersFrom = 0.8 // the design's own return lies above the dew point in that weather, and the flow is no hotter than it needs
	emittersToo  = 0.4 // it does, but the flow is hotter than even that design needs
	emittersOpen = 0.3
	emittersNot  = 0.1
	controlFrom  = 0.35
	controlNot   = 0.1
)

func weights() (out []analyse.Criterion) {
	w := func(name string, v float64) {
		out = append(out, analyse.Criterion{Name: "support of " + name, Value: v, Source: "own proposal"})
	}
	w("weather-compensation-missing, flow flat", flatFrom)
	w("weather-compensation-missing, set-point fixed over little weather or no hotter than it needs", flatNarrow)
	w("weather-compensation-missing, weather not known", flatOpen)
	w("set-point-too-high, above the design's flow", highFrom)
	w("set-point-too-high, follows the weather above it", highSteep)
	w("set-point-too-high, design not known", highOpen)
	w("bypass-open, little flow − return, and that alone keeps the return hot", bypassFrom)
	w("bypass-open, little flow − return, and the return would be hot without", bypassSome)
	w("bypass-open, flow − return not known", bypassOpen)
	w("emitters-undersized, laid out for such a return", emittersFrom)
	w("emitters-undersized, laid out for such a return, and the flow hotter still", emittersToo)
	w("emitters-undersized, design not known", emittersOpen)
	w("control, on and off at a fixed flow", controlFrom)
	return out
}

// weigh ranks the causes.
func weigh(p *analyse.Pass, v verdict) []analyse.Cause {
	s := read(p)
	var out []analyse.Cause
	add := func(cause string, support float64, settle, because string, args ...any) {
		out = append(out, analyse.Cause{Cause: cause, Support: support, Because: fmt.Sprintf(because, args...), Settle: settle})
	}
	what := "flow"
	if s.bySetpoint {
		what = "flow set-point"
	}
	p.Measured(what+" for heating", "median %.0f °C, eight in ten within %.1f K of each other", s.flow, s.spread)
	needF, needR, designed := 0.0, 0.0, false
	if s.outsideSeen {
		moved := "its range not told"
		if s.outsideAt >= leastPairs {
			moved = fmt.Sprintf("a range of %.1f K", s.outsideRange)
		}
		p.Measured("outside", "%.1f °C in the mean over the heating, %s", s.outside, moved)
		needF, needR, designed = design(p.Plant, s.outside)
	}
	if designed {
		p.Measured("the design at that weather", "%.0f/%.0f °C by EN 442", needF, needR)
	}
	hotter := designed && s.flow-needF >= hotterK
	s.compensation(p, add, what, designed && !hotter && needR > v.dewHigh)
	s.high(p, v, add, what, needF, designed)
	s.bypass(p, v, add)
	switch {
	case designed && needR > v.dewHigh && hotter:
		add("emitters-undersized", emittersToo, "bring the flow down to what the radiators need first; then work out what they give at a mean water of 45 °C (EN 442 outputs)",
			"by the job sheet's design the radiators need %.0f/%.0f °C in this weather (%.0f °C), whose return does not condense either; but the %s is hotter still", needF, needR, s.outside, what)
	case designed && needR > v.dewHigh:
		add("emitters-undersized", emittersFrom, "work out the heat loss room by room and what the radiators give at a mean water of 45 °C (EN 442 outputs): larger ones let flow and return come down",
			"by the job sheet's design the radiators need %.0f/%.0f °C in this weather (%.0f °C), and that return lies above the dew point itself", needF, needR, s.outside)
	case designed:
		add("emitters-undersized", emittersNot, "lower the flow for some days and see whether the rooms still come to temperature", "by the job sheet's design a return of %.0f °C is enough in this weather", needR)
	default:
		add("emitters-undersized", emittersOpen, "lower the flow step by step over some days and see whether the rooms still come to temperature; then work out what the radiators give (EN 442 outputs)",
			"the record does not tell whether the radiators could do with less: it needs design temperatures and outside temperature")
		p.LeftOpen("emitters too small", "not known what flow the radiators need in this weather")
	}
	if still := s.spread < evenK; still && s.onOff > 0.8 && s.n >= 4 {
		add("control", controlFrom, "see by the maker's instructions whether the boiler takes a modulating room unit or an outside sensor", "the burner runs on and off at a fixed flow: its modulation hardly moves in %.0f %% of the firings", 100*s.onOff)
	} else {
		add("control", controlNot, "read how the boiler is controlled: on and off, or by a modulating room unit", "no sign of control on and off at one output")
	}
	slices.SortStableFunc(out, func(a, b analyse.Cause) int { return -cmp.Compare(a.Support, b.Support) })
	return out
}

type adder = func(cause string, support float64, settle, because string, args ...any)

const settleCurve = "see whether an outside sensor is fitted and the heating curve switched on; set the curve by the maker's instructions and lower it until the coldest room just keeps its temperature"

// compensation looks whether the flow follows the weather. needed: this weather needs the flow, whatever sets it.
func (s signs) compensation(p *analyse.Pass, add adder, what string, needed bool) {
	const cause = "weather-compensation-missing"
	want, ok := 0.0, false
	if lowF, _, known := design(p.Plant, s.outside+slopeRangeK/2); known {
		highF, _, _ := design(p.Plant, s.outside-slopeRangeK/2)
		want, ok = (lowF-highF)/slopeRangeK, true
	}
	words := "1.2 to 2.2 K for each K are usual"
	if !ok {
		want = -1.2
	} else {
		words = fmt.Sprintf("the design asks for %.1f K/K", want)
	}
	flat, note := flatFrom, ""
	if needed {
		flat, note = flatNarrow, "; but in this weather the radiators need about that"
	}
	still := s.bySetpoint && s.spread < evenK && s.n >= 4
	switch {
	case s.slopeSeen && s.slope > flatShare*want:
		add(cause, flat, settleCurve, "the %s moves by only %.2f K for each K outside over a range of %.0f K; %s%s", what, s.slope, s.outsideRange, words, note)
	case s.slopeSeen:
		add(cause, flatNot, settleCurve, "the %s follows the weather by %.2f K for each K outside; %s", what, s.slope, words)
	case still && s.spread < standsK && -want*s.outsideRange >= movesK:
		add(cause, flat, settleCurve, "the %s stands at %.0f °C while the weather moved by %.1f K (%s): it does not follow, or is held at a limit%s", what, s.flow, s.outsideRange, words, note)
	case still:
		add(cause, flatNarrow, settleCurve, "the %s stands at %.0f °C all the time; the weather moved too little, or is not known, to tell whether it would follow", what, s.flow)
		p.LeftOpen("weather compensation", "%.0f K of outside temperature are needed to tell a slope", slopeRangeK)
	case !s.outsideSeen:
		add(cause, flatOpen, settleCurve, "the outside temperature is not in the record: whether the flow follows it is not known")
		p.LeftOpen("weather compensation", "no outside temperature")
	case s.outsideAt < leastPairs:
		add(cause, flatOpen, settleCurve, "the outside temperature is known at %d starts of the heating only: too few to tell whether the flow follows it", s.outsideAt)
		p.LeftOpen("weather compensation", "%d starts with a known outside temperature are needed", leastPairs)
	default:
		add(cause, flatOpen, settleCurve, "the weather moved by %.0f K only, %.0f K are needed to tell whether the flow follows it", s.outsideRange, slopeRangeK)
		p.LeftOpen("weather compensation", "the weather moved too little")
	}
}

// high looks whether the flow is hotter than the weather needs.
func (s signs) high(p *analyse.Pass, v verdict, add adder, what string, need float64, designed bool) {
	const cause = "set-point-too-high"
	const settle = "lower the flow set-point (or the curve) by 5 K at a time and see after a day or two whether the rooms still come to temperature; the hot water has a set-point of its own and stays as it is"
	switch {
	case designed && s.flow-need >= hotterK && s.slopeSeen && s.slope < -0.5:
		add(cause, highSteep, settle, "the %s follows the weather, but lies %.0f K above what the design needs", what, s.flow-need)
	case designed && s.flow-need >= hotterK:
		add(cause, highFrom, settle, "a %s of %.0f °C is %.0f K more than the job sheet's design needs at %.0f °C outside", what, s.flow, s.flow-need, s.outside)
	case designed:
		add(cause, highNot, settle, "the design needs about as much (%.0f °C) in this weather", need)
	default:
		add(cause, highOpen, settle, "the %s is %.0f °C; what the radiators need in this weather is not known", what, s.flow)
	}
}

// bypass looks whether the return is hot because water comes back that hardly cooled.
func (s signs) bypass(p *analyse.Pass, v verdict, add adder) {
	const cause = "bypass-open"
	const settle = "feel or measure the return before and after the bypass with radiators open; read the pump's setting; close in the bypass by the maker's instructions, so that the boiler keeps its least flow"
	if !v.spreadSeen {
		add(cause, bypassOpen, settle, "flow and return were not both known: a return warmed by a bypass cannot be told")
		p.LeftOpen("little flow − return", "flow is not known beside the return")
		return
	}
	due, limit, words := littleK, littleK, fmt.Sprintf("under %.0f K at load is little", littleK)
	if d, ok := p.Plant.DesignDeltaT(); ok {
		due = float64(d) * s.load(p)
		limit = littleShare * due
		words = fmt.Sprintf("the design has %.0f K at that load", due)
	}
	flow := s.flow // and not its mean, which has the warming-up in it
	if s.n == 0 {
		flow = v.returnC + v.spreadK
	}
	would := flow - due // the return at the difference that is due
	switch {
	case v.spreadK >= limit:
		add(cause, bypassNot, settle, "flow less return is %.1f K in the mean of the burning; %s", v.spreadK, words)
		p.RuledOut("a bypass that warms the return", "flow less return is %.1f K", v.spreadK)
	case would < v.dewHigh+nearDewK:
		add(cause, bypassFrom, settle, "flow less return is only %.1f K in the mean of the burning; %s, and with it the return would come to about %.0f °C", v.spreadK, words, would)
	default:
		add(cause, bypassSome, settle, "flow less return is only %.1f K in the mean of the burning; %s, but even with that the return would be about %.0f °C: the flow is too hot first", v.spreadK, words, would)
	}
}
