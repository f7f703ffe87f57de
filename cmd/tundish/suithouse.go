package main

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"tundish/analyse"
	"tundish/analyse/building"
	"tundish/analyse/emitter"
	"tundish/analyse/suit"
	"tundish/cmd/tundish/housefile"
	"tundish/cmd/tundish/jobsheet"
	"tundish/dashboards/report"
)

// houseSide is a house file with its heat loss, for the question whether plant and house suit each other.
type houseSide struct {
	file     *housefile.File
	loss     *building.Result
	warnings []string
}

// houseSideOf reads a house file; "" gives nil.
func houseSideOf(path string) (*houseSide, error) {
	if path == "" {
		return nil, nil
	}
	f, loss, o, err := heatLossOf(path)
	if err != nil {
		return nil, err
	}
	return &houseSide{f, loss, o.Warnings}, nil
}

// houseSideKept is the house file that is kept with a job sheet; nil where none is.
func houseSideKept(sheet *jobsheet.Sheet) (*houseSide, error) {
	if sheet.Site.House == "" || len(sheet.Site.HouseText) == 0 {
		return nil, nil
	}
	f, err := housefile.Parse(sheet.Site.House, sheet.Site.HouseText)
	if err != nil {
		return nil, err
	}
	loss, o, err := lossOf(f)
	if err != nil {
		return nil, err
	}
	return &houseSide{f, loss, o.Warnings}, nil
}

// insideC is where the load line of the whole house comes to nothing: the rooms' temperatures by their loss to outside.
func (h *houseSide) insideC() float64 {
	sum, perK := 0.0, 0.0
	for _, r := range h.loss.Rooms {
		sum, perK = sum+r.WPerK*r.InsideC, perK+r.WPerK
	}
	if perK <= 0 {
		return insideUsual
	}
	return sum / perK
}

const (
	// flowUsual and returnUsual are the water at design where nobody tells it, °C. Common practice for condensing boilers,
	// no source.
	flowUsual, returnUsual = 70.0, 50.0
)

// add puts the computed side into an input and a chapter.
func (h *houseSide) add(in *suit.Input, out *report.Suit, plant analyse.Plant) {
	out.HouseFile, out.Warnings = filepath.Base(h.file.Name), slices.Clone(h.warnings)
	h.load(in)
	h.rooms(out)
	h.year(in, out)
	h.emitters(in, out, plant)
	out.Assumptions = append(out.Assumptions, h.loss.Assumptions...)
}

// load is that of the whole house, with infiltration counted once.
func (h *houseSide) load(in *suit.Input) {
	l, inside := h.loss, h.insideC()
	span := inside - l.OutsideC
	if span <= 0 || l.Whole.TotalW <= 0 {
		in.ComputedMissing = "by the house file the house loses nothing in design weather"
		return
	}
	within := func(w, off float64) suit.Estimate {
		return suit.Estimate{Value: w, Low: max(0, w-off), High: w + off}
	}
	in.Computed = &suit.Computed{From: "the house file " + filepath.Base(h.file.Name), DesignW: within(l.Whole.TotalW, l.UncertaintyW),
		WPerK: within(l.Whole.TotalW/span, l.UncertaintyW/span), InsideC: inside, OutsideC: l.OutsideC}
	in.ComputedMissing = ""
}

// rooms are the losses by room, and by the elements' names over all rooms.
func (h *houseSide) rooms(out *report.Suit) {
	at := map[string]int{}
	add := func(name string, area, w float64) {
		i, ok := at[name]
		if !ok {
			i = len(out.Elements)
			at[name] = i
			out.Elements = append(out.Elements, report.SuitElement{Name: name})
		}
		out.Elements[i].AreaM2 += area
		out.Elements[i].LossW += w
	}
	for _, r := range h.loss.Rooms {
		out.Rooms = append(out.Rooms, report.SuitRoom{Name: r.Name, InsideC: r.InsideC, FabricW: r.FabricW, VentilationW: r.VentilationW, ExtraW: r.ReheatW})
		for _, e := range r.Elements {
			if e.Beyond != building.ToRoom {
				add(e.Name, e.AreaM2, e.LossW-e.BridgesW)
			}
		}
	}
	if h.loss.BridgesW != 0 {
		add("thermal bridges", 0, h.loss.BridgesW)
	}
	if h.loss.VentilationW != 0 {
		add("ventilation", 0, h.loss.VentilationW)
	}
}

// year takes the typical year of the file in place of the record's own hours.
func (h *houseSide) year(in *suit.Input, out *report.Suit) {
	if len(h.file.Year) == 0 {
		return
	}
	var bins []suit.HourBin
	for _, b := range h.file.Year {
		bins = append(bins, suit.HourBin{OutsideC: b.OutsideC, H: b.Hours})
	}
	year, err := suit.Year(bins, "outside_hours of the house file")
	if err != nil {
		out.Warnings = append(out.Warnings, err.Error()+"; it was not used")
		return
	}
	in.Hours = year
}

