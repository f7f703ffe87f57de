package cylinder_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/cylinder"
	"tundish/decode/unit"
)

const kind = "cylinder-too-cool"

// system writes days of a store that cools to cold °C by draws and is reheated to top(day) °C at six and at seventeen,
// with water of flow °C through a coil.
func system(days int, flow float64, top func(day int, evening bool) float64) string {
	const cold = 42.0
	var b strings.Builder
	line := func(h float64, format string, args ...any) {
		fmt.Fprintf(&b, "%d:%02d:%02d %s\n", int(h), int(h*60)%60, int(h*3600+0.5)%60, fmt.Sprintf(format, args...))
	}
	line(0, "flame 0 hot-water-active 0 heat-demand 0 flow 30 return 28 cylinder 45 modulation 0")
	for d := range days {
		for _, evening := range []bool{false, true} {
			at := float64(24*d + 6)
			if evening {
				at += 11
			}
			end := top(d, evening)
			line(at, "cylinder %g", cold)
			if end <= cold {
				continue
			}
			line(at, "hot-water-active 1 flame 1 flow %g return %g modulation 60", flow, flow-8)
			steps := int((end - cold) / 0.5)
			for i := 1; i <= steps; i++ {
				line(at+float64(i)*1.2/60, "cylinder %g", cold+0.5*float64(i))
			}
			done := at + (float64(steps)*1.2+0.5)/60
			line(done, "hot-water-active 0 flame 0 flow 35 return 33 modulation 0")
			line(done+2, "cylinder %g", end-1)
			line(done+4, "cylinder %g", end-8)
		}
	}
	line(float64(24*days), "flame 0")
	return b.String()
}

func even(c float64) func(int, bool) float64 { return func(int, bool) float64 { return c } }

func judge(t *testing.T, script string, plant analyse.Plant, step time.Duration) (*analyse.Result, analyse.Checked) {
	t.Helper()
	if step == 0 {
		step = 30 * time.Second
	}
	r := analysetest.Run(t, analysetest.Case{Script: script, Plant: plant, Step: step}, cylinder.Check())
	return r, analysetest.Outcome(t, r, kind)
}

var withStore = analyse.Plant{Kind: "boiler", HotWater: analyse.CylinderHotWater}

// 60 °C stored is what HSE (L8, HSG274 part 2) asks for.
func TestOutcomes(t *testing.T) {
	once := func(day int, c, others float64) func(int, bool) float64 {
		return func(d int, evening bool) float64 {
			if d == day && !evening {
				return c
			}
			return others
		}
	}
	for name, c := range map[string]struct {
		script string
		plant  analyse.Plant
		want   analyse.Outcome
		says   string
	}{
		"thermostat at 50":                      {system(3, 72, even(50)), withStore, analyse.Found, "50 °C"},
		"thermostat at 62":                      {system(3, 72, even(62)), withStore, analyse.Clear, "62.0 °C"},
		"hot once a week":                       {system(7, 72, once(3, 61, 52)), withStore, analyse.Clear, "61.0 °C"},
		"hot on the first of nine days":         {system(9, 72, once(0, 62, 52)), withStore, analyse.Found, "52 °C"},
		"hot on the fifth of eleven days":       {system(11, 72, once(5, 62, 52)), withStore, analyse.Clear, ""},
		"just below, within the sensor's error": {system(3, 72, even(58.5)), withStore, analyse.NotAssessable, "thermometer"},
		"half a day":                            {system(1, 72, even(50))[:strings.Index(system(1, 72, even(50)), "17:00:00")] + "12:00 flame 0", withStore, analyse.NotAssessable, "weekly"},
		"no cylinder":                           {system(1, 72, even(50)), analyse.Plant{HotWater: analyse.NoHotWater}, analyse.Clear, "does not apply"},
		"made as it flows":                      {system(1, 72, even(48)), analyse.Plant{HotWater: analyse.InstantaneousHotWater}, analyse.Clear, "does not apply"},
		"no sensor":                             {"0:00 flame 0 flow 40\n48:00 flame 0", withStore, analyse.NotAssessable, "no temperature of the stored water"},
		"never heated":                          {system(3, 72, even(30)), withStore, analyse.Found, ""},
		"a pipe and no store": {"0:00 cylinder 30 flame 0\n" + analysetest.Repeat("6:00", 5, 12*time.Hour, "0:00 cylinder 75\n0:20 cylinder 30\n") + "72:00 flame 0",
			withStore, analyse.NotAssessable, "pipe"},
		"an open sensor": {"0:00 cylinder 120 flame 0\n48:00 flame 0", withStore, analyse.NotAssessable, "no temperature that water can have"},
	} {
		t.Run(name, func(t *testing.T) {
			_, got := judge(t, c.script, c.plant, 0)
			if got.Outcome != c.want || !strings.Contains(got.Because, c.says) {
				t.Errorf("%v: %s\nwant %v with %q", got.Outcome, got.Because, c.want, c.says)
			}
		})
	}
}

