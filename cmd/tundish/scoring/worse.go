package scoring

import (
	"slices"
	"time"

	"tundish/cmd/tundish/house"
)

// Variant is a set-up that tells less than the case's own. Nothing of the heating changes.
type Variant struct {
	Name, Doc string
	// Change makes a scenario's set-up worse; false where it has nothing that gets worse.
	Change func(*house.Scenario) bool
}

// Variants lists the worse set-ups. All figures are own proposals of what is met on site.
func Variants() []Variant {
	return []Variant{
		{"probes-10s", "probes read every 10 s", probes(func(p *house.ProbeSpec) { p.Every = 10 * time.Second })},
		{"probes-60s", "probes read every 60 s", probes(func(p *house.ProbeSpec) { p.Every = time.Minute })},
		{"probe-lag-60s", "probes that lag by 60 s, as on plastic pipe or without paste", probes(func(p *house.ProbeSpec) { p.TauS = 60 })},
		{"bus-10s", "a master that asks one thing every 10 s", onBus(func(b *house.BusSpec) { b.Every = 10 * time.Second })},
		{"coarse-steps", "the bus tells temperatures in steps of 1 K", onBus(func(b *house.BusSpec) { b.StepK, b.OutsideStepK = 1, 1 })},
		{"no-set-point", "no flow set-point on the bus (data id 1); what cannot be told without it still counts as missed", without(1)},
		{"no-modulation", "no modulation on the bus (17)", without(17)},
		{"no-pressure", "no pressure on the bus (18)", without(18)},
		{"no-return", "no return temperature on the bus (28)", without(28)},
		{"no-counters", "no counts of starts and failures on the bus (113, 114, 116, 120)", without(113, 114, 116, 120)},
		{"noise", "2 % of the bus's lines garbled, 2 % with noise after them, 3 % of the replies lost; probes with 0.15 K of noise", noise},
	}
}

func probes(change func(*house.ProbeSpec)) func(*house.Scenario) bool {
	return func(s *house.Scenario) bool {
		if !s.NoProbes {
			change(&s.Probes)
		}
		return !s.NoProbes
	}
}

func onBus(change func(*house.BusSpec)) func(*house.Scenario) bool {
	return func(s *house.Scenario) bool {
		if !s.NoBus {
			change(&s.Bus)
		}
		return !s.NoBus
	}
}

// without is an appliance that does not know some data ids (OpenTherm Protocol Specification v2.2, 5.3).
func without(ids ...uint8) func(*house.Scenario) bool {
	return onBus(func(b *house.BusSpec) { b.Unsupported = slices.Concat(b.Unsupported, ids) })
}

func noise(s *house.Scenario) bool {
	f := &s.Faults
	f.BadParity, f.Garbage, f.LostReply = max(f.BadParity, 0.02), max(f.Garbage, 0.02), max(f.LostReply, 0.03)
	s.Probes.NoiseK = max(s.Probes.NoiseK, 0.15)
	return true
}
