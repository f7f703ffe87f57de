package emitter

import (
	"fmt"
	"math"
)

// Circulation is how much water goes round, told by flow − return at the design load, 0.5 to 40 K: 20 for condensing
// boilers, 5 to 8 for heat pumps, 11 for boilers before them (common practice, no source).
type Circulation struct {
	SpreadK float64
	// Fixed says what stays as it is at part load.
	Fixed Fixed
}

// Fixed is what stays as it is at part load.
type Fixed uint8

const (
	// Water is a pump at one speed with the valves as they are: flow − return falls with the load.
	Water Fixed = iota
	// Spread is a pump that keeps flow − return.
	Spread
)

// spread is flow − return at a share of the design load, K.
func (c Circulation) spread(share float64) float64 {
	if c.Fixed == Spread {
		return c.SpreadK
	}
	return c.SpreadK * share
}

// Check says what is wrong with the water.
func (c Circulation) Check() error {
	if !(c.SpreadK >= 0.5 && c.SpreadK <= 40) {
		return outOf("flow − return at design", math.Round(c.SpreadK*1000)/1000, "K", 0.5, 40)
	}
	if c.Fixed > Spread {
		return fmt.Errorf("what stays fixed at part load is %d: the water or the spread", c.Fixed)
	}
	return nil
}

const (
	// highestFlow is the flow temperature up to which one is looked for, °C: no open or sealed home system goes above.
	highestFlow = 95.0
	// limitsWithin is how near to the hottest need of all a room's own counts as limiting, K. Own proposal.
	limitsWithin = 0.5
)

// RoomFlow is the flow temperature that a room needs.
type RoomFlow struct {
	Name  string
	LoadW float64
	// FlowC is the lowest flow temperature that gives LoadW. Where Reached is false it is not known; where LoadW is 0 it is
	// the room's own temperature.
	FlowC   float64
	Reached bool
	// Why says what stands against it where Reached is false.
	Why string
}

// Lowest is the lowest flow temperature at which every room gets its share of the design load.
type Lowest struct {
	Share float64
	// FlowC and ReturnC are of the system as a whole: the hottest need of all, and that less the spread. Not known where
	// Reached is false; where no room has a load, the warmest room's own temperature.
	FlowC, ReturnC float64
	Reached        bool
	// Limiting are the rooms that ask for the hottest flow, within 0.5 K, or that no flow reaches.
	Limiting []string
	Rooms    []RoomFlow
}

// LowestFlow finds the lowest flow temperature at which every room gets a share of its design load, 0 to 1.5. Each room is
// taken with water of its own that gives the spread. The mean is logarithmic unless told otherwise.
func (s System) LowestFlow(share float64, c Circulation, m Mean) (Lowest, error) {
	if err := s.Check(); err != nil {
		return Lowest{}, err
	}
	if err := c.Check(); err != nil {
		return Lowest{}, err
	}
	if !(share >= 0 && share <= mostShare) {
		return Lowest{}, outOf("share of the design load", share, "", 0, mostShare)
	}
	loads := make([]float64, len(s.Rooms))
	for i, r := range s.Rooms {
		loads[i] = share * r.NeedW
	}
	return s.lowest(loads, share, c, m), nil
}

// mostShare is the highest share of the design load that is asked for. Own proposal.
const mostShare = 1.5

func (s System) lowest(loads []float64, share float64, c Circulation, m Mean) Lowest {
	out := Lowest{Share: share, Reached: true}
	spread := c.spread(share)
	hottest, warmest := 0.0, 0.0
	for i, r := range s.Rooms {
		x := r.flowFor(loads[i], spread, m.smooth())
		out.Rooms = append(out.Rooms, x)
		out.Reached = out.Reached && x.Reached
		warmest = max(warmest, r.InsideC)
		if x.LoadW > 0 {
			hottest = max(hottest, x.FlowC)
		}
	}
	for _, x := range out.Rooms {
		if !x.Reached || out.Reached && x.LoadW > 0 && x.FlowC >= hottest-limitsWithin {
			out.Limiting = append(out.Limiting, x.Name)
		}
	}
	switch {
	case !out.Reached:
	case hottest == 0:
		out.FlowC, out.ReturnC = warmest, warmest
	default:
		out.FlowC, out.ReturnC = hottest, hottest-spread
	}
	return out
}

// flowFor is the flow temperature at which a room gets a load with that spread.
func (r Room) flowFor(load, spread float64, m Mean) RoomFlow {
	out := RoomFlow{Name: r.Name, LoadW: load, FlowC: r.InsideC, Reached: true}
	if load <= 0 {
		return out
	}
	laws := r.laws()
	if len(laws) == 0 {
		out.FlowC, out.Reached, out.Why = 0, false, "it has no emitter"
		return out
	}
	at := func(flow float64) (float64, bool) {
		return outputOf(laws, Condition{flow, flow - spread, r.InsideC}, m)
	}
	if most, limited := at(highestFlow); most < load {
		out.FlowC, out.Reached, out.Why = 0, false, fmt.Sprintf("a flow of %g °C gives %.0f of %.0f W", highestFlow, most, load)
		if limited {
			out.Why = fmt.Sprintf("the floor's surface may not be hot enough: it gives %.0f of %.0f W", most, load)
		}
		return out
	}
	low, high := r.InsideC, highestFlow
	for range 60 {
		mid := (low + high) / 2
		if w, _ := at(mid); w < load {
			low = mid
		} else {
			high = mid
		}
	}
	out.FlowC = high
	return out
}

// AtLoad is flow and return, °C, of emitters of one exponent that give a share of their design output, 0 to 1.5, with the
// water as it is at design: mean excess by the share to the power of 1/n, flow − return by the share. The exponent is 1.3
// where it is 0.
func AtLoad(design Condition, exponent, share float64) (flowC, returnC float64, err error) {
	if err := design.check(); err != nil {
		return 0, 0, err
	}
	if err := checkExponent(exponent); err != nil {
		return 0, 0, err
	}
	if !(share >= 0 && share <= mostShare) {
		return 0, 0, outOf("share of the design load", share, "", 0, mostShare)
	}
	if exponent == 0 {
		exponent = PanelExponent
	}
	f, r := design.FlowC, design.ReturnC
	mean := design.RoomC + ((f+r)/2-design.RoomC)*math.Pow(share, 1/exponent)
	return mean + (f-r)/2*share, mean - (f-r)/2*share, nil
}
