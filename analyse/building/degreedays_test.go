package building

import (
	"math"
	"testing"
)

// Calculated by the British daily rules (CIBSE TM41), base 15.5 °C.
func TestDailyDegreeDays(t *testing.T) {
	for _, c := range []struct{ max, min, want float64 }{
		{8, 2, 10.5}, {18, 10, 2.125}, {20, 14, 0.375}, {16, 15, 0.125}, {25, 16, 0}, {15.5, 15.5, 0},
	} {
		near(t, "degree-days", DailyDegreeDays(UKBaseC, c.max, c.min), c.want, 1e-9)
	}
}

// Calculated by Hitchin's formula (CIBSE TM41): 30 days, k 0.71; its limit at the base is D/k.
func TestHitchin(t *testing.T) {
	for _, c := range []struct{ mean, want float64 }{
		{0, 465.0}, {4, 345.1}, {9.5, 182.6}, {14, 68.7}, {15.5, 42.3}, {18, 15.3},
	} {
		near(t, "degree-days", Hitchin(UKBaseC, c.mean, 30, HitchinK), c.want, 0.05)
	}
	near(t, "beside the limit", Hitchin(UKBaseC, UKBaseC-1e-7, 30, HitchinK), 30/HitchinK, 1e-3)
}

func TestHourlyDegreeDays(t *testing.T) {
	day := make([]float64, 48)
	for i := range day {
		day[i] = 5.5
	}
	near(t, "half hours at 10 K below", HourlyDegreeDays(UKBaseC, day, 0.5), 10, 1e-9)
	near(t, "a warm hour takes nothing off", HourlyDegreeDays(UKBaseC, []float64{3.5, 40}, 1), 0.5, 1e-9)
	near(t, "of a typical year", YearDegreeDays(UKBaseC, []HoursAt{{5.5, 48}, {20, 1000}}), 20, 1e-9)
}

// A sine day that stays below the base has the same degree-days by max and min as by hours.
func TestDailyAgreesWithHourly(t *testing.T) {
	day := make([]float64, 24)
	for i := range day {
		day[i] = 5 + 4*math.Sin(2*math.Pi*(float64(i)+0.5)/24)
	}
	near(t, "below the base", HourlyDegreeDays(UKBaseC, day, 1), DailyDegreeDays(UKBaseC, 9, 1), 1e-9)
}

// The computed semi (calculated, see TestSemi): 294.72 W/K, 500 W of useful gains, the British standard year of 2,463.
func TestYear(t *testing.T) {
	near(t, "base", BaseC(20, 500, 294.72), 18.30, 0.005)
	near(t, "heat", AnnualHeatKWh(294.72, 2463, 1), 17421, 1)
	if !math.IsNaN(BaseC(20, 500, 0)) {
		t.Error("a house without loss has a base")
	}
}
