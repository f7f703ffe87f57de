package cases

import (
	"math/rand/v2"
	"time"

	"tundish/cmd/tundish/house"
)

// own adds an ailment of a sensor of the boiler's, probe one of a clip-on probe.
func own(f house.SensorFault) func(*house.Scenario, *rand.Rand) {
	return func(s *house.Scenario, r *rand.Rand) { s.Faults.OwnSensor = append(s.Faults.OwnSensor, f) }
}

func probe(f house.ProbeFault) func(*house.Scenario, *rand.Rand) {
	return func(s *house.Scenario, r *rand.Rand) { s.Faults.Probe = append(s.Faults.Probe, f) }
}

func disagreement() []way {
	const kind = "probe-disagreement"
	return []way{
		{kind: kind, name: "probe-disagreement-flow-slipped", doc: "the flow probe slipped off its pipe on the first morning", severity: Severe, days: 2,
			on: []string{"terrace", "bungalow"}, needs: hasBoth,
			change: probe(house.ProbeFault{Window: house.Window{From: clock(0, 9, 0), To: always().To}, Ails: house.SlippedOff, Share: 0.4})},
		{kind: kind, name: "probe-disagreement-return-slipped", doc: "the return probe hangs half off", severity: Moderate, days: 2,
			on: []string{"trv-bypass", "lpg-cottage"}, needs: both(hasBoth, hasRadiators),
			change: probe(house.ProbeFault{Window: house.Window{From: clock(0, 3, 0), To: always().To}, Return: true, Ails: house.SlippedOff, Share: 0.5})},
		{kind: kind, name: "probe-disagreement-bare-clip", doc: "probes clipped on bare, without insulation", severity: Moderate, days: 2,
			on: []string{"slow-master"}, needs: both(hasBoth, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) { s.Probes.Contact, s.Weather.MeanC = 0.22, -1 }},
		{kind: kind, name: "probe-disagreement-own-drifted", doc: "the boiler's own flow sensor reads 7 K too high", severity: Moderate, days: 2,
			on: []string{"compensated", "flat"}, needs: hasBoth,
			change: func(s *house.Scenario, r *rand.Rand) {
				own(house.SensorFault{Window: always(), Ails: house.Drifted, By: between(r, 6.5, 8)})(s, r)
			}},
		{kind: kind, name: "probe-disagreement-probe-drifts", doc: "a probe that drifts away from the first day on", severity: Moderate, days: 4,
			on: []string{"semi-two-port"}, needs: hasBoth,
			change: probe(house.ProbeFault{Window: house.Window{To: clock(4, 0, 0)}, Return: true, Ails: house.ProbeDrift, By: 9})},
		{kind: kind, name: "probe-disagreement-slight", doc: "a flow probe that reads 4.6 K too low", severity: Slight, days: 2,
			on: []string{"heat-pump-radiators"}, needs: hasBoth,
			change: func(s *house.Scenario, r *rand.Rand) { s.Probes.FlowOffK = -4.6 }},

		{kind: kind, name: "like-probe-disagreement-slow-probes", doc: "probes that follow a minute late: far apart while the water climbs, together when it is steady", lookAlike: true, days: 2,
			on: []string{"terrace"}, needs: hasBoth, change: func(s *house.Scenario, r *rand.Rand) { s.Probes.TauS = 60 }},
		{kind: kind, name: "like-probe-disagreement-taps", doc: "the boiler's sensors see the hot-water plate's water, the probes the pipes outside", lookAlike: true, days: 2,
			on: []string{"flat"}, needs: both(hasBoth, hasPlate), change: func(s *house.Scenario, r *rand.Rand) { s.People.DrawScale = 2 }},
		{kind: kind, name: "like-probe-disagreement-within", doc: "offsets and contact within what probes and sensors are allowed", lookAlike: true, days: 2,
			on: []string{"compensated"}, needs: hasBoth,
			change: func(s *house.Scenario, r *rand.Rand) { s.Probes.FlowOffK, s.Probes.Contact = -0.5, 0.03 }},
		{kind: kind, name: "like-probe-disagreement-jumps", doc: "a sensor that jumps for seconds and is right in between", lookAlike: true, days: 2,
			on: []string{"bungalow"}, needs: hasBoth,
			change: own(house.SensorFault{Window: always(), Return: true, Ails: house.Jumping, By: 25, EveryS: 600})},
	}
}

