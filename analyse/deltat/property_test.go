package deltat_test

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tundish/analyse"
	"tundish/analyse/analysetest"
	"tundish/analyse/deltat"
)

// Heat by difference: d = P·60/(4.11·V) with P in kW and V in l/min (4.11 kJ/(l·K) at 60 °C, IAPWS-IF97). Whatever the
// output and whichever flow temperature, water that moves as designed is neither low nor high; at two and a half times
// that it is never high, at two fifths never low, and both are found where the burner gives the design output.
func TestWaterFlowDecides(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		times := rapid.SampledFrom([]float64{0.4, 0.85, 1, 1.2, 2.5}).Draw(rt, "water flow by design's")
		mod := rapid.Float64Range(0, 40).Draw(rt, "modulation, %")
		flow := rapid.Float64Range(45, 80).Draw(rt, "flow, °C")
		kw := 6 + mod/100*18
		design := 12 * 60 / (4.11 * 20)
		d := kw * 60 / (4.11 * times * design)
		if flow-d < 5 {
			rt.Skip("colder than any return")
		}
		script := fmt.Sprintf("0:00 flame 0 flow %.2f return %.2f modulation 0\n0:02 flame 1\n0:12 flame 0\n0:20 flame 1 modulation %.1f\n1:20 flame 0\n2:00 flame 0", flow, flow-d, mod)
		r := analysetest.Run(t, analysetest.Case{Script: script, Plant: sized, Step: 10 * time.Second}, deltat.Low(), deltat.High())
		low, high := analysetest.Outcome(t, r, "low-delta-t"), analysetest.Outcome(t, r, "high-delta-t")
		nearDesign := kw > 11.5
		switch {
		case times > 0.8 && times < 1.3 && (low.Outcome == analyse.Found || high.Outcome == analyse.Found):
			rt.Fatalf("%.1f K at %.1f kW: low %s, high %s", d, kw, low.Because, high.Because)
		case times == 2.5 && (high.Outcome == analyse.Found || nearDesign && low.Outcome != analyse.Found):
			rt.Fatalf("%.1f K at %.1f kW: low %v %s, high %s", d, kw, low.Outcome, low.Because, high.Because)
		case times == 0.4 && (low.Outcome == analyse.Found || nearDesign && high.Outcome != analyse.Found):
			rt.Fatalf("%.1f K at %.1f kW: low %s, high %v %s", d, kw, low.Because, high.Outcome, high.Because)
		}
	})
}
