package cycling_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/cycling"
)

// circuit is one lump of water between a burner of fixed output and a constant load.
type circuit struct {
	litres, differential, burner, load float64 // l, K, kW, kW
}

// run steps the heat balance second by second for some hours and writes what a bus would say.
func (c circuit) run(hours int) string {
	var b strings.Builder
	heat := c.litres * 4.1125 // kJ/K; ρ·c at 60 °C by IAPWS-IF97
	low := 60 - c.differential
	flow, on := low, false
	for s := range hours * 3600 {
		kw := -c.load
		if on {
			kw += c.burner
		}
		flow += kw / heat
		switch {
		case !on && flow <= low:
			on = true
		case on && flow >= 60:
			on = false
		}
		if s%5 == 0 {
			flame := 0
			if on {
				flame = 1
			}
			fmt.Fprintf(&b, "%d:%02d:%02d flame %d flow %.2f return %.2f heat-demand 1 flow-setpoint 60 modulation 0\n",
				s/3600, s/60%60, s%60, flame, flow, flow-4)
		}
	}
	return b.String()
}

// A burner of one output on one lump of water obeys t_on = C·Δθ/(P − load), t_off = C·Δθ/load, and so
// N = 4·Nmax·x·(1 − x) with x = load/P and Nmax = P/(4·C·Δθ): the thermostat parabola (NEMA DC 3 and the literature of
// part-load cycling, from memory). The heat balance here is stepped, not solved, and knows nothing of it.
func TestParabola(t *testing.T) {
	for _, c := range []struct {
		circuit
		found bool
	}{
		{circuit{30, 10, 7, 2}, true},    // 4.1 min on, 10.3 min off: 4.2 an hour
		{circuit{20, 10, 8, 4}, true},    // x = 1/2, the top of the parabola
		{circuit{12, 10, 7, 1}, true},    // 1.4 min on: 6.2 an hour
		{circuit{12, 10, 7, 3.5}, true},  // x = 1/2 again
		{circuit{80, 10, 5, 2}, false},   // 18.3 min on
		{circuit{80, 10, 7, 2}, false},   // 11.0 min on
		{circuit{30, 10, 7, 4.5}, false}, // much load: long burns
	} {
		heat := c.litres * 4.1125 * c.differential // kJ
		on, x := heat/(c.burner-c.load), c.load/c.burner
		most := c.burner / (4 * heat) * 3600
		perHour := 4 * most * x * (1 - x)
		r := analysetest.Run(t, analysetest.Case{Script: c.run(6), Plant: plant, Step: 5 * time.Second}, cycling.Short())
		f := analysetest.Finding(r, "short-cycling")
		if (f != nil) != c.found {
			t.Errorf("%+v: found is %v: %s", c.circuit, f != nil, analysetest.Outcome(t, r, "short-cycling").Because)
			continue
		}
		if n := len(r.Facts.Firings); math.Abs(float64(n)-6*perHour) > 2 {
			t.Errorf("%+v: %d firings in 6 h, the parabola gives %.1f", c.circuit, n, 6*perHour)
		}
		if f == nil {
			continue
		}
		// Times are seen to a step of polling; the burner's last second overshoots, which the load must carry away.
		off := 6 + c.burner/c.load
		for _, n := range f.Numbers {
			if n.Name == "burn_s_median" && math.Abs(n.Value-on) > 6 {
				t.Errorf("%+v: burns of %v s, C·Δθ/(P−load) is %.0f", c.circuit, n.Value, on)
			}
			if n.Name == "off_s_median" && math.Abs(n.Value-heat/c.load) > off {
				t.Errorf("%+v: pauses of %v s, C·Δθ/load is %.0f", c.circuit, n.Value, heat/c.load)
			}
		}
		if f.Severity < analyse.Advise || f.Causes[0].Cause != "oversized" {
			t.Errorf("%+v: %v, first cause %+v", c.circuit, f.Severity, f.Causes[0])
		}
	}
}
