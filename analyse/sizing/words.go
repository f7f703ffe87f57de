package sizing

import (
	"fmt"
	"strings"

	"tundish/analyse"
)

// bySheet says what the job sheet's figures give.
func (j *judging) bySheet(r rule) string {
	if !r.known || !j.designed.Known {
		return ""
	}
	return fmt.Sprintf("by the job sheet's heat loss of %.1f kW the %s of %.1f kW (by %s) is %s times the load", j.designed.Value, r.what, r.kw, r.from, times(r.kw/j.designed.Value))
}

// byMeasure says what the measurement gives.
func (j *judging) byMeasure(r rule) string {
	if !r.known || !j.measured {
		return ""
	}
	share := fmt.Sprintf("at least %s times that", times(r.kw/j.bounds.High))
	if j.bounds.Low > 0 {
		share = fmt.Sprintf("%s to %s times that", times(r.kw/j.bounds.High), times(r.kw/j.bounds.Low))
	}
	return fmt.Sprintf("by measurement (%s, %s) the building takes %.1f to %.1f kW at %.0f °C, and the %s of %.1f kW is %s",
		j.m.Basis, analyse.Count(len(j.m.Days), "day"), j.bounds.Low, j.bounds.High, float64(j.p.Plant.OutsideDesign.Value), r.what, r.kw, share)
}

func times(x float64) string {
	if x < 1 {
		return fmt.Sprintf("%.2f", x)
	}
	return fmt.Sprintf("%.1f", x)
}

// because says why the plant is not oversized, with remarks.
func (j *judging) because(r rule) string {
	return strings.Join(append(j.bases(r), j.remarks(r)...), "; ")
}

func (j *judging) bases(r rule) []string {
	var out []string
	for _, t := range []string{j.bySheet(r), j.byMeasure(r)} {
		if t != "" {
			out = append(out, t)
		}
	}
	return out
}

// remarks are what is worth knowing beside the answer.
func (j *judging) remarks(r rule) []string {
	var out []string
	load := j.plain()
	switch {
	case load <= 0:
	case j.hotWater == analyse.InstantaneousHotWater && j.out.Max.Known && told(j.out.Max.Value/load) >= manyTimes && r.what == "least output":
		out = append(out, fmt.Sprintf("the greatest output of %.1f kW, %s times the load, is there for hot water", j.out.Max.Value, times(j.out.Max.Value/load)))
	case j.hotWater != analyse.InstantaneousHotWater && j.out.Min.Known && told(j.out.Min.Value/load) >= leastTooMuch:
		out = append(out, fmt.Sprintf("it cannot go below %.1f kW, %s times the load at design temperature: it must start and stop in most weather", j.out.Min.Value, times(j.out.Min.Value/load)))
	}
	switch {
	case j.set.held, j.set.low && r.what == "greatest output" && load > 0 && told(r.kw/load) >= r.limit:
		out = append(out, j.setDownWords())
	}
	if j.out.Stated > 0 && j.out.MaxFrom == sheet {
		if apart := j.out.Stated/j.out.Max.Value - 1; apart > statedApart || apart < -statedApart {
			out = append(out, fmt.Sprintf("the appliance itself states %.0f kW, the job sheet %.1f kW", j.out.Stated, j.out.Max.Value))
		}
	}
	return out
}

// plain is the load as one figure, kW: by the job sheet, else measured; 0 not known.
func (j *judging) plain() float64 {
	if j.designed.Known {
		return j.designed.Value
	}
	if j.measured {
		return j.load.KW
	}
	return 0
}

// tell keeps the steps of the reasoning.
func (j *judging) tell() {
	p := j.p
	if j.out.Max.Known {
		p.Measured("greatest output", "%.1f kW by %s", j.out.Max.Value, j.out.MaxFrom)
	}
	if j.out.Min.Known {
		p.Measured("least output", "%.1f kW by %s", j.out.Min.Value, j.out.MinFrom)
	}
	if j.designed.Known {
		p.Measured("design heat loss", "%.1f kW by the job sheet", j.designed.Value)
	}
	if !j.measured {
		if !j.designed.Known {
			p.LeftOpen("load by measurement", "%s", j.m.Refused)
		}
		j.electricity()
		return
	}
	s := j.m.Signature
	shape := fmt.Sprintf("%.1f kW and %.0f W/K below %.1f °C", s.Base, 1000*s.Slope, s.Balance)
	if s.Straight {
		shape = fmt.Sprintf("a straight line, %.0f W/K, that comes to nothing at %.1f °C", 1000*s.Slope, s.Balance)
	}
	p.Measured("energy signature", "%s, from %s by %s: %s (95 %% of the slope: %.0f to %.0f W/K)", shape, analyse.Count(s.N, "day"), j.m.Basis,
		fmt.Sprintf("R² %.2f", s.RSquare), 1000*s.SlopeCI.Low, 1000*s.SlopeCI.High)
	if s.Lag > 0 {
		p.Measured("heavy walls", "the house follows the weather late: each day before counts %.1f times as much as the one after it", s.Lag)
	}
	p.Measured("load by measurement", "%.1f kW in use at the outside design temperature (%.1f to %.1f), %.1f kW with no gains taken off (%.1f to %.1f); ±%.0f %% for the basis is in both, ±%.0f K for the outside sensor in the first",
		j.load.KW, j.load.InUse.Low, j.load.InUse.High, j.load.LossKW, j.load.Loss.Low, j.load.Loss.High, 100*j.m.Error, outsideError)
	if j.m.Assumed != "" {
		p.LeftOpen("what was assumed", "%s", j.m.Assumed)
	}
	if j.m.Undivided {
		p.LeftOpen("heat for hot water", "it cannot be told from that for heating and is in the load in use; what goes with the weather is free of it")
	}
	if s.Persistence > alike {
		p.LeftOpen("days that are alike", "days that follow each other lie on the same side of the line: the intervals are %.1f times as wide for it", s.Persistence)
	}
	p.LeftOpen("habits", "the load in use is that of the people who live there, with the sun of these days: rooms kept cool, unheated or set back at night make it smaller than the design figure")
}

// alike is how much wider the interval must be for days that are alike to be told. Own proposal.
const alike = 1.3

// electricity tells the electricity of a heat pump whose heat is not known: no load can be made of it.
func (j *judging) electricity() {
	if j.p.Plant.Kind != "heat-pump" {
		return
	}
	w := way{basis: "electricity", power: electric}
	days, _ := w.days(j.p.Facts, w.power)
	if refuse(days, j.p.Facts.Days) != "" {
		return
	}
	if s, ok := FitDays(days); ok {
		j.p.Measured("electricity by the weather", "%.0f W/K of electricity (95 %%: %.0f to %.0f) from %s; heat is not known, so that this is no heat load",
			1000*s.Slope, 1000*s.SlopeCI.Low, 1000*s.SlopeCI.High, analyse.Count(s.N, "day"))
	}
}
