package cases

import (
	"math/rand/v2"
	"time"

	"tundish/analyse/episode"
	"tundish/cmd/tundish/house"
)

// cold is weather with a hard frost on the mornings of the days.
func cold(s *house.Scenario, days ...int) {
	for _, d := range days {
		s.Weather.Snaps = append(s.Weather.Snaps, house.ColdSnap{Day: d, LowC: -6})
	}
}

// spoil makes attempts fail.
func spoil(s *house.Scenario, f ...house.IgnitionFault) {
	s.Faults.Ignition = append(s.Faults.Ignition, f...)
}

// overheats makes a boiler that outruns its slow sensor when no water moves: its limiter trips.
func overheats(s *house.Scenario) {
	s.Boiler.OverheatC, s.Boiler.FlowLimitC, s.Boiler.SensorTauS, s.Boiler.SpreadLimitK = 92, 86, 25, 60
	s.Boiler.WaterL, s.Boiler.MetalJK = 1.2, 4e3
	resize(s, max(s.Boiler.OutputMaxKW, 2.4*loadKW(s)), 0.9*loadKW(s))
	s.Boiler.IgnitionKW = 1.5 * loadKW(s)
}

// any outside temperature.
const anyC = 60.0

func lockouts() []way {
	const kind = "lockout"
	return []way{
		{kind: kind, name: "lockout-frozen-condensate", doc: "the condensate pipe freezes in long frost: flames that do not hold, lockout on two mornings", severity: Severe, cause: episode.CauseIgnition, days: 3,
			on: []string{"terrace", "bungalow"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				cold(s, 1, 2)
				spoil(s, house.IgnitionFault{Window: house.Window{From: clock(1, 3, 0), To: clock(1, 11, 0)}, BelowC: 1, ColdFor: time.Hour, Fails: 9, Flame: 3 * time.Second, Sequences: 1, ResetAfter: 95 * time.Minute, Reset: episode.ResetByHand},
					house.IgnitionFault{Window: house.Window{From: clock(2, 3, 0), To: clock(2, 11, 0)}, BelowC: 1, ColdFor: time.Hour, Fails: 9, Flame: 3 * time.Second, Sequences: 1, ResetAfter: 70 * time.Minute, Reset: episode.ResetByHand})
			}},
		{kind: kind, name: "lockout-no-gas", doc: "no gas one afternoon: no flame in any attempt, reset over the bus", severity: Moderate, cause: episode.CauseIgnition, days: 2,
			on: []string{"lpg-cottage", "slow-master"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				spoil(s, house.IgnitionFault{Window: house.Window{From: clock(0, 13, 0), To: clock(1, 13, 0)}, BelowC: anyC, Fails: 9, Sequences: 2, ResetAfter: 80 * time.Minute, Reset: episode.ResetCommand})
			}},
		{kind: kind, name: "lockout-flame-lost", doc: "the flame drops again and again until the boiler locks out", severity: Moderate, cause: episode.CauseFlameLoss, days: 2,
			on: []string{"compensated", "bus-only"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.FlameLoss = []house.FlameLossFault{{Window: house.Window{From: clock(1, 4, 0), To: clock(1, 22, 0)}, After: 15 * time.Second, Times: 12, ResetAfter: 50 * time.Minute}}
			}},
		{kind: kind, name: "lockout-overheat", doc: "no water moves and the limiter trips", severity: Severe, cause: episode.CauseOverheat, also: nil, days: 2,
			on: []string{"terrace", "trv-bypass"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.NoFlow = []house.Window{window(1, 3, 0, 12, 0)}
				overheats(s)
			}},
		{kind: kind, name: "lockout-low-pressure", doc: "a leak lowers the pressure until the boiler stops; the householder tops up", severity: Severe, cause: episode.CauseLowPressure, days: 4,
			on: []string{"bungalow", "semi-two-port"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Boiler.MinPressureBar = 0.6
				s.Vessel.FillBar = 0.95
				s.Vessel.PrechargeBar = 0.85
				s.Vessel.VolumeL = 8
				s.Faults.Leak = []house.Leak{{Window: house.Window{To: clock(1, 12, 0)}, LPerDay: 2}}
				s.Faults.Refills = []house.Refill{{At: clock(1, 8, 30), ToBar: 1.3}}
			}},
		{kind: kind, name: "lockout-broken-wire", doc: "the flow sensor's wire breaks; mended the same afternoon", severity: Moderate, cause: episode.CauseSensor, also: []string{"sensor-fault"}, days: 2,
			on: []string{"compensated", "flat"}, needs: hasBus,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.OwnSensor = append(s.Faults.OwnSensor, house.SensorFault{Window: window(1, 7, 20, 14, 10), Ails: house.OpenWire})
			}},
		{kind: kind, name: "lockout-fan", doc: "the air-pressure switch does not make; locks out until reset", severity: Moderate, cause: episode.CauseAirPressure, days: 2,
			on: []string{"slow-master"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.Blocked = append(s.Faults.Blocked, house.BlockFault{Window: window(1, 6, 30, 10, 45), Cause: house.BlockAirPressure, Lockout: true})
			}},
		{kind: kind, name: "lockout-volatile", doc: "locks out on ignition; cutting the supply clears it", severity: Moderate, cause: episode.CauseIgnition, days: 3,
			on: []string{"switched-live"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Boiler.VolatileLockout = true
				spoil(s, house.IgnitionFault{Window: house.Window{From: clock(1, 5, 0), To: clock(1, 12, 0)}, BelowC: anyC, Fails: 9, Sequences: 1, ResetAfter: 40 * time.Minute, Reset: episode.ResetPower})
			}},
		{kind: kind, name: "lockout-brief", doc: "one lockout, reset within five minutes", severity: Slight, cause: episode.CauseIgnition, days: 2,
			on: []string{"bus-only"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				spoil(s, house.IgnitionFault{Window: house.Window{From: clock(1, 3, 0), To: clock(1, 20, 0)}, BelowC: anyC, Fails: 9, Sequences: 1, ResetAfter: 4 * time.Minute, Reset: episode.ResetByHand})
			}},

		{kind: kind, name: "like-lockout-block", doc: "the air-pressure switch holds the burner off in gusts and lets it go by itself", lookAlike: true, days: 2,
			on: []string{"terrace"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				for _, m := range []int{0, 25, 50} {
					s.Faults.Blocked = append(s.Faults.Blocked, house.BlockFault{Window: window(1, 7, m, 7, m+8), Cause: house.BlockAirPressure})
				}
			}},
		{kind: kind, name: "like-lockout-retries", doc: "attempts fail, the last always lights", lookAlike: true, days: 2,
			on: []string{"compensated"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Boiler.Attempts = 5
				spoil(s, house.IgnitionFault{Window: always(), BelowC: anyC, Fails: 4, Sequences: 12})
			}},
		{kind: kind, name: "like-lockout-power-cut", doc: "no mains for two hours of a cold morning", lookAlike: true, days: 2,
			on: []string{"slow-master", "bus-only"}, needs: hasBus,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.Supply = append(s.Faults.Supply, window(1, 6, 10, 8, 20))
			}},
		{kind: kind, name: "like-lockout-flame-recovers", doc: "the flame drops now and then and lights again", lookAlike: true, days: 2,
			on: []string{"bungalow"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Boiler.Attempts = 5
				s.Faults.FlameLoss = []house.FlameLossFault{{Window: window(1, 4, 0, 22, 0), After: 11 * time.Minute, Times: 3}}
			}},
	}
}

