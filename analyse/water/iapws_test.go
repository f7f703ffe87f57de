package water

import (
	"fmt"
	"math"
	"os/exec"
	"strings"
	"testing"
)

// Debian's python3-iapws (1.5.3 in Debian 12) shares nothing with this package but the standard. It tells temperature, density,
// specific heat, enthalpy, saturation pressure and viscosity, a line each.
const iapws = `
from iapws.iapws97 import _Region1, _PSat_T
from iapws._iapws import _Viscosity
for i in range(0, 200):
    c = i * 0.5 + 0.25
    r = _Region1(c + 273.15, 0.101325)
    print(c, 1 / r["v"], r["cp"], r["h"] - _Region1(273.15, 0.101325)["h"], 1000 * _PSat_T(c + 273.15), 1000 * _Viscosity(1 / r["v"], c + 273.15))
`

func TestAgainstAnIndependentLibrary(t *testing.T) {
	const python = "/usr/bin/python3"
	if exec.CommandContext(t.Context(), python, "-c", "import iapws").Run() != nil {
		t.Skip("python3-iapws is not there: ./test installs it; water's properties were not compared with it")
	}
	out, err := exec.CommandContext(t.Context(), python, "-c", iapws).CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	rows := 0
	for line := range strings.Lines(string(out)) {
		var c, rho, cp, h, sat, mPaS float64
		if _, err := fmt.Sscan(line, &c, &rho, &cp, &h, &sat, &mPaS); err != nil {
			t.Fatalf("%q: %v", line, err)
		}
		rows++
		off := 0.0001
		if c < 10 {
			off = 0.0004
		}
		got, err := VolumeHeatKJLK(c)
		if want := rho * cp / 1000; err != nil || math.Abs(got/want-1) > off {
			t.Errorf("%.2f °C: rho·cp %.5f, the library has %.5f (%v)", c, got, want, err)
		}
		if got, _ := DensityKgM3(c); math.Abs(got/rho-1) > 0.0002 {
			t.Errorf("%.2f °C: density %.3f, the library has %.3f", c, got, rho)
		}
		if got, _ := EnthalpyKJKg(c); math.Abs(got-h) > 0.02+0.0003*c {
			t.Errorf("%.2f °C: enthalpy %.3f, the library has %.3f", c, got, h)
		}
		if got, _ := ViscosityMPaS(c); math.Abs(got/mPaS-1) > 0.008 {
			t.Errorf("%.2f °C: viscosity %.4f mPa·s, the library has %.4f", c, got, mPaS)
		}
		if got, _ := SaturationKPa(c); math.Abs(got/sat-1) > 1e-9 {
			t.Errorf("%.2f °C: saturation %.6f kPa, the library has %.6f", c, got, sat)
		}
	}
	if rows != 200 {
		t.Errorf("%d temperatures were compared, not 200", rows)
	}
}
