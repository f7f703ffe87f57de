package episode

import (
	"testing"
	"time"

	"tundish/decode"
)

// A flame that went out for no reason that shows was lost where the appliance's own count says so; a count that rose by
// less than there are such firings tells of none in particular.
func TestFlameLossesByTheCounter(t *testing.T) {
	for _, c := range []struct {
		name  string
		count float64 // after both firings
		want  End
	}{{"both", 2, EndFlameLoss}, {"one of the two", 1, EndUnknown}, {"none", 0, EndUnknown}} {
		t.Run(c.name, func(t *testing.T) {
			f := lived(NewBuilder(config(60*time.Minute)), 3600, func(s int) map[decode.Point]float64 {
				at := map[decode.Point]float64{decode.HeatDemand: 1, decode.Flow: 45, decode.FlowSetpoint: 60,
					decode.Flame: bit(s >= 100 && s < 900 || s >= 950 && s < 1800 || s >= 2400)}
				if s%2000 == 0 {
					at[decode.FlameLosses] = 5 + c.count*bit(s >= 2000)
				}
				return at
			})
			if len(f.Firings) != 3 || f.Firings[0].End != c.want || f.Firings[1].End != c.want {
				t.Errorf("firings are %+v, want two that ended %q", f.Firings, c.want)
			}
		})
	}
}

// A flame lost with which the burner locks out was lost, and did not go out for the fault that came of it.
func TestFlameLossWithTheLockout(t *testing.T) {
	for flags, want := range map[int]End{flagGasFlame: EndFlameLoss, flagOverheat: EndFault} {
		f := lived(NewBuilder(config(40*time.Minute)), 2400, func(s int) map[decode.Point]float64 {
			return map[decode.Point]float64{decode.HeatDemand: 1, decode.Flow: 45, decode.FlowSetpoint: 60, decode.Flame: bit(s >= 100 && s < 1000),
				decode.Fault: bit(s >= 1000), decode.FaultFlags: map[bool]float64{true: float64(flags)}[s >= 1000]}
		})
		if len(f.Firings) != 1 || f.Firings[0].End != want {
			t.Errorf("flags %b: firings are %+v, want an end by %q", flags, f.Firings, want)
		}
	}
}

// An appliance that never speaks of hot water may not know of it, where valves share its heat: the use is not known, and
// a cylinder that warms tells it. One that speaks of it once tells of all firings, those before as well.
func TestWhetherTheApplianceKnowsOfHotWater(t *testing.T) {
	for _, c := range []struct {
		name     string
		speaks   bool
		cylinder bool
		use      [2]Use
		known    bool
		draws    int
	}{
		{"never", false, false, [2]Use{Heating, Heating}, false, 0},
		{"never, and a cylinder is watched", false, true, [2]Use{Heating, HotWater}, true, 1},
		{"it does", true, false, [2]Use{Heating, HotWater}, true, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			cfg := config(2 * time.Hour)
			cfg.HotWaterMade, cfg.Draws = true, Reheat
			f := lived(NewBuilder(cfg), 7200, func(s int) map[decode.Point]float64 {
				second := s >= 4000 && s < 6000
				at := map[decode.Point]float64{decode.HeatDemand: 1, decode.HotWaterActive: bit(second && c.speaks),
					decode.Flame: bit(s >= 1000 && s < 3000 || second)}
				if c.cylinder && s%30 == 0 {
					at[decode.Cylinder] = 45 + min(10, max(0, float64(s-4000)/200))
				}
				return at
			})
			if len(f.Firings) != 2 || len(f.Draws) != c.draws {
				t.Fatalf("firings are %+v, draws %+v", f.Firings, f.Draws)
			}
			for i, x := range f.Firings {
				if x.Use != c.use[i] || x.UseKnown != c.known {
					t.Errorf("firing %d is for %q, known %v; want %q, %v", i, x.Use, x.UseKnown, c.use[i], c.known)
				}
			}
		})
	}
}
