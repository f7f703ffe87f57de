package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/analyse/sizing"
	"tundish/analyse/suit"
	"tundish/dashboards/report"
	"tundish/decode/unit"
)

const (
	// insideUsual is the rooms' design temperature where neither job sheet nor house file tells it, °C. Own proposal, the
	// same as of the check on the plant's size.
	insideUsual = 20.0
	// coldestLine and lineStep are from where on, and how closely, the measured load is told by outside temperature. Own
	// proposals.
	coldestLine, lineStep = -25.0, 0.5
)

// suitOf puts together whether plant and house suit each other, from what the record shows and what the house file says;
// h is nil where there is none. Nil where nothing can be told.
func suitOf(r *analyse.Result, plant analyse.Plant, h *houseSide) *report.Suit {
	out := &report.Suit{}
	in := &suit.Input{ComputedMissing: "no house file was given, from which a heat loss could be computed"}
	inside := insideUsual
	switch {
	case plant.InsideDesign.Known:
		inside = float64(plant.InsideDesign.Value)
	case h != nil:
		inside = h.insideC()
	}
	if h != nil && !plant.OutsideDesign.Known {
		plant.OutsideDesign = analyse.Some(unit.Celsius(h.loss.OutsideC))
	}
	assumedInside := !plant.InsideDesign.Known && h == nil
	measured(in, r.Facts, plant, inside)
	if assumedInside && in.Measured != nil {
		out.Assumptions = append(out.Assumptions, suit.Assumption{What: "rooms' design temperature", Value: inside, Unit: "°C", Source: "own proposal"})
	}
	plantOutputs(in, r.Facts, plant)
	hoursSeen(in, r.Facts)
	delivered(in, r.Facts)
	if h != nil {
		h.add(in, out, plant)
	} else {
		sheetLoad(in, plant, inside)
		in.NeededMissing = "no house file was given, from which the emitters would be known"
	}
	if in.Computed == nil && in.Measured == nil && len(in.Delivered) == 0 {
		return nil
	}
	out.Answer = suit.Judge(*in)
	return out
}

// measured takes the load by the heat that was made.
func measured(in *suit.Input, f *episode.Facts, plant analyse.Plant, inside float64) {
	if f == nil {
		in.MeasuredMissing = "the record holds no episodes"
		return
	}
	m := sizing.Measure(f, plant)
	if m.Refused != "" {
		in.MeasuredMissing = m.Refused
		return
	}
	s := m.Signature
	perK := m.At(0, 1)
	out := &suit.Measured{Basis: string(m.Basis), Days: s.N, WPerK: watts(perK.LossKW, perK.Loss), BaseW: 1000 * s.Base, BalanceC: s.Balance}
	if plant.OutsideDesign.Known {
		o := float64(plant.OutsideDesign.Value)
		l := m.At(o, inside)
		out.Design = &suit.MeasuredDesign{OutsideC: o, InsideC: inside, InUseW: watts(l.KW, l.InUse), LossW: watts(l.LossKW, l.Loss)}
	}
	for te := coldestLine; te < s.Balance; te += lineStep {
		l := m.At(te, inside)
		out.Line = append(out.Line, suit.LinePoint{OutsideC: te, W: watts(l.KW, l.InUse)})
	}
	for _, d := range m.Days {
		out.Points = append(out.Points, suit.DayPoint{OutsideC: d.Outside, W: 1000 * d.Power})
	}
	if m.Assumed != "" {
		out.Remarks = append(out.Remarks, "assumed: "+m.Assumed)
	}
	if m.Undivided {
		out.Remarks = append(out.Remarks, "heat for hot water cannot be told from that for heating and is in the load in use")
	}
	if s.Lag > 0 {
		out.Remarks = append(out.Remarks, fmt.Sprintf("the line is by the weather of the days before too, each with %.1f of the weight of the one after it, so that single days lie off it", s.Lag))
	}
	out.Remarks = append(out.Remarks, "the load in use is that of the people who live there: rooms kept cool or set back make it smaller than the design figure")
	in.Measured = out
}

func watts(kw float64, i sizing.Interval) suit.Estimate {
	return suit.Estimate{Value: 1000 * kw, Low: 1000 * i.Low, High: 1000 * i.High}
}

