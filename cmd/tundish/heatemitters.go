package main

import (
	"fmt"
	"slices"

	"tundish/analyse/building"
	"tundish/analyse/emitter"
	"tundish/cmd/tundish/housefile"
	"tundish/dashboards/findings"
)

const (
	// floorFlowUsual and floorReturnUsual are the water at design where nothing but floors heats and nobody tells it, °C.
	// Common practice, no source.
	floorFlowUsual, floorReturnUsual = 40.0, 35.0
)

// usualWater is flow and return at design where nobody tells them, and the source of that.
func usualWater(f *housefile.File) (flow, ret float64, source string) {
	floors := len(f.Rooms) > 0 && !slices.ContainsFunc(f.Rooms, func(r emitter.Room) bool { return len(r.Radiators) > 0 })
	if floors {
		return floorFlowUsual, floorReturnUsual, "common practice for heated floors, no source"
	}
	return flowUsual, returnUsual, "common practice for condensing boilers, no source"
}

// heatEmitters says what a house's emitters and pipes do at design; nil where the file tells neither. An error says why it
// cannot be told; the heat loss stands without it.
func heatEmitters(f *housefile.File, loss *building.Result) (*findings.HeatEmitters, error) {
	if len(f.Rooms)+len(f.Pipes) == 0 {
		return nil, nil
	}
	var assumed []emitter.Assumption
	var doubts []string
	flow, ret, source := usualWater(f)
	if f.DesignFlowC != nil && f.DesignReturnC != nil {
		flow, ret = *f.DesignFlowC, *f.DesignReturnC
	} else {
		assumed = []emitter.Assumption{{What: "flow at design", Value: flow, Unit: "°C", Source: source}, {What: "return at design", Value: ret, Unit: "°C", Source: source}}
		if f.DesignFlowC != nil || f.DesignReturnC != nil {
			doubts = append(doubts, fmt.Sprintf("%s: design_flow_c and design_return_c belong together: one alone is not used, and %g/%g °C is taken", f.Name, flow, ret))
		}
	}
	side := houseSide{file: f, loss: loss}
	d, err := f.System(loss).Design(flow, ret, f.Mean, emitter.Load{NeutralC: side.insideC()})
	if err != nil {
		return nil, fmt.Errorf("%s: emitters and pipes are not assessable: %w", f.Name, err)
	}
	d.Assumptions = slices.Concat(assumed, d.Assumptions)
	out := &findings.HeatEmitters{Design: d, Liquid: f.Liquid.Name, Warnings: doubts,
		NeutralFrom: "the rooms' inside temperature, weighted by their loss to outside. Gains of sun, people and devices are not taken off, and lower what is needed; rooms kept warmer than that need somewhat more in mild weather"}
	if loss.WPerK <= 0 {
		out.NeutralFrom = "own proposal, as no room loses heat to outside"
	}
	for _, r := range loss.Rooms {
		if r.ReheatW > 0 {
			out.ReheatW = append(out.ReheatW, findings.RoomReheat{Name: r.Name, ReheatW: r.ReheatW})
		}
	}
	return out, nil
}