// Four hours without a reading, over midnight, may hide a reheat to 60 °C: nothing may be found.
func TestAGapMayHideTheReheat(t *testing.T) {
	script := system(3, 72, even(50)) + "\n22:00 cylinder -\n26:30 cylinder 45\n"
	if _, got := judge(t, script, withStore, 0); got.Outcome != analyse.NotAssessable || !strings.Contains(got.Because, "at a stretch") {
		t.Errorf("%v: %s", got.Outcome, got.Because)
	}
	short := system(3, 72, even(50)) + "\n22:00 cylinder -\n23:30 cylinder 45\n"
	if _, got := judge(t, short, withStore, 0); got.Outcome != analyse.Found {
		t.Errorf("an hour and a half: %v: %s", got.Outcome, got.Because)
	}
}

func TestCauses(t *testing.T) {
	cut := func() string { // each reheat ends at 6:20, at another temperature
		var b strings.Builder
		b.WriteString("0:00 flame 0 hot-water-active 0 flow 30 return 28 cylinder 40\n")
		for d := range 6 {
			low := 22 + 3*((d*5)%6)
			fmt.Fprintf(&b, "%d:05 cylinder %d\n%d:00 hot-water-active 1 flame 1 flow 70 return 60\n", 24*d+4, low, 24*d+6)
			for i := range 20 {
				fmt.Fprintf(&b, "%d:%02d cylinder %d\n", 24*d+6, i, low+i)
			}
			fmt.Fprintf(&b, "%d:20 hot-water-active 0 flame 0 flow 35 return 33\n", 24*d+6)
		}
		b.WriteString("144:00 flame 0")
		return b.String()
	}
	scaled := "0:00 flame 0 hot-water-active 0 flow 30 return 28 cylinder 40\n" + analysetest.Repeat("6:00", 6, 24*time.Hour, `
0:00 hot-water-active 1 flame 1 flow 75 return 72 cylinder 40
0:15 cylinder 41
0:30 cylinder 42
0:45 cylinder 43
1:00 cylinder 44
1:15 cylinder 45
1:30 cylinder 46
1:45 cylinder 47
2:00 hot-water-active 0 flame 0 flow 35 return 33
4:00 cylinder 40`) + "144:00 flame 0"
	for name, c := range map[string]struct{ script, cause string }{
		"a thermostat ends them":    {system(3, 72, even(50)), "set-point-too-low"},
		"the set-point says so":     {"0:00 hot-water-setpoint 52\n" + system(3, 72, even(52)), "set-point-too-low"},
		"the clock cuts them short": {cut(), "reheat-cut-short"},
		"the curve's flow":          {system(3, 54, even(50)), "flow-too-cool"},
		"a furred coil":             {scaled, "poor-recovery"},
		"nobody heats it":           {system(3, 72, even(30)), "never-reheated"},
	} {
		t.Run(name, func(t *testing.T) {
			r, got := judge(t, c.script, withStore, 0)
			f := analysetest.Finding(r, kind)
			if f == nil {
				t.Fatal(got.Outcome, got.Because)
			}
			if f.Causes[0].Cause != c.cause {
				t.Errorf("first cause %s (%s), want %s", f.Causes[0].Cause, f.Causes[0].Because, c.cause)
			}
			for _, x := range f.Causes {
				if x.Settle == "" || x.Because == "" || x.Support <= 0 || x.Support > 1 {
					t.Errorf("%+v", x)
				}
			}
			if all := f.Summary + f.Causes[0].Settle; !strings.Contains(all, "Legionella") || !strings.Contains(all, "scald") || !strings.Contains(all, "competent") || !strings.Contains(all, "local rules") {
				t.Errorf("words of caution are missing: %s", all)
			}
		})
	}
}

// outputKW is the output of the boiler in [coilStore], kW.
const outputKW = 10.0

// coilStore writes three days of one reheat each to top °C through a coil of ua W/K with lpm l/min, by a sensor that reads
// off K high.
func coilStore(ua, lpm, top, off float64) string {
	carried := lpm / 60 * 0.98 * 4180
	spread := outputKW * 1000 / carried
	above := spread / (1 - math.Exp(-ua/carried))
	var b strings.Builder
	fmt.Fprintf(&b, "0:00 flame 0 hot-water-active 0 flow 30 return 28 modulation 0 cylinder %g\n", top-20+off)
	for d := range 3 {
		for i := range 40 {
			store := top + 0.5*float64(i-39)
			fmt.Fprintf(&b, "%d:%02d hot-water-active 1 flame 1 modulation 100 cylinder %g flow %g return %g\n", 24*d+6, i, store+off, store+above, store+above-spread)
		}
		fmt.Fprintf(&b, "%d:40 hot-water-active 0 flame 0 flow 35 return 33 modulation 0\n%d:30 cylinder %g\n", 24*d+6, 24*d+9, top-20+off)
	}
	return b.String() + "72:00 flame 0"
}