func plantOutputs(in *suit.Input, f *episode.Facts, plant analyse.Plant) {
	if f == nil {
		f = &episode.Facts{}
	}
	o := sizing.OutputsOf(f, plant)
	in.Plant.HeatPump = plant.Kind == "heat-pump"
	if o.Max.Known {
		in.Plant.GreatestW, in.Plant.GreatestFrom = 1000*o.Max.Value, o.MaxFrom
	}
	if o.Min.Known && (!o.Max.Known || o.Min.Value <= o.Max.Value) {
		in.Plant.LeastW, in.Plant.LeastFrom = 1000*o.Min.Value, o.MinFrom
	}
}

// sheetLoad takes the heat loss of the job sheet where there is no house file.
func sheetLoad(in *suit.Input, plant analyse.Plant, inside float64) {
	d, o := plant.DesignHeatLoss, plant.OutsideDesign
	switch {
	case !d.Known || d.Value <= 0:
		in.ComputedMissing += ", and design_heat_loss_kw is not in the job sheet"
	case !o.Known || inside <= float64(o.Value):
		in.ComputedMissing = "design_heat_loss_kw is in the job sheet, but outside_design_c is not"
	default:
		w := 1000 * float64(d.Value)
		in.Computed = &suit.Computed{From: "the job sheet", DesignW: suit.Exactly(w), WPerK: suit.Exactly(w / (inside - float64(o.Value))),
			InsideC: inside, OutsideC: float64(o.Value)}
	}
}

// hoursSeen are the record's own hours by outside temperature.
func hoursSeen(in *suit.Input, f *episode.Facts) {
	in.HoursMissing = "no outside temperature was recorded, and no typical year was given"
	if f == nil {
		return
	}
	by := map[int]float64{}
	for _, d := range f.Days {
		for _, o := range d.Weather.Outside {
			by[o.C] += float64(o.Seconds) / 3600
		}
	}
	for c, h := range by {
		in.Hours.Bins = append(in.Hours.Bins, suit.HourBin{OutsideC: float64(c), H: h})
	}
	slices.SortFunc(in.Hours.Bins, func(a, b suit.HourBin) int { return cmp.Compare(a.OutsideC, b.OutsideC) })
	if len(in.Hours.Bins) > 0 {
		in.Hours.Source = "by the outside temperature of this record"
	}
}

// delivered is the flow temperature while firing for heating by outside temperature, by the source that saw most of it.
func delivered(in *suit.Input, f *episode.Facts) {
	in.DeliveredWhy = "no firing for heating was seen with both flow and outside temperature"
	if f == nil {
		return
	}
	type sum struct{ seconds, flowS float64 }
	by, total := map[string]map[int]sum{}, map[string]float64{}
	for _, d := range f.Days {
		for _, x := range d.Weather.Flow {
			if by[x.Source] == nil {
				by[x.Source] = map[int]sum{}
			}
			for _, b := range x.Bins {
				s := by[x.Source][b.C]
				by[x.Source][b.C] = sum{s.seconds + float64(b.Seconds), s.flowS + b.FlowS}
				total[x.Source] += float64(b.Seconds)
			}
		}
	}
	for source, t := range total {
		if best := in.DeliveredFrom; best == "" || t > total[best] || t == total[best] && source < best {
			in.DeliveredFrom = source
		}
	}
	for c, s := range by[in.DeliveredFrom] {
		if s.seconds > 0 {
			in.Delivered = append(in.Delivered, suit.Delivered{OutsideC: float64(c), FlowC: s.flowS / s.seconds, H: s.seconds / 3600})
		}
	}
	slices.SortFunc(in.Delivered, func(a, b suit.Delivered) int { return cmp.Compare(a.OutsideC, b.OutsideC) })
}

// curveAtC are the outside temperatures at which a curve is told: the design's, then each full 5 °C below the one from
// which nothing needs heating.
func curveAtC(outside, neutral float64) []float64 {
	const step, near = 5.0, 0.5
	out := []float64{outside}
	for te := step * math.Ceil(outside/step); te < neutral-near; te += step {
		if te > outside {
			out = append(out, te)
		}
	}
	return out
}
