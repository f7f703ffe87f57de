package sizing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tundish/analyse"
	"tundish/analyse/episode"
)

func electric(d episode.Day) (float64, float64, bool) { return mean(d, d.Heat.Electric, 1) }

// coldestDays is how many days are shown as evidence of a measured load.
const coldestDays = 5

// turnsDown is the share of least output over load below which a plant that is oversized runs well in most weather all
// the same, and modest the share of greatest output up to which that is only worth knowing. Own proposals.
const turnsDown, modest = 0.5, 3.0

func (j *judging) finding(r rule) analyse.Finding {
	f := analyse.Finding{Severity: j.severity(r), From: j.p.Facts.From, To: j.p.Facts.To, Summary: j.summary(r), Numbers: j.numbers(), Causes: j.causes(r)}
	if j.measuredSays(r) == nothing {
		f.Evidence = []analyse.Evidence{{From: f.From, To: f.To, Note: j.bySheet(r)}}
		return f
	}
	cold := slices.Clone(j.m.Days)
	slices.SortStableFunc(cold, func(a, b Day) int { return cmp.Compare(a.Outside, b.Outside) })
	cold = cold[:min(len(cold), coldestDays)]
	slices.SortFunc(cold, func(a, b Day) int { return a.From.Compare(b.From) })
	for _, d := range cold {
		f.Evidence = append(f.Evidence, analyse.Evidence{From: d.From, To: j.p.Site.DaysAfter(d.From, 1),
			Note: fmt.Sprintf("%.1f °C outside: heating took %.1f kW over the day (%s)", d.Outside, d.Power, j.m.Basis)})
	}
	return f
}

func (j *judging) severity(r rule) analyse.Severity {
	load := j.plain()
	if r.what == "greatest output" && load > 0 && (j.set.held || j.out.Min.Known && j.out.Min.Value < turnsDown*load) && r.kw < modest*load {
		return analyse.Note
	}
	return analyse.Advise
}

func (j *judging) appliance() string {
	if j.p.Plant.Kind == "heat-pump" {
		return "heat pump"
	}
	return "boiler"
}

func (j *judging) summary(r rule) string {
	sheet, measured := j.sheetSays(r), j.measuredSays(r)
	load, basis := j.plain(), "by the job sheet's heat loss"
	if sheet == tooMuch && measured == tooMuch {
		basis += ", and by measurement too"
	}
	share := fmt.Sprintf("%s times the %.1f kW that the house takes in the coldest design weather (%s)", times(r.kw/load), load, basis)
	if measured == tooMuch && sheet != tooMuch {
		share = fmt.Sprintf("at least %s times what the house takes in the coldest design weather: that is %.1f kW at most, by measurement", times(r.kw/j.bounds.High), j.bounds.High)
	}
	said := fmt.Sprintf("The %s can give %.1f kW, %s", j.appliance(), r.kw, share)
	if r.what == "least output" {
		said = fmt.Sprintf("Even turned down as far as it goes the %s gives %.1f kW, %s", j.appliance(), r.kw, share)
	}
	switch {
	case sheet == tooMuch && measured == between:
		said += "; " + j.byMeasure(r)
	case sheet != tooMuch && sheet != nothing:
		said += "; " + j.bySheet(r)
	}
	if more := j.remarks(r); len(more) > 0 {
		said += "; " + strings.Join(more, "; ")
	}
	return said + "."
}

