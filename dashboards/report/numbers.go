package report

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/decode"
)

// plural gives "1 firing", "3 firings".
func plural(n uint64, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return grouped(n) + " " + many
}

// grouped prints a count with a thin gap between thousands.
func grouped(n uint64) string {
	s := strconv.FormatUint(n, 10)
	var b strings.Builder
	for i, r := range s {
		if i > 0 && (len(s)-i)%3 == 0 {
			b.WriteRune('\u00a0')
		}
		b.WriteRune(r)
	}
	return b.String()
}

// decimal prints with a true minus sign and never "−0".
func decimal(v float64, places int) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', places, 64)
	if v < 0 && strings.ContainsAny(s, "123456789") {
		return "−" + s
	}
	return s
}

// figureText prints a number: three or so figures, no trailing zeros, thousands apart.
func figureText(v float64) string {
	places := 2
	switch a := math.Abs(v); {
	case a >= 100:
		places = 0
	case a >= 10:
		places = 1
	case a > 0 && a < 0.1:
		places = 4
	}
	s := decimal(v, places)
	if whole, part, ok := strings.Cut(s, "."); ok {
		if part = strings.TrimRight(part, "0"); part != "" {
			return whole + "." + part
		}
		s = whole
	}
	if math.Abs(v) < 1<<53 {
		sign, digits := "", s
		if strings.HasPrefix(s, "−") {
			sign, digits = "−", strings.TrimPrefix(s, "−")
		}
		if n, err := strconv.ParseUint(digits, 10, 64); err == nil {
			return sign + grouped(n)
		}
	}
	return s
}

// withUnit puts a value and its unit together; a unit that is not one is left out.
func withUnit(v float64, unit string) string {
	switch unit {
	case "", "0/1", "integer", "count":
		return figureText(v)
	case "1/h":
		return figureText(v) + "\u00a0per\u00a0h"
	}
	return figureText(v) + "\u00a0" + unit
}

// numberText prints a figure of a finding as the finding's own sentences do: lengths of time in words, temperatures
// and their differences with at least one decimal.
func numberText(v float64, unit string) string {
	const longest = 1e6 // hours: more cannot be meant, and would not fit a duration
	switch {
	case unit == "s" && v >= 0 && v < longest*3600:
		return spanWords(time.Duration(v * float64(time.Second)))
	case unit == "min" && v >= 0 && v < longest*60:
		return spanWords(time.Duration(v * float64(time.Minute)))
	case (unit == "K" || unit == "°C") && v == math.Trunc(v) && math.Abs(v) < longest:
		return decimal(v, 1) + "\u00a0" + unit
	}
	return withUnit(v, unit)
}

// valueText prints a value of a point with as many decimals as the point deserves: always the same, so that the
// figures of a column can be compared.
func valueText(v float64, p decode.Point) string {
	unit := p.Unit()
	switch unit {
	case "0/1":
		if v == 0 {
			return "off"
		}
		return "on"
	case "°C", "kW", "l/min":
		return decimal(v, 1) + "\u00a0" + unit
	case "bar":
		return decimal(v, 2) + "\u00a0" + unit
	}
	return withUnit(v, unit)
}

// spanWords prints a length of time as the findings do, with no line break between a number and its unit.
func spanWords(d time.Duration) string {
	f := strings.Fields(analyse.Span(max(d, 0)))
	for i := 0; i+1 < len(f); i += 2 {
		f[i] += "\u00a0" + f[i+1]
		f[i+1] = ""
	}
	return strings.Join(slices.DeleteFunc(f, func(s string) bool { return s == "" }), " ")
}