func sensorFaults() []way {
	const kind = "sensor-fault"
	return []way{
		{kind: kind, name: "sensor-fault-jumping-flow", doc: "the boiler's flow sensor jumps now and then: a poor connection", severity: Moderate, days: 2,
			on: []string{"terrace", "bus-only"}, needs: hasBus,
			change: own(house.SensorFault{Window: always(), Ails: house.Jumping, By: 22, EveryS: 400})},
		{kind: kind, name: "sensor-fault-jumping-return", doc: "the boiler's return sensor jumps often", severity: Severe, days: 2,
			on: []string{"slow-master"}, needs: hasBus,
			change: own(house.SensorFault{Window: always(), Return: true, Ails: house.Jumping, By: -30, EveryS: 90})},
		{kind: kind, name: "sensor-fault-stuck-return", doc: "the boiler's return sensor holds one value for a day", severity: Moderate, days: 2,
			on: []string{"compensated", "bungalow"}, needs: hasBus,
			change: own(house.SensorFault{Window: house.Window{From: clock(0, 10, 0), To: clock(1, 12, 0)}, Return: true, Ails: house.StuckAt})},
		{kind: kind, name: "sensor-fault-power-on", doc: "a probe on a long lead gives its power-on value now and then", severity: Moderate, days: 2,
			on: []string{"terrace", "probes-only"}, needs: hasProbes,
			change: probe(house.ProbeFault{Window: always(), Ails: house.PowerOn, Share: 0.003})},
		{kind: kind, name: "sensor-fault-open", doc: "the boiler's return sensor is open: −40 °C", severity: Severe, days: 2,
			on: []string{"lpg-cottage"}, needs: hasBus,
			change: own(house.SensorFault{Window: house.Window{From: clock(1, 8, 0), To: clock(1, 18, 0)}, Return: true, Ails: house.OpenWire})},
		{kind: kind, name: "sensor-fault-short", doc: "the boiler's return sensor is shorted: 125 °C", severity: Severe, days: 2,
			on: []string{"flat"}, needs: hasBus,
			change: own(house.SensorFault{Window: house.Window{From: clock(0, 15, 0), To: clock(1, 9, 0)}, Return: true, Ails: house.ShortWire})},
		{kind: kind, name: "sensor-fault-probe-stuck", doc: "the flow probe gives the same value on and on", severity: Moderate, days: 2,
			on: []string{"probes-only", "trv-bypass"}, needs: hasProbes,
			change: probe(house.ProbeFault{Window: house.Window{From: clock(0, 11, 0), To: clock(1, 20, 0)}, Ails: house.ProbeStuck})},
		{kind: kind, name: "sensor-fault-few-jumps", doc: "a handful of jumps in a day", severity: Slight, days: 2,
			on: []string{"switched-live"}, needs: hasBus,
			change: own(house.SensorFault{Window: always(), Ails: house.Jumping, By: 18, EveryS: 7200})},

		{kind: kind, name: "like-sensor-fault-drift", doc: "a sensor that reads 6 K too high, always: possible values, wrong ones", lookAlike: true, days: 2,
			on: []string{"terrace"}, needs: hasBus, change: own(house.SensorFault{Window: always(), Return: true, Ails: house.Drifted, By: 6})},
		{kind: kind, name: "like-sensor-fault-slipped", doc: "a probe off its pipe: it tells the air's temperature, rightly", lookAlike: true, days: 2,
			on: []string{"probes-only"}, needs: hasProbes,
			change: probe(house.ProbeFault{Window: house.Window{From: clock(0, 9, 0), To: always().To}, Return: true, Ails: house.SlippedOff, Share: 0.1})},
		{kind: kind, name: "like-sensor-fault-no-answer", doc: "a probe that is gone for hours, and bad checksums: no values, not wrong ones", lookAlike: true, days: 2,
			on: []string{"compensated", "probes-only"}, needs: hasProbes,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.Probe = append(s.Faults.Probe, house.ProbeFault{Window: window(0, 13, 0, 18, 0), Ails: house.Gone},
					house.ProbeFault{Window: always(), Return: true, Ails: house.BadCRC, Share: 0.02})
			}},
		{kind: kind, name: "like-sensor-fault-fast-water", doc: "little water and a strong burner: the flow climbs faster than elsewhere", lookAlike: true, days: 2,
			on: []string{"bus-only"}, needs: both(modulates, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) { resize(s, 5*loadKW(s), 1.5*loadKW(s)); littleWater(s, 0.3) }},
		{kind: kind, name: "like-sensor-fault-noisy-line", doc: "flipped bits and lines of noise on the bus", lookAlike: true, days: 2,
			on: []string{"slow-master"}, needs: hasBus,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.LostReply, s.Faults.BadParity, s.Faults.Garbage = 0.01, 0.003, 0.003
			}},
	}
}