func (j *judging) numbers() []analyse.Number {
	var out []analyse.Number
	add := func(name, label, unit string, v float64, digits int) {
		if math.IsInf(v, 0) || math.IsNaN(v) {
			return
		}
		scale := math.Pow10(digits)
		out = append(out, analyse.Number{Name: name, Value: math.Round(v*scale) / scale, Label: label, Unit: unit})
	}
	o := j.out
	if o.Max.Known {
		add("output_max_kw", "greatest output", "kW", o.Max.Value, 1)
	}
	if o.Min.Known {
		add("output_min_kw", "least output", "kW", o.Min.Value, 1)
	}
	if j.designed.Known {
		add("design_heat_loss_kw", "load by the job sheet", "kW", j.designed.Value, 1)
		if o.Max.Known {
			add("plant_size_ratio", "greatest output ÷ load, by the job sheet", "", o.Max.Value/j.designed.Value, 2)
		}
		if o.Min.Known {
			add("least_output_ratio", "least output ÷ load, by the job sheet", "", o.Min.Value/j.designed.Value, 2)
		}
	}
	if j.measured {
		s := j.m.Signature
		add("measured_load_kw", "measured load in use at design temperature", "kW", j.load.KW, 1)
		add("measured_loss_kw", "measured heat loss at design temperatures, no gains taken off", "kW", j.load.LossKW, 1)
		add("measured_load_kw_low", "load possible by the measurement, least", "kW", j.bounds.Low, 1)
		add("measured_load_kw_high", "load possible by the measurement, most", "kW", j.bounds.High, 1)
		if o.Max.Known {
			add("measured_size_ratio_low", "greatest output ÷ measured load, least", "", o.Max.Value/j.bounds.High, 2)
			add("measured_size_ratio_high", "greatest output ÷ measured load, most", "", o.Max.Value/j.bounds.Low, 2)
		}
		if o.Min.Known {
			add("measured_least_ratio_low", "least output ÷ measured load, least", "", o.Min.Value/j.bounds.High, 2)
			add("measured_least_ratio_high", "least output ÷ measured load, most", "", o.Min.Value/j.bounds.Low, 2)
		}
		add("heat_w_per_k", "heat by the weather", "W/K", 1000*s.Slope, 0)
		add("heat_w_per_k_low", "heat by the weather, least (95 %)", "W/K", 1000*s.SlopeCI.Low, 0)
		add("heat_w_per_k_high", "heat by the weather, most (95 %)", "W/K", 1000*s.SlopeCI.High, 0)
		add("balance_c", "no heating needed above", "°C", s.Balance, 1)
		add("signature_days", "days in the measurement", "", float64(s.N), 0)
	}
	if c, ok := j.steadyBelow(); ok {
		add("no_cycling_below_c", "outside temperature below which the burner need not stop", "°C", c, 1)
		if share, days := j.mustCycle(c); days > 0 {
			add("must_cycle_share", "heating days of the record warmer than that", "%", 100*share, 0)
		}
	}
	return out
}

// steadyBelow is the outside temperature below which the building takes the least output, °C: by measurement, else by
// the job sheet with gains ignored.
func (j *judging) steadyBelow() (float64, bool) {
	switch {
	case !j.out.Min.Known || j.out.Max.Known && j.out.Min.Value >= onOff*j.out.Max.Value:
		return 0, false // a burner of one output always stops and starts
	case j.measured:
		return j.m.Signature.OutsideFor(j.out.Min.Value)
	case j.designed.Known:
		return j.steadyByDesign(), true
	}
	return 0, false
}

func (j *judging) steadyByDesign() float64 {
	outside := outsideUsual
	if o := j.p.Plant.OutsideDesign; o.Known {
		outside = float64(o.Value)
	}
	return j.inside() - j.out.Min.Value/j.designed.Value*(j.inside()-outside)
}

// mustCycle is the share of the record's heating days that were warmer than c.
func (j *judging) mustCycle(c float64) (float64, int) {
	base, warm, n := seasonBase, 0, 0
	if j.measured {
		base = j.m.Signature.Balance
	}
	for _, d := range j.p.Facts.Days {
		if d.Heat.OutsideFor.Seconds() < dayOutside*wholeDay.Seconds() || d.Heat.Outside >= base {
			continue
		}
		n++
		if d.Heat.Outside > c {
			warm++
		}
	}
	if n == 0 {
		return 0, 0
	}
	return float64(warm) / float64(n), n
}

// The causes' weights. Own proposals.
const (
	choiceSupport    = 0.6
	choiceConfirmed  = 0.8 // where a measurement bears it out
	figureSupport    = 0.3 // that the job sheet's heat loss is wrong
	figureRuledOut   = 0.1 // where a measurement says the same
	figureContradict = 0.5 // where only the measurement finds it
)

func (j *judging) causes(r rule) []analyse.Cause {
	choice := analyse.Cause{Cause: "chosen-too-large", Support: choiceSupport,
		Because: fmt.Sprintf("the %s is %.1f kW on a load of %.1f kW", r.what, r.kw, j.plain()),
		Settle:  "a room-by-room heat loss before the next replacement; till then the output for heating may be set down by a licensed engineer, as far as the maker's instructions allow"}
	if r.what == "least output" {
		choice.Cause = "chosen-for-hot-water"
		choice.Settle = "the least output for heating, from the data plate or the maker's instructions, and a room-by-room heat loss; at the next replacement a boiler that turns down below it"
		choice.Because += ": an appliance chosen for its hot water may not turn down to the heating"
	}
	figure := analyse.Cause{Cause: "heat-loss-figure", Support: figureSupport,
		Because: "the heat loss in the job sheet may be too low: it was not measured", Settle: "a heat loss room by room, or a record of 20 days or more with heat and outside temperature"}
	switch {
	case j.sheetSays(r) == nothing:
		choice.Support = choiceConfirmed
		return []analyse.Cause{choice}
	case j.measuredSays(r) == tooMuch && j.sheetSays(r) == tooMuch:
		choice.Support, figure.Support = choiceConfirmed, figureRuledOut
		figure.Because = "the measurement finds the same"
	case j.measuredSays(r) == tooMuch:
		figure.Support = figureContradict
		figure.Because = "the house takes less than the job sheet says, or its rooms are kept cooler"
	}
	return []analyse.Cause{choice, figure}
}
