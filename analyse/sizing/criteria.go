package sizing

import "tundish/analyse"

// criteria are all limits of the check, and the weights of its causes.
func criteria() []analyse.Criterion {
	return []analyse.Criterion{
		{Name: "greatest output over load at design temperature, from", Value: manyTimes, Unit: "1", Source: "common practice, no source: twice the load"},
		{Name: "with instantaneous hot water: least output over load, from", Value: leastTooMuch, Unit: "1", Source: "own proposal"},
		{Name: "greatest output over load that contradicts a finding, below", Value: wellUnder, Unit: "1", Source: "own proposal"},
		{Name: "the same of least output, below", Value: leastWellUnder, Unit: "1", Source: "own proposal"},
		{Name: "heating days that a measurement needs", Value: fewestDays, Unit: "d", Source: "own proposal, after the trade's 20 to 30 cold days"},
		{Name: "span of outside temperature that a measurement needs", Value: leastSpan, Unit: "K", Source: "own proposal"},
		{Name: "the same of the days below the balance temperature", Value: leastSpan / 2, Unit: "K", Source: "own proposal"},
		{Name: "design temperature below the coldest days, at most, in spans of the days", Value: farthest, Unit: "1", Source: "own proposal"},
		{Name: "share of a day over which its heat must be known", Value: dayHeat, Unit: "1", Source: "own proposal"},
		{Name: "share of a day over which its outside temperature must be known", Value: dayOutside, Unit: "1", Source: "own proposal"},
		{Name: "efficiency, gross, where gas is metered", Value: efficiency, Unit: "1", Source: "own proposal, after UK field trials of 2009 (from memory)"},
		{Name: "error of that efficiency, ±", Value: efficiencyError, Unit: "1", Source: "own proposal"},
		{Name: "calorific value of natural gas where none is given, gross", Value: naturalGas, Unit: "MJ/m³", Source: "common practice, no source"},
		{Name: "error of that, ± as a share", Value: naturalGasError, Unit: "1", Source: "own proposal"},
		{Name: "error of a calorific value on the job sheet, ± as a share", Value: valueError, Unit: "1", Source: "own proposal"},
		{Name: "error of a metered volume of gas, ± as a share", Value: volumeError, Unit: "1", Source: "own proposal"},
		{Name: "error of an appliance's own heat figures, ± as a share", Value: meterError, Unit: "1", Source: "own proposal"},
		{Name: "error of output by modulation or running time, ± as a share", Value: outputError, Unit: "1", Source: "own proposal"},
		{Name: "hot water in the load, at most, where it is not told apart", Value: mostHotWater, Unit: "kW", Source: "own proposal: 10 kWh a day"},
		{Name: "error of the outside temperature, ±", Value: outsideError, Unit: "K", Source: "±0.5 K: DS18B20 datasheet; as much for where it hangs: own proposal"},
		{Name: "load with no gains taken off may be too small by, for rooms set back, as a share", Value: setBack, Unit: "1", Source: "own proposal"},
		{Name: "set down for heating where modulation stays below", Value: wellBelow, Unit: "%", Source: "own proposal"},
		{Name: "share of heat of unknown use from which hot water counts as in the load", Value: undividedShare, Unit: "1", Source: "own proposal"},
		{Name: "share of a burn over which its modulation must be known", Value: modKnown, Unit: "1", Source: "own proposal"},
		{Name: "least output over greatest from which the burner has but one output", Value: onOff, Unit: "1", Source: "own proposal"},
		{Name: "modulation never below this share of least ÷ greatest output: it may be a share of rated output", Value: nearLeast, Unit: "1", Source: "own proposal"},
		{Name: "days that must lie below a balance temperature for it to be weighed", Value: belowBalance, Unit: "d", Source: "own proposal"},
		{Name: "weight of the weather of each day before, at most", Value: mostLag, Unit: "1", Source: "own proposal"},
		{Name: "rooms' design temperature where none is given", Value: insideUsual, Unit: "°C", Source: "own proposal"},
		{Name: "the appliance's own greatest output is told where it differs from the job sheet's by, as a share", Value: statedApart, Unit: "1", Source: "own proposal"},
		{Name: "a note only: least output over load, below", Value: turnsDown, Unit: "1", Source: "own proposal"},
		{Name: "and greatest output over load, below", Value: modest, Unit: "1", Source: "own proposal"},
		{Name: "weight, chosen-too-large or chosen-for-hot-water, to begin with", Value: choiceSupport, Unit: "1", Source: "own proposal"},
		{Name: "weight, the same where a measurement bears it out", Value: choiceConfirmed, Unit: "1", Source: "own proposal"},
		{Name: "weight, heat-loss-figure, to begin with", Value: figureSupport, Unit: "1", Source: "own proposal"},
		{Name: "weight, heat-loss-figure, where a measurement says the same", Value: figureRuledOut, Unit: "1", Source: "own proposal"},
		{Name: "weight, heat-loss-figure, where only the measurement finds it", Value: figureContradict, Unit: "1", Source: "own proposal"},
	}
}
