package suit

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Histogram is for how many hours it is how cold outside.
type Histogram struct {
	Bins []HourBin
	// Year: the hours are those of a typical year; false: only those that a record saw.
	Year   bool
	Source string // "typical year, given in FILE"
}

// HourBin are the hours at one outside temperature, °C: the middle of the bin.
type HourBin struct{ OutsideC, H float64 }

// TotalH is all hours together.
func (h Histogram) TotalH() (sum float64) {
	for _, b := range h.Bins {
		sum += b.H
	}
	return sum
}

const (
	// yearH are the hours of a year, and yearOff by how much a list may miss them: a leap year, rounding, a missing day.
	// Own proposal.
	yearH, yearOff = 8760.0, 48.0
	// coldestC and warmestC bound an outside temperature that can be meant, °C. Own proposal.
	coldestC, warmestC = -60.0, 60.0
)

// ParseYear reads a typical year: a line "outside °C, hours" for each temperature, separated by a comma, a semicolon or a
// tab; words before the first figures and lines that begin with # are passed over. source is what to call it. Hours that do not
// make up a year are an error, since they would be taken for one.
func ParseYear(text, source string) (Histogram, error) {
	h := Histogram{Year: true, Source: source}
	by := map[float64]bool{}
	for i, line := range strings.Split(strings.TrimPrefix(text, "\ufeff"), "\n") {
		line = strings.TrimSpace(line)
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		fields := strings.FieldsFunc(line, func(r rune) bool { return r == ',' || r == ';' || r == '\t' })
		if len(fields) != 2 {
			return Histogram{}, fmt.Errorf("%s, line %d: %q is not an outside temperature and a number of hours, as in \"-3, 41\"", source, i+1, line)
		}
		te, err1 := strconv.ParseFloat(strings.TrimSpace(fields[0]), 64)
		hours, err2 := strconv.ParseFloat(strings.TrimSpace(fields[1]), 64)
		switch {
		case err1 != nil && err2 != nil && len(h.Bins) == 0: // the names of the columns
			continue
		case err1 != nil || err2 != nil:
			return Histogram{}, fmt.Errorf("%s, line %d: %q does not hold two numbers", source, i+1, line)
		case !(te >= coldestC && te <= warmestC):
			return Histogram{}, fmt.Errorf("%s, line %d: it is never %g °C outside; the first column is °C, the second hours", source, i+1, te)
		case !(hours >= 0 && hours <= yearH+yearOff):
			return Histogram{}, fmt.Errorf("%s, line %d: %g hours cannot be: a year has %g", source, i+1, hours, yearH)
		case by[te]:
			return Histogram{}, fmt.Errorf("%s, line %d: %g °C stands there twice", source, i+1, te)
		}
		by[te] = true
		h.Bins = append(h.Bins, HourBin{te, hours})
	}
	if total := h.TotalH(); math.Abs(total-yearH) > yearOff {
		return Histogram{}, fmt.Errorf("%s: the hours add up to %g, and a year has %g: a list of part of a year must not pass for a whole one", source, total, yearH)
	}
	slices.SortFunc(h.Bins, func(a, b HourBin) int { return cmp.Compare(a.OutsideC, b.OutsideC) })
	return h, nil
}
