package sizing

import (
	"fmt"
	"slices"
	"strings"

	"tundish/analyse"
	"tundish/analyse/episode"
)

// refuse says what is missing for a signature, "" where nothing is.
func refuse(days []Day, all []episode.Day) string {
	if len(days) == 0 && !slices.ContainsFunc(all, func(d episode.Day) bool { return d.Heat.OutsideFor > 0 }) {
		return "no outside temperature: it needs a sensor outside, on the bus or as a probe"
	}
	var missing []string
	if short := fewestDays - len(days); short > 0 {
		missing = append(missing, analyse.Count(short, "more heating day"))
	}
	coldest, warmest := range2(days)
	span := warmest - coldest
	if span < leastSpan {
		missing = append(missing, fmt.Sprintf("days that differ by %.0f K outside (so far %.1f K)", leastSpan, span))
	}
	if missing == nil {
		return ""
	}
	return fmt.Sprintf("%s with heat and weather known; a measurement needs %s", analyse.Count(len(days), "heating day"), strings.Join(missing, " and "))
}

// range2 are the second coldest and the second warmest of the days, °C, so that a span rests on no single day; of fewer
// days than a measurement needs the coldest and the warmest.
func range2(days []Day) (coldest, warmest float64) {
	if len(days) == 0 {
		return 0, 0
	}
	te := make([]float64, len(days))
	for i, d := range days {
		te[i] = d.Outside
	}
	slices.Sort(te)
	if len(te) < fewestDays {
		return te[0], te[len(te)-1]
	}
	return te[1], te[len(te)-2]
}

// tooMild says what is missing where too few of the days were cold enough for heating to go with the weather.
func tooMild(days []Day, s Signature) string {
	if s.Straight {
		return ""
	}
	cold := slices.DeleteFunc(slices.Clone(days), func(d Day) bool { return d.Outside >= s.Balance })
	coldest, warmest := range2(cold)
	if len(cold) >= fewestDays && warmest-coldest >= leastSpan/2 {
		return ""
	}
	return fmt.Sprintf("only %s of %d were below %.1f °C, above which heat does not go with the weather here; a measurement needs %d such days, which differ by %.0f K outside (so far %.1f K)",
		analyse.Count(len(cold), "day"), len(days), s.Balance, fewestDays, leastSpan/2, warmest-coldest)
}

// tooFar says what is missing where the design temperature lies too far below the coldest days.
func tooFar(days []Day, design float64) string {
	coldest, warmest := range2(days)
	if coldest-design <= farthest*(warmest-coldest) {
		return ""
	}
	return fmt.Sprintf("the coldest days were at %.1f °C, and the outside design temperature of %.0f °C lies %.1f K below them, farther than the %.1f K by which the days differ: a measurement needs colder days",
		coldest, design, coldest-design, warmest-coldest)
}
