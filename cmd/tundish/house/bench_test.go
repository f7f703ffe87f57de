package house

import "testing"

// BenchmarkDay is one simulated day of the house alone, without its devices: the demo, and one with all that costs
// time on the water side.
func BenchmarkDay(b *testing.B) {
	rich := matched()
	rich.Circuit.Pump = PumpSpec{HeadKPa: 50, FreeLpm: 30}
	rich.Circuit.Valves = ValveSpec{Share: 0.8, SetC: 20.5}
	rich.Circuit.BypassOpensKPa, rich.Circuit.FlowLpm = 15, 15
	for _, s := range []Scenario{coldMornings(), rich} {
		b.Run(s.Name+"/day", func(b *testing.B) {
			for b.Loop() {
				h := New(s, 1)
				for h.Now() < day {
					h.Step()
				}
			}
		})
	}
}
