package water

import (
	"fmt"
	"math"
)

// Side is the pipe in which a volume is measured. It decides the density: between flow and return of 70/50 °C lies 1.0 %.
type Side uint8

const (
	// NotKnown takes density and specific heat at the mean temperature; the error is half of what lies between the sides.
	NotKnown Side = iota
	// InReturn is usual: heat meters sit in the cooler pipe (EN 1434-6, from memory); a hot water draw is measured cold.
	InReturn
	// InFlow is the hotter pipe.
	InFlow
)

func (s Side) String() string {
	switch s {
	case InReturn:
		return "return"
	case InFlow:
		return "flow"
	}
	return "not known"
}

// HeatKWhPerM3 is the heat that a cubic metre gives which comes at flowC and leaves at returnC, measured on a side,
// kWh/m³; the number is also kW for each m³/h. Below 0 where the return is the hotter.
func (l Liquid) HeatKWhPerM3(flowC, returnC float64, meter Side) (float64, error) {
	if err := l.Check(); err != nil {
		return 0, err
	}
	if err := inRange("flow temperature", flowC); err != nil {
		return 0, err
	}
	if err := inRange("return temperature", returnC); err != nil {
		return 0, err
	}
	const kJPerKWh = 3600
	switch mean := (flowC + returnC) / 2; meter {
	case InReturn:
		return l.density(returnC) * l.heatBetween(flowC, returnC) / kJPerKWh, nil
	case InFlow:
		return l.density(flowC) * l.heatBetween(flowC, returnC) / kJPerKWh, nil
	case NotKnown:
		heat := l.HeatKJKgK
		if l.IsWater() {
			heat = between(&heatKJKgK, mean)
		}
		return l.density(mean) * heat * (flowC - returnC) / kJPerKWh, nil
	}
	return 0, fmt.Errorf("side %d of the meter: it is in the flow, in the return, or not known", meter)
}

// PowerKW is the heat that a volume flow carries, kW, by its volume in m³/h, 0 or above.
func (l Liquid) PowerKW(m3h, flowC, returnC float64, meter Side) (float64, error) {
	if !(m3h >= 0) || math.IsInf(m3h, 0) {
		return 0, fmt.Errorf("volume flow is %g m³/h: it is 0 or above", m3h)
	}
	each, err := l.HeatKWhPerM3(flowC, returnC, meter)
	return m3h * each, err
}

// FlowM3H is the volume flow that carries a heat, m³/h on the meter's side, by its power in kW, 0 or above. Flow must be
// hotter than return.
func (l Liquid) FlowM3H(kW, flowC, returnC float64, meter Side) (float64, error) {
	if !(kW >= 0) || math.IsInf(kW, 0) {
		return 0, fmt.Errorf("power is %g kW: it is 0 or above", kW)
	}
	each, err := l.HeatKWhPerM3(flowC, returnC, meter)
	if err != nil {
		return 0, err
	}
	if each <= 0 {
		return 0, fmt.Errorf("flow %g °C is not hotter than return %g °C: no volume carries heat then", flowC, returnC)
	}
	out := kW / each
	if math.IsInf(out, 0) {
		return 0, fmt.Errorf("flow %g °C and return %g °C lie too close together to carry %g kW", flowC, returnC, kW)
	}
	return out, nil
}
