package emitter

import (
	"fmt"
)

// Load is what the house takes against the weather: a straight line from the design outside temperature to the one at
// which nothing needs heating.
type Load struct {
	// DesignW is the load at the System's OutsideC, W: as measured, or of the whole building. Every room takes the same
	// share of its own need. Zero: the sum of the rooms' needs.
	DesignW float64
	// NeutralC is the outside temperature at which nothing needs heating, 5 to 25 °C and above the design's: the base
	// temperature as measured, or the inside temperature where no gains are taken off. There is no default.
	NeutralC float64
}

// CurvePoint is a point of the weather curve.
type CurvePoint struct {
	OutsideC float64
	// Heating is false from NeutralC on: Lowest is then empty.
	Heating bool
	Lowest
}

// NeedW is the sum of the rooms' needs, W.
func (s System) NeedW() (sum float64) {
	for _, r := range s.Rooms {
		sum += r.NeedW
	}
	return sum
}

// ShareAt is the share of the rooms' design needs that the house takes at an outside temperature; 0 from NeutralC on.
func (s System) ShareAt(l Load, outsideC float64) (float64, error) {
	need := s.NeedW()
	switch {
	case !(l.NeutralC >= 5 && l.NeutralC <= 25):
		return 0, outOf("outside temperature at which nothing needs heating", l.NeutralC, "°C", 5, 25)
	case !(l.NeutralC-s.OutsideC >= 1):
		return 0, fmt.Errorf("nothing needs heating from %g °C outside, and the design is for %g °C: they lie at least 1 K apart", l.NeutralC, s.OutsideC)
	case !(l.DesignW >= 0 && l.DesignW <= 10*mostW):
		return 0, outOf("load at design", l.DesignW, "W", 0, 10*mostW)
	case !(need > 0):
		return 0, fmt.Errorf("the rooms' needs come to %g W: a load has no share of nothing", need)
	case !(outsideC >= -60 && outsideC <= 50):
		return 0, outOf("outside temperature", outsideC, "°C", -60, 50)
	}
	design := 1.0
	if l.DesignW > 0 {
		design = l.DesignW / need
	}
	share := design * max(0, (l.NeutralC-outsideC)/(l.NeutralC-s.OutsideC))
	if share > mostShare {
		return 0, fmt.Errorf("at %g °C outside the load is %.2f of the rooms' design needs: it is %g at most; look at both", outsideC, share, mostShare)
	}
	return share, nil
}

// WeatherCurve is the lowest flow temperature by outside temperature, in the order of outsideC. A measured load may be far
// below the computed one: its curve is then what the house has shown to do with, the computed one what the rooms' own
// figures ask for.
func (s System) WeatherCurve(l Load, c Circulation, m Mean, outsideC []float64) ([]CurvePoint, error) {
	var out []CurvePoint
	for _, te := range outsideC {
		share, err := s.ShareAt(l, te)
		if err != nil {
			return nil, err
		}
		p := CurvePoint{OutsideC: te, Heating: share > 0}
		if p.Heating {
			if p.Lowest, err = s.LowestFlow(share, c, m); err != nil {
				return nil, err
			}
		}
		out = append(out, p)
	}
	return out, nil
}