func silences() []way {
	const kind = "bus-silence"
	dead := func(noted bool, list ...house.Window) func(*house.Scenario, *rand.Rand) {
		return func(s *house.Scenario, r *rand.Rand) {
			for _, w := range list {
				s.Faults.Adapter = append(s.Faults.Adapter, house.AdapterFault{Window: w, Noted: noted})
			}
		}
	}
	return []way{
		{kind: kind, name: "bus-silence-adapter-dies", doc: "the adapter prints nothing for fifty minutes", severity: Moderate, days: 2,
			on: []string{"terrace", "trv-bypass"}, needs: hasBus, change: dead(false, window(1, 7, 10, 8, 0))},
		{kind: kind, name: "bus-silence-unplugged", doc: "the adapter is pulled for three hours, and the logger notes it", severity: Severe, days: 2,
			on: []string{"compensated", "bus-only"}, needs: hasBus, change: dead(true, window(0, 14, 0, 17, 5))},
		{kind: kind, name: "bus-silence-loose-wire", doc: "a loose bus wire: quarters of an hour, again and again", severity: Moderate, days: 2,
			on: []string{"slow-master"}, needs: hasBus, change: dead(false, window(0, 8, 0, 8, 17), window(0, 19, 30, 19, 50), window(1, 6, 40, 7, 2), window(1, 9, 5, 9, 25), window(1, 16, 0, 16, 15))},
		{kind: kind, name: "bus-silence-night", doc: "nothing from the bus for a whole night", severity: Severe, days: 2,
			on: []string{"flat", "heat-pump-radiators"}, needs: hasBus, change: dead(false, house.Window{From: clock(0, 22, 30), To: clock(1, 6, 30)})},
		{kind: kind, name: "bus-silence-slight", doc: "twelve minutes without a line", severity: Slight, days: 2,
			on: []string{"lpg-cottage"}, needs: hasBus, change: dead(false, window(1, 12, 0, 12, 12))},
		{kind: kind, name: "bus-silence-to-the-end", doc: "the adapter dies on the second morning and stays dead", severity: Severe, days: 2,
			on: []string{"bungalow"}, needs: hasBus, change: dead(false, house.Window{From: clock(1, 5, 0), To: always().To})},

		{kind: kind, name: "like-bus-silence-switched-live", doc: "mains, and with them the bus, only while heat is asked for", lookAlike: true, days: 3,
			on: []string{"switched-live", "terrace"}, needs: hasBus,
			change: func(s *house.Scenario, r *rand.Rand) { s.SwitchedLive = true; s.Weather.MeanC = 8 }},
		{kind: kind, name: "like-bus-silence-power-cut", doc: "a power cut of an hour", lookAlike: true, days: 2,
			on: []string{"compensated"}, needs: hasBus,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.Supply = append(s.Faults.Supply, window(1, 10, 0, 11, 4))
			}},
		{kind: kind, name: "like-bus-silence-logger-off", doc: "no logger ran for an hour and a half: a gap", lookAlike: true, days: 2,
			on: []string{"slow-master"}, needs: hasBus,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.LoggerOff = append(s.Faults.LoggerOff, window(1, 9, 0, 10, 30))
			}},
		{kind: kind, name: "like-bus-silence-restarts", doc: "an adapter that restarts often and is back in seconds, and once is dead for seven minutes", lookAlike: true, days: 2,
			on: []string{"bus-only"}, needs: hasBus,
			change: func(s *house.Scenario, r *rand.Rand) {
				for h := range 40 {
					s.Faults.Restarts = append(s.Faults.Restarts, time.Duration(h)*time.Hour+37*time.Minute)
				}
				dead(false, window(1, 13, 0, 13, 7))(s, r)
			}},
	}
}