func retries() []way {
	const kind = "ignition-retries"
	return []way{
		{kind: kind, name: "ignition-retries-cold-mornings", doc: "the first two attempts of cold mornings fail", severity: Moderate, days: 3,
			on: []string{"terrace", "trv-bypass", "bus-only"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				cold(s, 1, 2)
				s.Boiler.Attempts = max(s.Boiler.Attempts, 4)
				for d := 1; d < 3; d++ {
					spoil(s, house.IgnitionFault{Window: house.Window{From: clock(d, 3, 0), To: clock(d, 12, 0)}, BelowC: 3, Fails: 2, Sequences: 2})
				}
			}},
		{kind: kind, name: "ignition-retries-electrode", doc: "a worn electrode: every attempt may fail", severity: Severe, days: 3,
			on: []string{"compensated", "slow-master"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Boiler.Attempts = 7
				spoil(s, house.IgnitionFault{Window: always(), BelowC: anyC, Fails: 6, Chance: 0.4, Sequences: 400})
			}},
		{kind: kind, name: "ignition-retries-short-flames", doc: "a partly frozen condensate pipe: a flame of some seconds, then another try", severity: Moderate, days: 3,
			on: []string{"bungalow"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				cold(s, 1, 2)
				s.Boiler.Attempts = 5
				spoil(s, house.IgnitionFault{Window: house.Window{From: clock(1, 2, 0), To: clock(2, 20, 0)}, BelowC: 3, Fails: 3, Flame: 3 * time.Second, Sequences: 3})
			}},
		{kind: kind, name: "ignition-retries-lpg", doc: "LPG at low pressure in the cold: three of five attempts fail", severity: Moderate, days: 3,
			on: []string{"lpg-cottage"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				cold(s, 0, 1, 2)
				s.Boiler.Attempts = 5
				spoil(s, house.IgnitionFault{Window: always(), BelowC: 2, Fails: 3, Sequences: 5})
			}},
		{kind: kind, name: "ignition-retries-once", doc: "one start with two failed attempts", severity: Slight, days: 2,
			on: []string{"flat"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Boiler.Attempts = max(s.Boiler.Attempts, 4)
				spoil(s, house.IgnitionFault{Window: house.Window{From: clock(1, 3, 0), To: clock(1, 20, 0)}, BelowC: anyC, Fails: 2, Sequences: 1})
			}},
		{kind: kind, name: "ignition-retries-switched-live", doc: "the first attempt after each return of the mains fails", severity: Moderate, days: 3,
			on: []string{"switched-live"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Boiler.Attempts = max(s.Boiler.Attempts, 4)
				spoil(s, house.IgnitionFault{Window: house.Window{From: clock(0, 8, 0), To: clock(2, 20, 0)}, BelowC: anyC, Fails: 1, Sequences: 8})
			}},

		{kind: kind, name: "like-ignition-retries-lockout", doc: "all attempts fail and the boiler locks out: nothing was retried with success", lookAlike: true, days: 2,
			on: []string{"terrace"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				spoil(s, house.IgnitionFault{Window: house.Window{From: clock(0, 12, 0), To: clock(1, 20, 0)}, BelowC: anyC, Fails: 9, Sequences: 1, ResetAfter: 50 * time.Minute, Reset: episode.ResetByHand})
			}},
		{kind: kind, name: "like-ignition-retries-cycling", doc: "many starts, each at the first attempt", lookAlike: true, days: 2,
			on: []string{"bus-only"}, needs: both(modulates, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) { resize(s, 4*loadKW(s), 1.4*loadKW(s)); mild(s, r) }},
		{kind: kind, name: "like-ignition-retries-slow-purge", doc: "a long purge and a flame late in the safety time: slow, but it lights", lookAlike: true, days: 2,
			on: []string{"compensated"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Boiler.Prepurge, s.Boiler.LightAfter = 40*time.Second, 4*time.Second
			}},
		{kind: kind, name: "like-ignition-retries-flame-lost", doc: "flames lost in the run: no attempt failed", lookAlike: true, days: 2,
			on: []string{"bungalow"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Boiler.Attempts = 5
				s.Faults.FlameLoss = []house.FlameLossFault{{Window: window(1, 4, 0, 22, 0), After: 11 * time.Minute, Times: 3}}
			}},
	}
}

