package cycling_test

import (
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/cycling"
)

// A store's coil takes less the warmer the store is: of 200 l from 15 to 55 °C, 9.3 kWh (V·ρ·c), 13 kW bring most in
// three quarters of an hour, and the burner cycles for the rest of an hour and a half. Where nothing tells hot water
// from heating, stretches as short as that are no proof; on a plant without a store they are, and so are long ones.
func TestStoreOfUnknownTimes(t *testing.T) {
	start := "0:00 flame 0 heat-demand 1 flow-setpoint 60 flow 50 modulation 0\n"
	reheat := "0:00 flame 1\n0:45 flame 0\n" + analysetest.Repeat("0:50", 7, 9*time.Minute, cycle)
	day := start + analysetest.Repeat("6:00", 3, 6*time.Hour, reheat) + "24:00 flame 0"
	long := start + analysetest.Repeat("0:10", 18, 10*time.Minute, cycle) + "3:30 flame 0"
	told := strings.Replace(day, "heat-demand 1", "heat-demand 1 hot-water-active 0", 1) + "\n24:10 hot-water-active 1\n24:20 hot-water-active 0"
	for _, c := range []struct {
		name, script string
		hot          analyse.HotWaterKind
		want         analyse.Outcome
	}{
		{"ends of reheats", day, analyse.CylinderHotWater, analyse.NotAssessable},
		{"the same, and no store", day, analyse.NoHotWater, analyse.Found},
		{"the same, said to be for heating", told, analyse.CylinderHotWater, analyse.Found},
		{"three hours on end", long, analyse.CylinderHotWater, analyse.Found},
	} {
		pl := plant
		pl.HotWater = c.hot
		r := analysetest.Run(t, analysetest.Case{Script: c.script, Plant: pl}, cycling.Short())
		if got := analysetest.Outcome(t, r, "short-cycling"); got.Outcome != c.want || c.want == analyse.NotAssessable && !strings.Contains(got.Because, "store") {
			t.Errorf("%s: %v, %s; want %v", c.name, got.Outcome, got.Because, c.want)
		}
	}
}
