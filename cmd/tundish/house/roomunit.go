package house

import (
	"math"
	"time"
)

const (
	// roomTauUsual is the usual lag of the room unit's sensor, s. Own assumption.
	roomTauUsual = 300.0
	// chopBandK is the usual error at which a chopping thermostat calls all the time, K. Own assumption.
	chopBandK = 1.5
	// chopLeast is its shortest call and its shortest rest. Common practice, no source.
	chopLeast = time.Minute
	// outsideTau is the lag of the outside sensor in its box on the wall, s. Own assumption.
	outsideTau = 600.0
	// setpointStep is the step in which the room unit writes its flow set-point, K. Own assumption.
	setpointStep = 0.5
	// boostK bounds what the room's influence may add to the flow set-point, and easeK what it may take away, K.
	// Own assumptions.
	boostK, easeK = 12.0, 8.0
)

// roomUnit is the thermostat on the wall: it decides whether heat is wanted, and how warm the flow is to be.
type roomUnit struct {
	spec     *RoomSpec
	room     float64 // its sensor, °C
	outside  float64 // the boiler's outside sensor, as read over the bus, °C
	target   float64 // room set-point, °C
	enable   bool
	flowSP   float64 // °C
	exponent float64
	tau      float64       // lag of its sensor, s
	cycle    time.Duration // chopping: when the present cycle began
	callTo   time.Duration // chopping: when the call of this cycle ends

	designLoad, meanExcess, spread float64 // K inside − outside; K water − room; K flow − return, at design
}

func newRoomUnit(s *Scenario, room, outside float64) roomUnit {
	return roomUnit{
		spec: &s.Room, room: room, outside: outside, exponent: s.Circuit.Exponent,
		tau: orUsual(s.Room.TauS, roomTauUsual), cycle: never,
		designLoad: s.Building.DesignInside - s.Building.DesignOutside,
		meanExcess: (s.DesignFlowC+s.DesignReturnC)/2 - s.Building.DesignInside,
		spread:     s.DesignFlowC - s.DesignReturnC,
	}
}

// comfort tells whether the schedule wants comfort at now.
func (s *RoomSpec) comfort(now time.Duration) bool {
	h := (now % day).Hours()
	if h >= s.FromHour && h < s.ToHour {
		return true
	}
	for _, w := range s.More {
		if h >= w.From && h < w.To {
			return true
		}
	}
	return false
}

// step moves the unit by one second. away: nobody is at home, so set-back whatever the hour.
func (u *roomUnit) step(now time.Duration, room, outside float64, away bool) {
	u.room += (room - u.room) / u.tau
	u.outside += (outside - u.outside) / outsideTau
	u.target = u.spec.SetbackC
	if u.spec.comfort(now) && !away {
		u.target = u.spec.ComfortC
	}
	if u.spec.CyclesPerHour > 0 {
		u.chop(now)
	} else {
		u.toggle()
	}
	if now%time.Minute == 0 {
		u.flowSP = u.curve()
	}
}

// toggle is the plain thermostat: on and off by the room's temperature.
func (u *roomUnit) toggle() {
	switch half := u.spec.DifferentialK / 2; {
	case u.room < u.target-half:
		u.enable = true
	case u.room > u.target+half:
		u.enable = false
	}
}

// chop is the thermostat that calls for a share of each cycle: nothing at its set-point, all of it BandK below. With
// the whole share it goes on calling, with none it rests, and looks again each minute.
func (u *roomUnit) chop(now time.Duration) {
	whole := time.Duration(float64(time.Hour) / u.spec.CyclesPerHour).Truncate(time.Second)
	share := min(max((u.target-u.room)/orUsual(u.spec.BandK, chopBandK), 0), 1)
	if now >= u.cycle+whole || (share == 0 || share == 1) && now >= u.cycle+chopLeast {
		u.cycle = now
		on := time.Duration(share * float64(whole))
		switch {
		case on < chopLeast:
			on = 0
		case on > whole-chopLeast:
			on = whole
		}
		u.callTo = now + on
	}
	u.enable = now < u.callTo
}

// curve is the flow set-point: with load share x of design, mean water = room + excess·x^(1/n), half the spread ·x on
// top (the emitter law of EN 442 turned round), and the room's influence.
func (u *roomUnit) curve() float64 {
	sp := u.spec.FixedFlowC
	if u.spec.Compensated {
		x := max(0, (u.target-u.outside)/u.designLoad)
		sp = u.target + u.meanExcess*math.Pow(x, 1/u.exponent) + u.spread/2*x
		sp += min(max(u.spec.InfluenceK*(u.target-u.room), -easeK), boostK)
	}
	sp = min(max(sp, u.spec.MinFlowC), u.spec.MaxFlowC)
	return math.Round(sp/setpointStep) * setpointStep
}
