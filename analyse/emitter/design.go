package emitter

import (
	"fmt"
	"slices"
)

// Design is what a system does at one flow and return of design.
type Design struct {
	FlowC, ReturnC float64
	Mean           Mean
	Rooms          []RoomDesign
	// Without are the rooms that need heat and have no emitter. No flow temperature reaches them, so that Lowest and Curve
	// leave them out, and no pipe carries water for them.
	Without []string
	// Circulation is what Lowest and Curve were solved with: the spread of FlowC and ReturnC.
	Circulation Circulation
	// Lowest is at the design load; nil where no room with an emitter needs heat.
	Lowest *Lowest
	Load   Load
	Curve  []CurvePoint
	// CurveMissing says why there is no Curve.
	CurveMissing string
	Pipes        []PipeFlow
	Assumptions  []Assumption
}

// RoomDesign is a room at design.
type RoomDesign struct {
	RoomOutput
	// Mean is the one that the output took: never ByRule.
	Mean Mean
	// ArithmeticW and LogarithmicW are the output by either mean, W.
	ArithmeticW, LogarithmicW float64
	// Lowest is the flow temperature that the room asks for at its need.
	Lowest   RoomFlow
	Emitters []EmitterDesign
}

// EmitterDesign is one radiator or heated floor at design.
type EmitterDesign struct {
	// Name is as told; else empty.
	Name    string
	Floor   bool
	OutputW float64
	// WaterLPH is its part of the room's water, by its part of the output, l/h.
	WaterLPH float64
}

// Used is the mean that a condition takes: never ByRule.
func (m Mean) Used(c Condition) Mean { return m.of(c) }

// heated tells whether there is anything that heats a room.
func (r Room) heated() bool { return len(r.Radiators)+len(r.Underfloor) > 0 }

// Design asks a system all at once. Where no room has any emitter, the pipes alone are told, with the water of all needs.
func (s System) Design(flowC, returnC float64, m Mean, l Load) (Design, error) {
	out := Design{FlowC: flowC, ReturnC: returnC, Mean: m, Load: l, Circulation: Circulation{SpreadK: flowC - returnC}, Assumptions: s.Assumptions(m)}
	if err := out.Circulation.Check(); err != nil {
		return Design{}, err
	}
	gives, err := s.Outputs(flowC, returnC, m)
	if err != nil {
		return Design{}, err
	}
	if !slices.ContainsFunc(s.Rooms, Room.heated) {
		out.CurveMissing = "no room has an emitter"
		out.Pipes, err = s.PipeFlows(flowC, returnC)
		return out, err
	}
	with, carried := s, s
	with.Rooms, with.Pipes, carried.Rooms = nil, nil, slices.Clone(s.Rooms)
	for i, r := range s.Rooms {
		if r.heated() {
			with.Rooms = append(with.Rooms, r)
			continue
		}
		carried.Rooms[i].NeedW, gives[i].WaterLPH = 0, 0
		if r.NeedW > 0 {
			out.Without = append(out.Without, r.Name)
		}
	}
	if out.Pipes, err = carried.PipeFlows(flowC, returnC); err != nil {
		return Design{}, err
	}
	low, err := with.LowestFlow(1, out.Circulation, m)
	if err != nil {
		return Design{}, err
	}
	for i, r := range s.Rooms {
		x := RoomDesign{RoomOutput: gives[i], Mean: m.of(Condition{flowC, returnC, r.InsideC}), Lowest: RoomFlow{Name: r.Name, LoadW: r.NeedW, FlowC: r.InsideC, Reached: true}}
		if j := slices.IndexFunc(low.Rooms, func(y RoomFlow) bool { return y.Name == r.Name }); j >= 0 {
			x.Lowest = low.Rooms[j]
		} else if r.NeedW > 0 {
			x.Lowest = RoomFlow{Name: r.Name, LoadW: r.NeedW, Why: "it has no emitter"}
		}
		r.design(&x, flowC, returnC)
		out.Rooms = append(out.Rooms, x)
	}
	if !(with.NeedW() > 0) {
		out.CurveMissing = "no room with an emitter needs heat"
		return out, nil
	}
	out.Lowest = &low
	if _, err := with.ShareAt(l, s.OutsideC); err != nil { // before steps are taken up to no end
		out.CurveMissing = err.Error()
		return out, nil
	}
	if out.Curve, err = with.WeatherCurve(l, out.Circulation, m, curveSteps(s.OutsideC, l.NeutralC)); err != nil {
		out.CurveMissing = err.Error()
	}
	return out, nil
}

// design fills what each emitter of a room gives and takes.
func (r Room) design(x *RoomDesign, flowC, returnC float64) {
	c := Condition{flowC, returnC, r.InsideC}
	laws := r.laws()
	x.ArithmeticW, _ = outputOf(laws, c, Arithmetic)
	x.LogarithmicW, _ = outputOf(laws, c, Logarithmic)
	for i, law := range laws {
		e := EmitterDesign{Floor: i >= len(r.Radiators), OutputW: law.output(c, x.Mean)}
		if e.Floor {
			e.Name = r.Underfloor[i-len(r.Radiators)].Name
		} else {
			e.Name = r.Radiators[i].Name
		}
		if x.OutputW > 0 {
			e.WaterLPH = x.WaterLPH * e.OutputW / x.OutputW
		}
		x.Emitters = append(x.Emitters, e)
	}
}

// curveStepK is the step of the weather curve's outside temperatures, K. Own proposal.
const curveStepK = 5

// curveSteps are the design outside temperature, whole steps above it, and where heating ends.
func curveSteps(designC, neutralC float64) []float64 {
	out := []float64{designC}
	for c := -60.0; c < neutralC; c += curveStepK {
		if c > designC+1 && c < neutralC-1 {
			out = append(out, c)
		}
	}
	return append(out, neutralC)
}

// MeanNamed reads the name of a mean: arithmetic or logarithmic.
func MeanNamed(name string) (Mean, error) {
	switch name {
	case "arithmetic":
		return Arithmetic, nil
	case "logarithmic":
		return Logarithmic, nil
	}
	return ByRule, fmt.Errorf("%q is no mean: arithmetic or logarithmic; left out, it is arithmetic, and logarithmic where the return is far cooler than the flow", name)
}

// Word is the mean in one word.
func (m Mean) Word() string {
	switch m {
	case Arithmetic:
		return "arithmetic"
	case Logarithmic:
		return "logarithmic"
	}
	return "by-rule"
}
