package house

import (
	"math"
	"time"
)

const (
	// roomTau is the lag of the room unit's sensor, s. Own assumption.
	roomTau = 300.0
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

	designLoad, meanExcess, spread float64 // K inside − outside; K water − room; K flow − return, at design
}

func newRoomUnit(s *Scenario, room, outside float64) roomUnit {
	return roomUnit{
		spec: &s.Room, room: room, outside: outside, exponent: s.Circuit.Exponent,
		designLoad: s.Building.DesignInside - s.Building.DesignOutside,
		meanExcess: (s.DesignFlowC+s.DesignReturnC)/2 - s.Building.DesignInside,
		spread:     s.DesignFlowC - s.DesignReturnC,
	}
}

// comfort tells whether the schedule wants comfort at now.
func (s *RoomSpec) comfort(now time.Duration) bool {
	h := (now % day).Hours()
	return h >= s.FromHour && h < s.ToHour
}

// step moves the unit by one second.
func (u *roomUnit) step(now time.Duration, room, outside float64) {
	u.room += (room - u.room) / roomTau
	u.outside += (outside - u.outside) / outsideTau
	u.target = u.spec.SetbackC
	if u.spec.comfort(now) {
		u.target = u.spec.ComfortC
	}
	switch half := u.spec.DifferentialK / 2; {
	case u.room < u.target-half:
		u.enable = true
	case u.room > u.target+half:
		u.enable = false
	}
	if now%time.Minute == 0 {
		u.flowSP = u.curve()
	}
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
