package building

import "math"

// Degree-days, K·d, of a base temperature. Source of the relations: CIBSE TM41:2006, from memory.
const (
	// UKBaseC is the base that British degree-days are told for, °C (TM41).
	UKBaseC = 15.5
	// HitchinK is k of Hitchin's formula for British places, 1/K (TM41).
	HitchinK = 0.71
)

// DailyDegreeDays are those of one day by its highest and lowest temperature, by the British rules.
func DailyDegreeDays(baseC, maxC, minC float64) float64 {
	above, below := maxC-baseC, baseC-minC
	switch {
	case below <= 0:
		return 0
	case above <= 0:
		return baseC - (maxC+minC)/2
	case above < below:
		return below/2 - above/4
	}
	return below / 4
}

// Hitchin estimates the degree-days of a month by its mean temperature and its number of days.
func Hitchin(baseC, meanC, days, k float64) float64 {
	x := baseC - meanC
	if math.Abs(k*x) < 1e-9 {
		return days / k
	}
	return days * x / -math.Expm1(-k*x)
}

// HourlyDegreeDays are those of temperatures that each hold for so many hours: 1, or 0.5.
func HourlyDegreeDays(baseC float64, outsideC []float64, hours float64) float64 {
	sum := 0.0
	for _, t := range outsideC {
		sum += max(0, baseC-t) * hours / 24
	}
	return sum
}

// HoursAt says for how many hours of a typical year the outside temperature is about OutsideC.
type HoursAt struct{ OutsideC, Hours float64 }

// YearDegreeDays are those of a typical year.
func YearDegreeDays(baseC float64, year []HoursAt) float64 {
	sum := 0.0
	for _, h := range year {
		sum += max(0, baseC-h.OutsideC) * h.Hours / 24
	}
	return sum
}

// BaseC is the outside temperature above which useful gains keep the house warm, °C. Without loss it is not known (NaN).
func BaseC(insideC, gainsW, lossWK float64) float64 {
	if lossWK <= 0 {
		return math.NaN()
	}
	return insideC - gainsW/lossWK
}

// AnnualHeatKWh is what a house takes over degree-days, kWh; efficiency 1: heat, else fuel.
func AnnualHeatKWh(lossWK, degreeDays, efficiency float64) float64 {
	return 24 * lossWK / 1000 * degreeDays / efficiency
}
