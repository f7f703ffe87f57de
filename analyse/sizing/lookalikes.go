package sizing

import (
	"fmt"

	"tundish/analyse"
)

// lookAlikes keeps what resembles a plant that is too large, and whether it could be ruled out.
func (j *judging) lookAlikes() {
	p := j.p
	if te, ok := j.weather(); ok {
		p.RuledOut("mild weather, or control, that makes the burner stop and start",
			"how often it starts plays no part in the answer: output is held against the load at design temperature (%s; the record's days were at %.1f °C on the mean)", j.designWords(), te)
	}
	if j.hotWater == analyse.InstantaneousHotWater && j.out.Max.Known {
		p.RuledOut("a greatest output that is there for the taps", "hot water is instantaneous: the %.1f kW are not held against the heating, the least output is", j.out.Max.Value)
	}
	j.figure()
	if j.p.Plant.Kind == "heat-pump" {
		p.LeftOpen("output in the cold", "a heat pump gives less the colder it is: the output held against the load is the rated one, and the maker's table at %s would settle it", j.designWords())
	}
	if j.hotWater != analyse.InstantaneousHotWater && (j.set.held || j.set.low) {
		p.LeftOpen("set down for heating", "%s; the setting itself is not on the bus: it stands in the appliance's service menu", j.setDownWords())
	}
	if !j.measured {
		return
	}
	coldest, warmest := range2(j.m.Days)
	if o := float64(p.Plant.OutsideDesign.Value); coldest <= o {
		p.RuledOut("a load that is only reckoned on to the design temperature", "days were as cold as %.1f °C", coldest)
	} else {
		p.LeftOpen("reckoned on to the design temperature", "%.1f K below the coldest days; the days differ by %.1f K; the interval grows with it", coldest-o, warmest-coldest)
	}
	p.LeftOpen("another source of heat", "a stove, a gas fire or electric heaters make the measured load smaller than what the house takes: none of them is recorded")
	if j.m.Basis == ByGas {
		p.LeftOpen("other gas appliances on the meter", "a hob or a fire is in the load in use; what goes with the weather is nearly free of it")
	}
	if !p.Plant.InsideDesign.Known {
		p.LeftOpen("rooms' design temperature", "inside_design_c is not in the job sheet: %.0f °C was taken for the load with no gains taken off", insideUsual)
	}
}

// figure weighs whether the job sheet's heat loss may be what makes the plant look too large.
func (j *judging) figure() {
	const what = "a heat loss on the job sheet that is too low"
	switch {
	case !j.designed.Known:
	case !j.measured:
		j.p.LeftOpen(what, "the load was not measured: %s", j.m.Refused)
	case j.designed.Value >= j.bounds.Low:
		j.p.RuledOut(what, "%.1f kW by the job sheet, %.1f to %.1f kW by measurement", j.designed.Value, j.bounds.Low, j.bounds.High)
	default:
		j.p.LeftOpen(what, "%.1f kW by the job sheet is below the %.1f to %.1f kW by measurement; a heat loss room by room would settle it", j.designed.Value, j.bounds.Low, j.bounds.High)
	}
}

func (j *judging) designWords() string {
	if o := j.p.Plant.OutsideDesign; o.Known {
		return fmt.Sprintf("%.0f °C outside", float64(o.Value))
	}
	return "the outside design temperature"
}

// weather is the mean outside temperature of the record's days, °C.
func (j *judging) weather() (float64, bool) {
	sum, seconds := 0.0, 0.0
	for _, d := range j.p.Facts.Days {
		sum += d.Heat.Outside * d.Heat.OutsideFor.Seconds()
		seconds += d.Heat.OutsideFor.Seconds()
	}
	if seconds == 0 {
		return 0, false
	}
	return sum / seconds, true
}

func (j *judging) setDownWords() string {
	if j.set.held {
		return fmt.Sprintf("the controller holds the burner to %.0f %% modulation at most", j.set.ceiling)
	}
	return fmt.Sprintf("it never went above %.0f %% modulation while heating: no more was needed, or it is set down for heating", j.set.highest)
}
