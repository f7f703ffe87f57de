package building

// Surface is how an element lies, which says in which direction heat leaves the room through it.
type Surface string

const (
	Wall  Surface = "wall"  // and windows, doors, roofs steeper than 60°: heat flows level
	Roof  Surface = "roof"  // and ceilings: heat flows up
	Floor Surface = "floor" // heat flows down
)

// Surfaces are all that there are.
func Surfaces() []string { return []string{string(Wall), string(Roof), string(Floor)} }

// direction is the way that heat flows.
type direction uint8

const (
	level direction = iota
	up
	down
)

// Surface resistances, m²K/W (EN ISO 6946:2017 table 7, from memory): inside by the direction of heat flow, outside always the same.
const (
	insideUp     = 0.10
	insideLevel  = 0.13
	insideDown   = 0.17
	outsideStill = 0.04
)

func (d direction) inside() float64 {
	return [...]float64{level: insideLevel, up: insideUp, down: insideDown}[d]
}

// flow is the direction of the heat; inward where the other side is the warmer one.
func (s Surface) flow(inward bool) direction {
	switch {
	case s == Roof && !inward, s == Floor && inward:
		return up
	case s == Floor, s == Roof:
		return down
	}
	return level
}

// airRow is the resistance of an air layer of one thickness, m²K/W, by direction.
type airRow struct {
	thicknessM float64
	r          [3]float64 // level, up, down
}

// airLayers are unventilated air layers between surfaces of high emissivity (EN ISO 6946:2017 table 8, from memory). Between the
// rows the standard interpolates.
var airLayers = [...]airRow{
	{0, [3]float64{0, 0, 0}},
	{0.005, [3]float64{0.11, 0.11, 0.11}},
	{0.007, [3]float64{0.13, 0.13, 0.13}},
	{0.010, [3]float64{0.15, 0.15, 0.15}},
	{0.015, [3]float64{0.17, 0.16, 0.17}},
	{0.025, [3]float64{0.18, 0.16, 0.19}},
	{0.050, [3]float64{0.18, 0.16, 0.21}},
	{0.100, [3]float64{0.18, 0.16, 0.22}},
	{0.300, [3]float64{0.18, 0.16, 0.23}},
}

// thickestAirM is the thickest air layer that the table tells, m; above it the standard asks for a balance of the space.
const thickestAirM = 0.300

// airResistance is that of an unventilated air layer of 0 to 0.3 m, m²K/W; thicknesses beyond are held to the ends.
func airResistance(thicknessM float64, d direction) float64 {
	for i := 1; i < len(airLayers); i++ {
		a, b := airLayers[i-1], airLayers[i]
		if thicknessM <= b.thicknessM {
			share := max(0, (thicknessM-a.thicknessM)/(b.thicknessM-a.thicknessM))
			return a.r[d] + share*(b.r[d]-a.r[d])
		}
	}
	return airLayers[len(airLayers)-1].r[d]
}
