package house

const (
	// coupling of air and fabric per m² of floor, W/(m²·K): 3.45 over 4.5 m² of surface in series with 9.1 over
	// 2.5 m² of mass area for each m² of floor. Source: ISO 13790:2008, simple hourly method, from memory.
	couplingWM2K = 1 / (1/(3.45*4.5) + 1/(9.1*2.5))
	// fabricJM2K is the heat capacity of a medium-weight house per m² of floor. Source: ISO 13790:2008, table of
	// dynamic parameters, from memory.
	fabricJM2K = 165e3
	// airJM2K is the heat capacity per m² of floor of what follows the air: air, furniture, linings and the first
	// centimetre of the walls. Own assumption, so that a house loses 2 to 3 K in a winter night.
	airJM2K = 60e3
	// directShare is the share of the heat loss that leaves from the air: ventilation and glass. Own assumption.
	directShare = 0.4
	// radiantShare is the share of an emitter's heat that reaches the fabric as radiation. Own assumption.
	radiantShare = 0.35
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

// building is a house of two nodes: air with furniture, and fabric. The fabric's way out is chosen so that in the
// steady state air loses HTC × (inside − outside).
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
