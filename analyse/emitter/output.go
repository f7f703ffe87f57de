package emitter

import (
	"fmt"

	"tundish/analyse/water"
)

// RoomOutput is what a room's emitters give against what it needs.
type RoomOutput struct {
	Name           string
	InsideC        float64
	NeedW, OutputW float64
	// SurplusW is output less need; a shortfall is below 0.
	SurplusW float64
	// WaterLPH is the water that carries the need at that flow and return, l/h; the valve lets no more through. 0 where
	// nothing is needed, or where flow and return are the same.
	WaterLPH float64
	// NoEmitter tells a room without any.
	NoEmitter bool
	// SurfaceLimited tells that a floor's surface temperature, not its water, limits what it gives.
	SurfaceLimited bool
}

// Reaches tells whether the room gets what it needs.
func (r RoomOutput) Reaches() bool { return r.SurplusW >= -reachW }

// reachW is the shortfall that counts as none, W: no result hangs on a last digit.
const reachW = 0.05

// Outputs are the rooms at a flow and return of design, by surplus and shortfall, in the order of the System.
func (s System) Outputs(flowC, returnC float64, m Mean) ([]RoomOutput, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	var out []RoomOutput
	for _, r := range s.Rooms {
		c := Condition{flowC, returnC, r.InsideC}
		if err := c.check(); err != nil {
			return nil, fmt.Errorf("room %q: %w", r.Name, err)
		}
		laws := r.laws()
		w, limited := outputOf(laws, c, m)
		x := RoomOutput{Name: r.Name, InsideC: r.InsideC, NeedW: r.NeedW, OutputW: w, SurplusW: w - r.NeedW, NoEmitter: len(laws) == 0, SurfaceLimited: limited}
		if r.NeedW > 0 && flowC > returnC {
			m3h, err := s.Liquid.FlowM3H(r.NeedW/1000, flowC, returnC, water.NotKnown)
			if err != nil {
				return nil, fmt.Errorf("room %q: %w", r.Name, err)
			}
			x.WaterLPH = 1000 * m3h
		}
		out = append(out, x)
	}
	return out, nil
}

// ReturnAt is the return of a room's emitters, °C, and what they give, W, where so much water goes through them (l/h, above
// 0) at a flow temperature; several share it so that their returns are alike.
func (r Room) ReturnAt(flowC, waterLPH float64, l water.Liquid, m Mean) (returnC, outputW float64, err error) {
	for _, err := range r.check() {
		return 0, 0, err
	}
	if !(waterLPH > 0 && waterLPH <= 1e5) {
		return 0, 0, fmt.Errorf("room %q: water flow is %g l/h: it is above 0, and 100000 at most", r.Name, waterLPH)
	}
	if err := (Condition{flowC, flowC, r.InsideC}).check(); err != nil {
		return 0, 0, fmt.Errorf("room %q: %w", r.Name, err)
	}
	if _, err := l.PowerKW(waterLPH/1000, flowC, flowC, water.NotKnown); err != nil {
		return 0, 0, fmt.Errorf("room %q: %w", r.Name, err)
	}
	laws, m := r.laws(), m.smooth()
	if len(laws) == 0 || flowC <= r.InsideC {
		return flowC, 0, nil
	}
	// What the emitters give grows with the return, what the water brings falls: there is one return for both.
	low, high := r.InsideC, flowC
	for range 60 {
		mid := (low + high) / 2
		gives, _ := outputOf(laws, Condition{flowC, mid, r.InsideC}, m)
		kW, err := l.PowerKW(waterLPH/1000, flowC, mid, water.NotKnown)
		if err != nil {
			return 0, 0, fmt.Errorf("room %q: %w", r.Name, err)
		}
		if gives < 1000*kW {
			low = mid
		} else {
			high = mid
		}
	}
	kW, err := l.PowerKW(waterLPH/1000, flowC, high, water.NotKnown)
	return high, 1000 * kW, err
}
