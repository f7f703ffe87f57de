package cases

import (
	"fmt"
	"io"
	"text/tabwriter"
)

// Criterion is when a kind is there and when it is not, by one true quantity. A value at Present or beyond it is
// present, at Absent or on its far side absent, in between arguable: two engineers may differ. Severe is where it
// becomes severe.
type Criterion struct {
	Kind     string
	Applies  string // to which homes; "": all
	Quantity string
	Unit     string
	Present  float64
	Absent   float64
	Severe   float64
	Also     string // what else must hold
	Source   string
}

// Criteria is the table: one row a kind, two for kinds that are defined by two quantities (any row present:
// present; all rows absent: absent).
func Criteria() []Criterion {
	return []Criterion{
		{"short-cycling", "", "hours of the worst day with three or more heating firings under 5 min that hot water did not cut, and two thirds of the hour's firings", "h", 3, 1, 8,
			"frost protection apart; the hours do not overlap",
			"burns under about 5 min: trade training article on cycle time; three an hour: this project's proposal; hour after hour: the kind's definition, three hours being own definition"},
		{"low-delta-t", "", "mean settled flow − return, scaled by output to the design load, by design ΔT", "1", 0.6, 0.75, 0.35,
			"present wants the unscaled mean at 0.75 of design or less as well",
			"\"well below design\": own definition; scaling because mild weather lowers ΔT by itself"},
		{"high-delta-t", "", "the same", "1", 1.5, 1.25, 2.2,
			"present wants the unscaled mean at 1.25 of design or more, absent wants it at 1.5 or less",
			"\"well above design\": own definition (25 to 30 K at mid load on a design of 20 K: common practice, no source)"},
		{"oversized", "hot water not instantaneous", "greatest output by design heat loss", "1", 2, 1.5, 4,
			"set down to less than twice at commissioning: arguable",
			"\"about twice or more\": the kind's definition; accepted margins 10 to 25 %: common practice, no source"},
		{"oversized", "hot water instantaneous", "least output by design heat loss", "1", 0.8, 0.55, 1.5, "",
			"own definition: at 0.8 the least output is more than the house takes down to about 0 °C, at 0.55 only above about 8 °C (heat loss to 15.5 °C)"},
		{"lockout", "", "times the burner was held off until a person acted", "1", 1, 0, 3,
			"a block by low pressure that a refill ended counts; one still on at the record's end is arguable", "the kind's definition"},
		{"ignition-retries", "", "failed attempts before one that succeeded, in the record", "1", 3, 0, 10, "",
			"own definition: one or two in a record are arguable"},
		{"demand-not-met", "", "longest stretch of demand, with mains and no fault, cold water and no firing", "min", 30, 15, 240,
			"hot water apart", "own definition: longer than any anti-cycle time in use by default (3 to 5 min, up to 30 or so)"},
		{"demand-not-met", "", "longest stretch of such demand in which the flow stayed below its set-point by more than the switch-on differential and 3 K", "h", 4, 2.5, 8,
			"hot water apart", "own definition: longer than any sound home of this library needs to warm up"},
		{"no-circulation", "", "heating firings of 20 s or more with under 15 % of the circuit's flow rate", "1", 2, 0, 10,
			"one that ended in an overheat lockout is present; firings with 15 to 30 % are arguable", "own definition of the kind's \"return does not follow\""},
		{"not-condensing", "boilers", "share of the heat for heating made with the return above the dew point of the flue gas", "1", 0.6, 0.4, 0.9, "",
			"\"most heat\": the kind's definition; dew point by IAPWS-IF97 and stoichiometry for fuel and air ratio; the band is own definition"},
		{"flow-overshoot", "", "median over heating firings of hottest exchanger water above the highest set-point in force", "K", 9, 7, 15,
			"four firings or more", "\"about 8 K or more after most starts\": the kind's definition"},
		{"pressure-loss", "sealed", "fall of pressure at equal water temperature, refills left out", "bar/week", 0.15, 0.05, 0.7,
			"absent where under 0.05 l of water left and the vessel kept its gas; else three days or more", "own definition: 0.5 l gone from 8 l of vessel lower the pressure by 0.14 bar (Boyle's law)"},
		{"pressure-swing", "sealed", "slope of pressure on the mean of flow and return within days while water moves, steepest day", "bar/K", 0.025, 0.020, 0.040,
			"days with 12 K of range or more", "0.025 bar/K: the kind's definition; sound vessels 0.013 to 0.023 (Boyle's law and IAPWS-IF97 for 8 l on 80 to 120 l)"},
		{"probe-disagreement", "bus and probes", "difference in error of two sensors of the same steady water, second largest hourly mean", "K", 4, 2.5, 10, "",
			"own definition: ±0.5 K of the probe (maker's data sheet), 0.7 K of the thermistor and 2 K of contact on a dry strap (common practice, no source) make 3.2 K"},
		{"sensor-fault", "", "sensors that gave values water cannot have", "1", 1, 0, 2,
			"a value held while the water moved by under 10 K, or fewer than three jumps or power-on values: arguable", "the kind's definition: jumps, stuck, power-on value, open, short"},
		{"cylinder-too-cool", "cylinder", "hottest stored water of the coolest seven days, or of the record if shorter", "°C", 59, 60, 50,
			"unseen where the only sensor of the store reads high and by it the store reaches the absent temperature: a quick coil and a sensor that reads true leave the same record",
			"60 °C: HSE pages on hot water, HSG274 part 2"},
		{"bus-silence", "bus", "longest stretch without a line while the logger ran and the appliance had mains", "min", 10, 9, 120, "", "the kind's definition"},
	}
}

// judge gives the verdict of a value, and how bad it is where it is present.
func (c Criterion) judge(v float64) (Verdict, Severity) {
	present, absent, severe := c.Present, c.Absent, c.Severe
	if present < absent {
		v, present, absent, severe = -v, -present, -absent, -severe
	}
	switch {
	case v >= severe:
		return Present, Severe
	case v >= present+(severe-present)/3:
		return Present, Moderate
	case v >= present:
		return Present, Slight
	case v <= absent:
		return Absent, ""
	}
	return Arguable, ""
}

// WriteCriteria prints the table as text.
func WriteCriteria(w io.Writer) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, c := range Criteria() {
		sign, far := "≥", "≤"
		if c.Present < c.Absent {
			sign, far = far, sign
		}
		applies := c.Applies
		if applies != "" {
			applies = " (" + applies + ")"
		}
		fmt.Fprintf(t, "%s%s\tpresent %s %g %s, absent %s %g\t%s", c.Kind, applies, sign, c.Present, c.Unit, far, c.Absent, c.Quantity)
		if c.Also != "" {
			fmt.Fprintf(t, "; %s", c.Also)
		}
		fmt.Fprintf(t, "\t%s\n", c.Source)
	}
	return t.Flush()
}