// water is flow and return at design: by the house file, else by the job sheet, else usual, which is told.
func (h *houseSide) water(out *report.Suit, plant analyse.Plant) (flow, ret float64) {
	flow, ret, source := usualWater(h.file)
	switch f := h.file; {
	case f.DesignFlowC != nil && f.DesignReturnC != nil:
		return *f.DesignFlowC, *f.DesignReturnC
	case plant.DesignFlow.Known && plant.DesignReturn.Known && plant.DesignFlow.Value > plant.DesignReturn.Value:
		return float64(plant.DesignFlow.Value), float64(plant.DesignReturn.Value)
	}
	out.Assumptions = append(out.Assumptions, suit.Assumption{What: "flow at design", Value: flow, Unit: "°C", Source: source},
		suit.Assumption{What: "return at design", Value: ret, Unit: "°C", Source: source})
	return flow, ret
}

// emitters are what the rooms' emitters give, and the curve that they need.
func (h *houseSide) emitters(in *suit.Input, out *report.Suit, plant analyse.Plant) {
	if len(h.file.Rooms) == 0 {
		in.NeededMissing = "the house file tells no emitters: [[room.radiator]] or [[room.underfloor]]"
		return
	}
	s := h.file.System(h.loss)
	flow, ret := h.water(out, plant)
	around := emitter.Circulation{SpreadK: flow - ret}
	gives, err := s.Outputs(flow, ret, h.file.Mean)
	if err == nil {
		var low emitter.Lowest
		if low, err = s.LowestFlow(1, around, h.file.Mean); err == nil {
			for i, r := range gives {
				room := suit.Room{Name: r.Name, NeedW: r.NeedW, OutputW: r.OutputW, EmitterKnown: !r.NoEmitter}
				if x := low.Rooms[i]; x.Reached && !r.NoEmitter {
					room.LowestFlowC = x.FlowC
				}
				in.Rooms = append(in.Rooms, room)
			}
		}
	}
	if err != nil {
		in.NeededMissing = "the emitters could not be reckoned: " + err.Error()
		return
	}
	out.EmittersAt = fmt.Sprintf("%g/%g °C", flow, ret)
	out.Assumptions = append(out.Assumptions, s.Assumptions(h.file.Mean)...)
	h.curve(in, out, s, around)
}

// curve is the flow that the emitters need by the measured load, else by the computed one. Rooms without emitters are
// heated by their neighbours and stay out.
func (h *houseSide) curve(in *suit.Input, out *report.Suit, s emitter.System, around emitter.Circulation) {
	var without []string
	s.Rooms = slices.DeleteFunc(slices.Clone(s.Rooms), func(r emitter.Room) bool {
		none := len(r.Radiators)+len(r.Underfloor) == 0
		if none && r.NeedW > 0 {
			without = append(without, r.Name)
		}
		return none
	})
	s.Pipes = nil
	load := emitter.Load{NeutralC: h.insideC()}
	in.NeededBy = "the computed load, gains ignored"
	if m := in.Measured; m != nil && m.Design != nil {
		in.NeededBy = "the measured load in use"
		load = emitter.Load{DesignW: m.Design.InUseW.Value * s.NeedW() / max(1, h.file.System(h.loss).NeedW()), NeutralC: min(m.BalanceC, h.insideC())}
		// The measured load is told for its own design temperature.
		if d := m.Design.OutsideC; d != s.OutsideC && load.NeutralC > d {
			load.DesignW *= (load.NeutralC - s.OutsideC) / (load.NeutralC - d)
		}
	}
	points, err := s.WeatherCurve(load, around, h.file.Mean, curveAtC(s.OutsideC, load.NeutralC))
	if err != nil {
		in.NeededMissing = "the curve could not be reckoned: " + err.Error()
		return
	}
	var short []string
	for _, p := range points {
		switch {
		case p.Heating && p.Reached:
			in.Needed = append(in.Needed, suit.CurvePoint{OutsideC: p.OutsideC, FlowC: p.FlowC})
		case p.Heating:
			short = p.Limiting
		}
	}
	if len(in.Needed) < 2 {
		in.Needed, in.NeededMissing = nil, "no flow temperature that water can have is enough for "+strings.Join(short, ", ")
		return
	}
	if len(without) > 0 {
		out.Warnings = append(out.Warnings, "rooms that have no emitters in the house file are left out of the weather curve: "+strings.Join(without, ", "))
	}
}
