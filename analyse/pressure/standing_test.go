package pressure_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/pressure"
)

// line is one moment of a script: flow and return at the appliance, and pressure by the law of s at the mean of all
// water.
func line(b *strings.Builder, at int, flame bool, flow, back, all float64, s sealed) {
	bit := map[bool]int{true: 1}[flame]
	fmt.Fprintf(b, "%d:%02d pump 1 heat-active 1 flame %d flow %.2f return %.2f pressure %.3f\n", at/60, at%60, bit, flow, back, s.bar(all, 0))
}

// With an air lock the burner heats what water the exchanger holds and stops, for hours; the house's water cools, and
// pressure goes with that. Flow and return do not show it: against their mean any slope may come out, and the steady hours before tell
// none.
func TestWaterThatStands(t *testing.T) {
	var b strings.Builder
	for at := 0; at < 3*1440; at += 2 {
		switch hours := float64(at) / 60; {
		case hours < 20: // sound: burner on, 58/42
			line(&b, at, true, 58, 42, 50, sound)
		default: // the house cools down to 20 °C within a day; flow stands at 60 to 70 °C
			all := 20 + 30*max(0, 1-(hours-20)/20)
			line(&b, at, at%20 == 0, 70-float64(at%20)/2, all, all, sound)
		}
	}
	r := analysetest.Run(t, analysetest.Case{Script: b.String(), Step: 2 * time.Minute, Plant: analyse.Plant{HotWater: analyse.InstantaneousHotWater}}, pressure.Loss(), pressure.Swing())
	for _, kind := range []string{"pressure-swing", "pressure-loss"} {
		if got := analysetest.Outcome(t, r, kind); got.Outcome != analyse.NotAssessable {
			t.Errorf("%s: %v, %s", kind, got.Outcome, got.Because)
		}
	}
}

// Where two valves share the heat, a cylinder is heated with the radiators cold and the appliance knows nothing of it:
// flow and return are hot, and most of the water is not. The line that the rest lies on is the vessel's.
func TestCylinderUnseen(t *testing.T) {
	for _, c := range []struct {
		name string
		s    sealed
		want analyse.Outcome
	}{
		{"a failed vessel", failed, analyse.Found},
		{"a sound one", sound, analyse.Clear},
	} {
		var b strings.Builder
		for at := 0; at < 3*1440; at += 2 {
			switch hour := float64(at%1440) / 60; {
			case hour < 5:
				fmt.Fprintf(&b, "%d:%02d pump 0 heat-active 0 flame 0 flow 22 return 22 pressure %.3f\n", at/60, at%60, c.s.bar(22, 0))
			case hour < 9, hour >= 16 && hour < 19: // the rooms: from 30 to 52 °C
				mean := 30 + 22*min(1, (hour-5)/3)
				if hour >= 16 {
					mean = 34 + 18*(hour-16)/3
				}
				line(&b, at, true, mean+8, mean-8, mean, c.s)
			case hour < 12, hour >= 19 && hour < 22: // the store: hot pipes, and radiators that cool
				line(&b, at, true, 68, 58, 30, c.s)
			default:
				fmt.Fprintf(&b, "%d:%02d pump 0 heat-active 0 flame 0 flow 30 return 30 pressure %.3f\n", at/60, at%60, c.s.bar(28, 0))
			}
		}
		r := analysetest.Run(t, analysetest.Case{Script: b.String(), Step: 2 * time.Minute, Plant: analyse.Plant{HotWater: analyse.CylinderHotWater}}, pressure.Swing())
		if got := analysetest.Outcome(t, r, "pressure-swing"); got.Outcome != c.want {
			t.Errorf("%s: %v, %s", c.name, got.Outcome, got.Because)
		}
	}
}
