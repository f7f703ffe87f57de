package suit

import (
	"fmt"
	"strings"
)

const (
	// HeatingLimitUsual is the outside temperature from which no heat is needed where no balance was measured and no gains
	// are given, °C.
	HeatingLimitUsual       = 15.5
	heatingLimitUsualSource = "British convention for degree-days (CIBSE TM41, from memory)"
	// LowFlowUsual is the flow temperature that counts as low where none is given, °C.
	LowFlowUsual       = 55.0
	lowFlowUsualSource = "England, Approved Document L volume 1, 2021 edition: highest flow temperature of new and replaced wet systems (from memory)"
)

// Told is an answer, or what is missing for it.
type Told[T any] struct {
	Value   T
	Missing string // "" where there is an answer
}

// Known tells whether there is an answer.
func (t Told[T]) Known() bool { return t.Missing == "" }

// Side is what one way of knowing the load says.
type Side struct {
	WPerK Told[Estimate]
	// LossW is the load at design temperatures with no gains taken off, InUseW the one with gains and habits.
	LossW, InUseW Told[Estimate]
	// GreatestRatio and LeastRatio are output ÷ LossW; those in use ÷ InUseW.
	GreatestRatio, LeastRatio           Told[Estimate]
	GreatestRatioInUse, LeastRatioInUse Told[Estimate]
	SteadyBelowC                        Told[Steady]
	Hours                               Told[Hours]
	LimitC                              float64 // °C outside from which no heat is needed
}

// Result is the whole answer.
type Result struct {
	Input              Input
	Computed, Measured Side
	Agreement          Told[Agreement]
	Curve              Told[Curve]
	LowTemperature     Told[LowTemperature]
	Assumptions        []Assumption
}

// Judge answers as far as the input goes.
func Judge(in Input) Result {
	r := Result{Input: in}
	limit := r.limit()
	r.Computed = r.computed(limit)
	r.Measured = r.measured(limit)
	r.Agreement = r.agreement()
	r.Curve = r.curve()
	r.LowTemperature = r.lowTemperature()
	return r
}

func (r *Result) assume(what string, v float64, unit, source string) {
	r.Assumptions = append(r.Assumptions, Assumption{What: what, Value: v, Unit: unit, Source: source})
}

// limit is the outside temperature from which no heat is needed: measured, else by the gains given, else the usual one;
// never above the rooms' own.
func (r *Result) limit() float64 {
	m, c := r.Input.Measured, r.Input.Computed
	inside, known := 0.0, false
	switch {
	case c != nil:
		inside, known = c.InsideC, true
	case m != nil && m.Design != nil:
		inside, known = m.Design.InsideC, true
	}
	capped := func(v float64) float64 {
		if known {
			return min(v, inside)
		}
		return v
	}
	switch {
	case m != nil:
		return capped(m.BalanceC)
	case c == nil:
		return HeatingLimitUsual
	case c.GainsW > 0 && c.WPerK.Value > 0:
		return capped(c.InsideC - c.GainsW/c.WPerK.Value)
	}
	r.assume("outside temperature from which no heat is needed", capped(HeatingLimitUsual), "°C", heatingLimitUsualSource)
	return capped(HeatingLimitUsual)
}

func missing[T any](parts ...string) Told[T] {
	var said []string
	for _, p := range parts {
		if p != "" {
			said = append(said, p)
		}
	}
	if len(said) == 0 {
		said = []string{"not known"}
	}
	return Told[T]{Missing: strings.Join(said, "; ")}
}

func told[T any](v T) Told[T] { return Told[T]{Value: v} }

// orElse is what is missing in words, or the words that stand for it.
func orElse(text, other string) string {
	if text == "" {
		return other
	}
	return text
}

// ratio is output ÷ load.
func ratio(outputW float64, load Told[Estimate], output string) Told[Estimate] {
	var lack []string
	if outputW <= 0 {
		lack = append(lack, "the "+output+" is not known")
	}
	if !load.Known() {
		lack = append(lack, load.Missing)
	} else if load.Value.Value <= 0 {
		lack = append(lack, "the load is nothing")
	}
	if lack != nil {
		return missing[Estimate](lack...)
	}
	e := Estimate{Value: outputW / load.Value.Value, Low: outputW / load.Value.High}
	if e.High = e.Value; load.Value.Low > 0 {
		e.High = outputW / load.Value.Low
	}
	return told(e)
}

