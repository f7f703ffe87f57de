package condensing

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// regionFour is the saturation line of IAPWS-IF97 region 4 (equation 30), °C by kPa: another formula than the one in use.
func regionFour(c float64) float64 {
	n := []float64{0, 1167.0521452767, -724213.16703206, -17.073846940092, 12020.82470247, -3232555.0322333, 14.91510861353,
		-4823.2657361591, 405113.40542057, -0.23855557567849, 650.17534844798}
	t := c + 273.15
	v := t + n[9]/(t-n[10])
	a := v*v + n[1]*v + n[2]
	b := n[3]*v*v + n[4]*v + n[5]
	k := n[6]*v*v + n[7]*v + n[8]
	return 1000 * math.Pow(2*k/(-b+math.Sqrt(b*b-4*a*k)), 4)
}

// The verification points of IAPWS-IF97, table 35: so that the measure of the test is right itself.
func TestRegionFourIsTheStandards(t *testing.T) {
	for c, want := range map[float64]float64{300 - 273.15: 3.53658941, 500 - 273.15: 2638.89776} {
		if got := regionFour(c); math.Abs(got-want) > 1e-7*want {
			t.Errorf("%.2f °C: %.6f kPa, want %.6f", c, got, want)
		}
	}
}

// Published dew points of flue gas: about 55 °C for natural gas, about 59 °C without excess air (with dry air); a teaching
// example of 4 % oxygen in dry flue gas comes to 54.9 °C with the right mole fraction; about 47 °C for heating oil (usual
// figure of condensing technique), about 53 °C for LPG; propane lies 4 to 5 K below methane.
func TestDewPointsArePublishedOnes(t *testing.T) {
	for _, c := range []struct {
		name                string
		fuel                fuel
		airRatio, want, off float64
	}{
		{"natural gas, as set up", naturalGas, 1.3, 55, 1},
		{"natural gas, no excess air, humid", naturalGas, 1, 60.0, 0.3},
		{"natural gas, 9.15 % CO2", naturalGas, 1.25, 55.9, 0.5},
		{"LPG, as set up", lpg, 1.2, 53, 1},
		{"LPG, no excess air", lpg, 1, 55.9, 0.3},
		{"heating oil, as set up", oil, 1.25, 47.5, 1.5},
		// The stoichiometry by itself, with the saturation line of IAPWS-IF97 (worked by hand for λ 1.2, air of 10 °C, 80 %).
		{"methane at 1.2", naturalGas, 1.2, 56.6, 0.1},
		{"methane at 1.5", naturalGas, 1.5, 52.6, 0.1},
		{"propane at 1.2", lpg, 1.2, 52.6, 0.1},
		{"propane at 1.5", lpg, 1.5, 48.7, 0.1},
	} {
		if got, err := c.fuel.dewPoint(c.airRatio); err != nil || math.Abs(got-c.want) > c.off {
			t.Errorf("%s: %.2f °C, want %.1f ± %.1f", c.name, got, c.want, c.off)
		}
	}
}

// The dew point by a calculation of its own: moles counted atom by atom, and the vapour's pressure looked for by halving
// on IAPWS-IF97.
func TestDewPointByCountingAtoms(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		f := rapid.SampledFrom([]fuel{naturalGas, lpg, oil}).Draw(r, "fuel")
		ratio := rapid.Float64Range(1, 2).Draw(r, "air ratio")
		// 1 mol of fuel takes c mol O2 for its carbon and h/4 for its hydrogen.
		c, h := f.of.Carbon, f.of.Hydrogen
		o2 := ratio * (c + h/4)
		n2 := o2 * (1 - 0.2095) / 0.2095
		pv := 0.8 * regionFour(10)
		vapour := (o2+n2)*pv/(101.325-pv) + h/2
		left := o2 - c - h/4
		want := 101.325 * vapour / (vapour + c + left + n2)
		low, high := 0.0, 100.0
		for high-low > 1e-6 {
			if mid := (low + high) / 2; regionFour(mid) < want {
				low = mid
			} else {
				high = mid
			}
		}
		if got, err := f.dewPoint(ratio); err != nil || math.Abs(got-low) > 0.1 {
			r.Errorf("%s at %.2f: %.2f °C, by atoms %.2f", f.name, ratio, got, low)
		}
	})
}

func TestMoreAirLowersTheDewPoint(t *testing.T) {
	for _, f := range []fuel{naturalGas, lpg, oil} {
		for a := 1.0; a < 2; a += 0.1 {
			here, err := f.dewPoint(a)
			more, err2 := f.dewPoint(a + 0.1)
			if err != nil || err2 != nil || more >= here {
				t.Errorf("%s at %.1f: %v %v", f.name, a, err, err2)
			}
		}
	}
	low, high := dewBand(fuelsOf(""))
	if l, _ := oil.band(); low != l {
		t.Errorf("an unknown fuel may be oil: %.1f, not %.1f", low, l)
	}
	if _, h := naturalGas.band(); high != h {
		t.Errorf("an unknown fuel may be natural gas: %.1f, not %.1f", high, h)
	}
}