// Water that gives its heat to a store through UA comes back (flow − store)·exp(−UA/(m·c)) above it: the effectiveness of a
// heat exchanger with one side at one temperature (VDI Heat Atlas, NTU method), here with 4.18 kJ/(kg K) and 0.98 kg/l.
func TestTheCoilAndTheSensor(t *testing.T) {
	plant := withStore
	plant.OutputMax, plant.OutputMin = analyse.Some[unit.KW](outputKW), analyse.Some[unit.KW](3)
	for name, c := range map[string]struct {
		ua, lpm, top, off float64
		want              analyse.Outcome
		says              string
		remark            bool
	}{
		"a plain coil bears it out":                  {600, 12, 61, 0, analyse.Clear, "61.0", false},
		"just 60 °C, and the coil bears it out":      {600, 12, 60.3, 0, analyse.Clear, "60.3", false},
		"just 60 °C, and nothing bears it out":       {1100, 12, 60.3, 0, analyse.NotAssessable, "its own error", false},
		"a usual sound store, little water":          {700, 8, 62, 0, analyse.Clear, "62.0", false},
		"little water and a good coil: 2 K":          {900, 6, 63, 0, analyse.Clear, "63.0", true},
		"a good coil":                                {1150, 14, 63, 0, analyse.Clear, "63.0", true},
		"a quick coil, or a sensor 4 K high":         {1500, 14, 63, 0, analyse.NotAssessable, "hardly any coil", false},
		"6 K high on a plain coil, not to be seen":   {600, 12, 56, 6, analyse.Clear, "62.0", true},
		"the return cooler than the store's reading": {600, 12, 52, 14, analyse.NotAssessable, "hardly any coil", false},
		"too cool by a sensor that is borne out":     {600, 12, 58.9, 0, analyse.Found, "", false},
	} {
		t.Run(name, func(t *testing.T) {
			_, got := judge(t, coilStore(c.ua, c.lpm, c.top, c.off), plant, 0)
			if got.Outcome != c.want || !strings.Contains(got.Because, c.says) {
				t.Fatalf("%v: %s\nwant %v with %q", got.Outcome, got.Because, c.want, c.says)
			}
			if strings.Contains(got.Because, "thermometer at the drawn water") != c.remark {
				t.Errorf("the remark that the sensor alone speaks: %s", got.Because)
			}
		})
	}
}

// Whatever the temperatures and however often they are read: a store that came to 60 °C is never too cool, and one that
// stays below 57 °C is never clear.
func TestNeverAgainstTheSensor(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		days := rapid.IntRange(1, 2).Draw(r, "days")
		tops := map[[2]int]float64{}
		hottest := 45.0
		script := system(days, 72, func(d int, evening bool) float64 {
			k := [2]int{d, 0}
			if evening {
				k[1] = 1
			}
			v := float64(rapid.IntRange(40, 66).Draw(r, "top"))
			tops[k] = v
			if v > 42 {
				hottest = max(hottest, v)
			}
			return v
		})
		step := time.Duration(rapid.SampledFrom([]int{20, 60, 240}).Draw(r, "step")) * time.Second
		_, got := judge(t, script, withStore, step)
		if hottest >= 60.5 && got.Outcome == analyse.Found {
			r.Errorf("%.0f °C was reached: %s", hottest, got.Because)
		}
		if hottest < 57 && got.Outcome == analyse.Clear {
			r.Errorf("%.0f °C was never passed: %s", hottest, got.Because)
		}
	})
}

// A quick coil in a store at 63 °C, and a plain one in a store at 56.1 °C whose sensor reads 6.9 K high, leave the same
// record: at the same output and flow rate (flow − store) and (return − store) differ by the sensor's error alone.
func TestAQuickCoilAndAHighSensorLeaveOneRecord(t *testing.T) {
	const lpm, top = 14.0, 63.0
	carried := lpm / 60 * 0.98 * 4180
	above := func(ua float64) float64 { return outputKW * 1000 / carried / (1 - math.Exp(-ua/carried)) }
	off := above(700) - above(1500)
	if off < 6.5 || off > 7.5 {
		t.Fatalf("%.2f K", off)
	}
	quick, plain := strings.Fields(coilStore(1500, lpm, top, 0)), strings.Fields(coilStore(700, lpm, top-off, off))
	if len(quick) != len(plain) {
		t.Fatalf("%d and %d words", len(quick), len(plain))
	}
	for i := range quick {
		a, errA := strconv.ParseFloat(quick[i], 64)
		b, errB := strconv.ParseFloat(plain[i], 64)
		if (errA == nil) != (errB == nil) || errA != nil && quick[i] != plain[i] || math.Abs(a-b) > 1e-9 {
			t.Fatalf("%q and %q", quick[i], plain[i])
		}
	}
}