func (r *Result) ratios(s *Side) {
	p := r.Input.Plant
	s.GreatestRatio = ratio(p.GreatestW, s.LossW, "greatest output")
	s.LeastRatio = ratio(p.LeastW, s.LossW, "least output")
	s.GreatestRatioInUse = ratio(p.GreatestW, s.InUseW, "greatest output")
	s.LeastRatioInUse = ratio(p.LeastW, s.InUseW, "least output")
}

func (r *Result) computed(limit float64) Side {
	c := r.Input.Computed
	s := Side{LimitC: limit}
	s.InUseW = missing[Estimate]("a computed load takes no gains off")
	if c == nil || !(c.WPerK.Value > 0) || !(c.DesignW.Value > 0) {
		why := orElse(r.Input.ComputedMissing, "no heat loss was computed")
		s.WPerK, s.LossW = missing[Estimate](why), missing[Estimate](why)
		s.SteadyBelowC, s.Hours = missing[Steady](why), missing[Hours](why)
		r.ratios(&s)
		return s
	}
	s.WPerK, s.LossW = told(c.WPerK), told(c.DesignW)
	r.ratios(&s)
	if c.GainsW == 0 {
		r.assume("gains taken off the computed load", 0, "W", "EN 12831, from memory: gains do not count in design weather")
	}
	r.split(&s, computedLine(*c, limit))
	return s
}

func (r *Result) measured(limit float64) Side {
	m := r.Input.Measured
	s := Side{LimitC: limit}
	if m == nil || !(m.WPerK.Value > 0) {
		why := orElse(r.Input.MeasuredMissing, "no load was measured")
		s.WPerK, s.LossW, s.InUseW = missing[Estimate](why), missing[Estimate](why), missing[Estimate](why)
		s.SteadyBelowC, s.Hours = missing[Steady](why), missing[Hours](why)
		r.ratios(&s)
		return s
	}
	s.WPerK = told(m.WPerK)
	if d := m.Design; d != nil {
		s.LossW, s.InUseW = told(d.LossW), told(d.InUseW)
	} else {
		const why = "the outside design temperature is not known"
		s.LossW, s.InUseW = missing[Estimate](why), missing[Estimate](why)
	}
	r.ratios(&s)
	r.split(&s, measuredLine(*m, limit))
	return s
}

// split finds where the plant can run without stopping, and parts the hours by it.
func (r *Result) split(s *Side, l line) {
	p := r.Input.Plant
	if p.LeastW <= 0 {
		const why = "the least output is not known"
		s.SteadyBelowC, s.Hours = missing[Steady](why), missing[Hours](why)
		return
	}
	s.SteadyBelowC = told(l.steadyBelow(p.LeastW))
	if len(r.Input.Hours.Bins) == 0 {
		s.Hours = missing[Hours](orElse(r.Input.HoursMissing, "no hours by outside temperature are known"))
		return
	}
	s.Hours = told(l.hours(r.Input.Hours, s.SteadyBelowC.Value, p.GreatestW))
}

// Agreement is how the two losses per kelvin stand to each other.
type Agreement struct {
	Apart    bool    // their ranges do not meet
	Computed float64 // the computed one over the measured one
}

func (r *Result) agreement() Told[Agreement] {
	c, m := r.Computed.WPerK, r.Measured.WPerK
	if !c.Known() || !m.Known() {
		var lack []string
		for _, x := range []Told[Estimate]{c, m} {
			if !x.Known() {
				lack = append(lack, x.Missing)
			}
		}
		return missing[Agreement](lack...)
	}
	return told(Agreement{Apart: c.Value.Low > m.Value.High || c.Value.High < m.Value.Low, Computed: c.Value.Value / m.Value.Value})
}

// Words says it in a sentence.
func (a Agreement) Words() string {
	share := 100 * (a.Computed - 1)
	switch {
	case !a.Apart:
		return "The two losses per kelvin agree within their ranges."
	case share > 0:
		return fmt.Sprintf("The computed loss is %.0f %% above the measured one, and their ranges do not meet: walls that lose less than their tables say, rooms kept cool or unheated, another source of heat, or a figure that was taken too high would each explain it.", share)
	}
	return fmt.Sprintf("The computed loss is %.0f %% below the measured one, and their ranges do not meet: more air than was taken, an element that was left out, heat for something else in the measurement, or a basis of measurement that reads high would each explain it.", -share)
}
