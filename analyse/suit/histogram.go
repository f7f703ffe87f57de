package suit

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Histogram is for how many hours it is how cold outside.
type Histogram struct {
	Bins []HourBin // from cold to warm
	// Year: the hours are those of a typical year; false: only those that a record saw.
	Year   bool
	Source string // "typical year of the house file"
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

// Year is a typical year from a list of outside temperatures and hours, in any order. Hours that do not make up a year
// are an error, since they would be taken for one.
func Year(bins []HourBin, source string) (Histogram, error) {
	h := Histogram{Bins: slices.Clone(bins), Year: true, Source: source}
	slices.SortFunc(h.Bins, func(a, b HourBin) int { return cmp.Compare(a.OutsideC, b.OutsideC) })
	for i, b := range h.Bins {
		switch {
		case !(b.OutsideC >= coldestC && b.OutsideC <= warmestC):
			return Histogram{}, fmt.Errorf("%s: it is never %g °C outside", source, b.OutsideC)
		case !(b.H >= 0 && b.H <= yearH+yearOff):
			return Histogram{}, fmt.Errorf("%s: %g hours at %g °C cannot be: a year has %g", source, b.H, b.OutsideC, yearH)
		case i > 0 && h.Bins[i-1].OutsideC == b.OutsideC:
			return Histogram{}, fmt.Errorf("%s: %g °C stands there twice", source, b.OutsideC)
		}
	}
	if total := h.TotalH(); math.Abs(total-yearH) > yearOff {
		return Histogram{}, fmt.Errorf("%s: the hours add up to %g, and a year has %g: part of a year must not pass for a whole one", source, total, yearH)
	}
	return h, nil
}