func demandNotMet() []way {
	const kind = "demand-not-met"
	interlock := func(list ...house.Window) func(*house.Scenario, *rand.Rand) {
		return func(s *house.Scenario, r *rand.Rand) {
			for _, w := range list {
				s.Faults.Blocked = append(s.Faults.Blocked, house.BlockFault{Window: w, Cause: house.BlockInterlock})
			}
			s.Weather.MeanC = min(s.Weather.MeanC, 2)
		}
	}
	return []way{
		{kind: kind, name: "demand-not-met-contact-open", doc: "an external contact holds the burner off for a day, no fault shown", severity: Severe, days: 2,
			on: []string{"terrace", "slow-master"}, needs: hasBus, change: interlock(house.Window{From: clock(0, 14, 0), To: clock(1, 15, 0)})},
		{kind: kind, name: "demand-not-met-loose-contact", doc: "a loose interlock opens for an hour and a half on two mornings", severity: Moderate, days: 3,
			on: []string{"compensated", "bus-only"}, needs: hasBus, change: interlock(window(1, 6, 15, 7, 45), window(2, 6, 15, 7, 45))},
		{kind: kind, name: "demand-not-met-half-hour", doc: "forty-five minutes of one morning without firing", severity: Slight, days: 2,
			on: []string{"trv-bypass"}, needs: hasBus, change: interlock(window(1, 6, 30, 7, 15))},
		{kind: kind, name: "demand-not-met-sensor-reads-hot", doc: "the boiler's flow sensor reads 45 K too hot: it thinks the water hot enough", severity: Severe, days: 2,
			on: []string{"bungalow"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.OwnSensor = append(s.Faults.OwnSensor, house.SensorFault{Window: house.Window{From: clock(0, 9, 0), To: clock(1, 14, 0)}, Ails: house.Drifted, By: 45})
			}},
		{kind: kind, name: "demand-not-met-set-down", doc: "heating output set down to half of the design load at commissioning, in cold weather", severity: Moderate, days: 3,
			on: []string{"terrace", "bus-only"}, needs: both(modulates, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Boiler.HeatingMaxKW = max(s.Boiler.OutputMinKW, 0.52*loadKW(s))
				s.Boiler.IgnitionKW = min(s.Boiler.IgnitionKW, s.Boiler.HeatingMaxKW)
				s.Weather.MeanC = -2
				s.Room.InfluenceK = 5
			}},
		{kind: kind, name: "demand-not-met-small-heat-pump", doc: "a heat pump too small for cold weather", severity: Severe, days: 3,
			on: []string{"heat-pump-radiators", "heat-pump-underfloor"}, needs: isHeatPump,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Boiler.OutputMaxKW = 0.6 * loadKW(s)
				s.Boiler.HeatingMaxKW = s.Boiler.OutputMaxKW
				s.Boiler.OutputMinKW = min(s.Boiler.OutputMinKW, 0.4*s.Boiler.OutputMaxKW)
				s.Boiler.IgnitionKW = s.Boiler.OutputMinKW
				s.Weather.MeanC = -3
				s.HotWater = house.HotWaterSpec{}
				s.Room.MinFlowC = s.DesignFlowC
			}},
		{kind: kind, name: "demand-not-met-long-anti-cycle", doc: "an anti-cycle time of fifty minutes", severity: Moderate, days: 3,
			on: []string{"lpg-cottage"}, needs: both(modulates, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Boiler.AntiCycle = 55 * time.Minute
				resize(s, 2.4*loadKW(s), 0.9*loadKW(s))
				littleWater(s, 0.6)
			}},

		{kind: kind, name: "like-demand-not-met-lockout", doc: "no firing for an hour and a half, but the appliance is in fault", lookAlike: true, days: 2,
			on: []string{"terrace"}, needs: isBoiler,
			change: func(s *house.Scenario, r *rand.Rand) {
				spoil(s, house.IgnitionFault{Window: house.Window{From: clock(1, 4, 0), To: clock(1, 12, 0)}, BelowC: anyC, Fails: 9, Sequences: 1, ResetAfter: 90 * time.Minute, Reset: episode.ResetByHand})
			}},
		{kind: kind, name: "like-demand-not-met-power-cut", doc: "no firing for three hours, but no mains either", lookAlike: true, days: 2,
			on: []string{"compensated"}, needs: hasBus,
			change: func(s *house.Scenario, r *rand.Rand) {
				s.Faults.Supply = append(s.Faults.Supply, window(1, 6, 0, 9, 0))
			}},
		{kind: kind, name: "like-demand-not-met-hot-water-first", doc: "long reheats of a large cylinder come before the heating", lookAlike: true, days: 2,
			on: []string{"bungalow"}, needs: both(hasCylinder, isBoiler),
			change: func(s *house.Scenario, r *rand.Rand) {
				s.HotWater.CylinderL, s.People.DrawScale, s.HotWater.Plan = 250, 2.5, house.Priority
			}},
		{kind: kind, name: "like-demand-not-met-warm-up", doc: "a long warm-up after a cool night: late, but it gets there", lookAlike: true, days: 2,
			on: []string{"slow-master"}, needs: both(isBoiler, hasRadiators),
			change: func(s *house.Scenario, r *rand.Rand) { s.Room.SetbackC = 15.5 }},
	}
}
