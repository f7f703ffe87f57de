package house

import "time"

const (
	// coupling of air and fabric per m² of floor, W/(m²·K): 3.45 over 4.5 m² of surface in series with 9.1 over
	// 2.5 m² of mass area for each m² of floor. Source: ISO 13790:2008, simple hourly method, from memory.
	couplingWM2K = 1 / (1/(3.45*4.5) + 1/(9.1*2.5))
	// fabricJM2K is the heat capacity of a medium-weight house per m² of floor. Source: ISO 13790:2008, table of
	// dynamic parameters, from memory.
	fabricJM2K = 165e3
	// airJM2K is the heat capacity per m² of floor of what follows the air: air, furniture, linings and the first
	// centimetre of the walls. Own assumption; a house of 2.6 W/(m²·K) loses 3 to 4 K in a winter night.
	airJM2K = 60e3
	// directShare is the share of the heat loss that leaves from the air: ventilation and glass. Own assumption.
	directShare = 0.4
	// radiantShare is the share of an emitter's heat that reaches the fabric as radiation. Own assumption.
	radiantShare = 0.35
	// floorRadiantShare is the same for a heated floor. Own assumption, from the usual heat transfer coefficients of about
	// 5.5 W/(m²·K) by radiation in some 10.8 W/(m²·K) in all (EN 1264-2, from memory).
	floorRadiantShare = 0.5
	// busyShare and quietShare shape the gains over the day: more from 6 to 9 and 17 to 23 h;
	// their mean over the day is 1. Own assumption.
	busyShare, quietShare = 1.6, 0.64
	// awayShare is what is left of the gains with nobody at home: refrigerator, standby. Own assumption.
	awayShare = 0.4
)

// BuildingSpec is the house around the heating.
type BuildingSpec struct {
	FloorM2                     float64 // heated floor area
	DesignLossW                 float64 // at DesignInside and DesignOutside, W
	DesignInside, DesignOutside float64 // °C
	GainsW                      float64 // people and appliances, daily mean, W
	SolarW                      float64 // through windows at noon of a clear day, W
}

// HTC is the whole house's heat transfer coefficient, W/K.
func (b BuildingSpec) HTC() float64 { return b.DesignLossW / (b.DesignInside - b.DesignOutside) }

// AirWK is the heat that emitters of a kind must give for each K of air above outside in the steady state, W/K: what an
// energy signature finds. It is some 6 % above HTC with radiators and 9 % with a heated floor, since what falls on the
// fabric as radiation warms the fabric more than the air.
func (b BuildingSpec) AirWK(k EmitterKind) float64 {
	n := newBuilding(b, 0, 0)
	return b.HTC() / (1 - k.radiant()*n.through/(n.between+n.through))
}

// building is a house of two nodes: air with furniture, and fabric. The fabric's way out is chosen so that in the
// steady state, heated through the air alone, it loses HTC × (inside − outside).
type building struct {
	air, fabric              float64 // °C
	airC, fabricC            float64 // J/K
	between, direct, through float64 // W/K
}

func newBuilding(s BuildingSpec, air, fabric float64) building {
	h := s.HTC()
	b := building{
		air: air, fabric: fabric, airC: airJM2K * s.FloorM2, fabricC: fabricJM2K * s.FloorM2,
		between: couplingWM2K * s.FloorM2, direct: directShare * h,
	}
	b.through = 1 / (1/((1-directShare)*h) - 1/b.between)
	return b
}

// step moves the house by one second; convective and radiant are heats in J. It returns the loss to outside, J.
func (b *building) step(convective, radiant, outside float64) float64 {
	exchange := b.between * (b.air - b.fabric)
	fromAir := b.direct * (b.air - outside)
	fromFabric := b.through * (b.fabric - outside)
	b.air += (convective - exchange - fromAir) / b.airC
	b.fabric += (radiant + exchange - fromFabric) / b.fabricC
	return fromAir + fromFabric
}

func (b *building) stored() float64 { return b.airC*b.air + b.fabricC*b.fabric }

// radiant is the share of the emitters' heat that reaches the fabric as radiation.
func (k EmitterKind) radiant() float64 {
	if k == Underfloor {
		return floorRadiantShare
	}
	return radiantShare
}

// gains are the heats in W of people and appliances, and of the sun.
func (h *House) gains(now time.Duration) (people, sun float64) {
	share, hour := quietShare, (now % day).Hours()
	if hour >= 6 && hour < 9 || hour >= 17 && hour < 23 {
		share = busyShare
	}
	for _, w := range h.s.People.Away {
		if w.contains(now) {
			share = awayShare
		}
	}
	return share * h.s.Building.GainsW, h.weather.sun(now, h.s.Building.SolarW)
}
